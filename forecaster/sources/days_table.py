"""Daily extremes of past years: ``date,tmax,tmin,rain`` on local standard days."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, fields, replace
from enum import IntEnum
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import numpy.typing as npt

from forecaster.domain.sourced import Mark
from forecaster.domain.weather import spread
from forecaster.sources.own_table import OwnTable, in_order, read_table
from forecaster.sources.ranges import RANGES, Range

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.weather import Codes, Floats

Days: TypeAlias = npt.NDArray[np.datetime64]

HEADER = ("date", "tmax", "tmin", "rain")
LONGEST_SPAN = 73_050
"""Days, two centuries; a longer span is a mistyped year."""

LEAST_HOURS = 20
"""[h] a day needs for its extremes (common practice, no source)."""

DAY_RAIN = Range(
    0.0, 1000.0, "mm", "above Australia's wettest day on record", Mark.ASSUMED
)

_ISO = re.compile(r"\d{4}-\d\d-\d\d")


class DayOrigin(IntEnum):
    """Which record a day's value is from; a missing value is from none."""

    UNSTATED = 0
    SILO = 1
    ARCHIVE = 2


def _unstated() -> Codes:
    return np.zeros((), dtype=np.uint8)


def no_days() -> Days:
    """An empty row of days."""
    return np.empty(0, dtype="datetime64[D]")


@dataclass(frozen=True, slots=True)
class DaysTable:
    """Daily weather at one place; arrays have shape (days,), NaN = missing.

    ``day``: local standard days, ``datetime64[D]``, strictly one day apart. An origin
    may be given as one code for all days.
    """

    day: Days
    tmax: Floats
    """[°C] highest of the day."""
    tmin: Floats
    """[°C] lowest of the day."""
    rain: Floats
    """[mm] of the day."""
    warmth_from: Codes = field(default_factory=_unstated)
    """:class:`DayOrigin` of both extremes."""
    rain_from: Codes = field(default_factory=_unstated)
    """:class:`DayOrigin` of the rain."""

    def __post_init__(self) -> None:
        for name in ("warmth_from", "rain_from"):
            codes = np.broadcast_to(getattr(self, name), self.day.shape)
            object.__setattr__(self, name, np.array(codes))
        for each in fields(self):
            getattr(self, each.name).flags.writeable = False

    def between(self, first: np.datetime64, end: np.datetime64) -> DaysTable:
        """The days from ``first`` up to, not with, ``end``."""
        keep = (self.day >= first) & (self.day < end)
        return DaysTable(
            **{each.name: getattr(self, each.name)[keep] for each in fields(self)}
        )

    def said_to_be_from(self, origin: DayOrigin) -> DaysTable:
        """The same days, all of them from ``origin``."""
        code = np.array(origin, dtype=np.uint8)
        return replace(self, warmth_from=code, rain_from=code)

    def __len__(self) -> int:
        return int(self.day.size)


def read_days(path: Path) -> DaysTable:
    """The daily table in a file; days left out become missing rows.

    Raises
    ------
    InputMissingError
        If there is no such file.
    DataError
        If a cell or the order is wrong; each fault with its place.
    """
    table = read_table(path, HEADER, needed=HEADER[:3], words=("date",))
    days = _days(table)
    columns = {
        "tmax": table.numbers("tmax", RANGES["air_temperature"]),
        "tmin": table.numbers("tmin", RANGES["air_temperature"]),
        "rain": table.numbers("rain", DAY_RAIN),
    }
    for row in np.flatnonzero(columns["tmin"] > columns["tmax"]).tolist():
        table.fault(
            row, "tmin", f"is above tmax {table.cells['tmax'][row]}; swap or correct"
        )
    table.refuse_faults()
    longest = (LONGEST_SPAN, "two centuries")
    keep = in_order(table, "date", days, list(columns.values()), longest=longest)
    table.refuse_faults()
    at = days[keep] - days[0]
    span = int(at[-1]) + 1
    first = np.datetime64(int(days[0]), "D")
    tmax, tmin, rain = (spread(each[keep], at, span) for each in columns.values())
    return DaysTable(first + np.arange(span), tmax, tmin, rain)


def days_of_hours(first: np.datetime64, temperature: Floats, rain: Floats) -> DaysTable:
    """Extremes and sums of days from ``first`` on, from their hours (days, 24)."""
    known = ~np.isnan(temperature)
    enough = known.sum(axis=1) >= LEAST_HOURS
    highest = np.where(known, temperature, -np.inf).max(axis=1)
    lowest = np.where(known, temperature, np.inf).min(axis=1)
    return DaysTable(
        day=first + np.arange(temperature.shape[0]),
        tmax=np.where(enough, highest, np.nan),
        tmin=np.where(enough, lowest, np.nan),
        rain=rain.sum(axis=1),
    )


def _days(table: OwnTable) -> npt.NDArray[np.int64]:
    """Days since 1970 of each row; 0 where the date is at fault."""
    days = np.zeros(len(table), dtype=np.int64)
    for row, cell in enumerate(table.text("date")):
        day = _day(cell)
        if np.isnat(day):
            table.fault(row, "date", "is not a date; write it like 2026-10-12")
        else:
            days[row] = day.astype(np.int64)
    return days


def _day(cell: str) -> np.datetime64:
    try:
        return np.datetime64(cell if _ISO.fullmatch(cell) else "NaT", "D")
    except ValueError:
        return np.datetime64("NaT", "D")
