"""Daily extremes of past years: ``date,tmax,tmin,rain`` on local standard days."""

from __future__ import annotations

import re
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import numpy.typing as npt

from forecaster.sources.own_table import OwnTable, read_table
from forecaster.sources.ranges import RANGES, Range

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.weather import Bools, Floats

Days: TypeAlias = npt.NDArray[np.datetime64]

HEADER = ("date", "tmax", "tmin", "rain")
LONGEST_SPAN = 73_050
"""Days, two centuries; a longer span is a mistyped year."""

DAY_RAIN = Range(0.0, 1000.0, "mm", "assumed: above Australia's wettest day on record")

_ISO = re.compile(r"\d{4}-\d\d-\d\d")


@dataclass(frozen=True, slots=True)
class DaysTable:
    """Daily weather at one place; arrays have shape (days,), NaN = missing.

    ``day``: local standard days, ``datetime64[D]``, strictly one day apart.
    """

    day: Days
    tmax: Floats
    """[°C] highest of the day."""
    tmin: Floats
    """[°C] lowest of the day."""
    rain: Floats
    """[mm] of the day."""

    def __post_init__(self) -> None:
        for each in fields(self):
            getattr(self, each.name).flags.writeable = False

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
    keep = _in_order(table, days, columns)
    table.refuse_faults()
    at = days[keep] - days[0]
    span = int(at[-1]) + 1
    spread = {name: np.full(span, np.nan) for name in columns}
    for name, values in columns.items():
        spread[name][at] = values[keep]
    first = np.datetime64(int(days[0]), "D")
    return DaysTable(day=first + np.arange(span), **spread)


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


def _in_order(
    table: OwnTable, days: npt.NDArray[np.int64], columns: dict[str, Floats]
) -> Bools:
    """Rows to keep: all but the second of two equal ones."""
    step = np.diff(days)
    for row in np.flatnonzero(step < 0).tolist():
        table.fault(
            row + 1,
            "date",
            f"comes after {table.cells['date'][row]}; sort the rows, oldest first",
        )
    keep = np.concatenate([[True], step != 0])
    for row in np.flatnonzero(~keep).tolist():
        pair = np.array([values[row - 1 : row + 1] for values in columns.values()])
        if not np.array_equal(pair[:, 0], pair[:, 1], equal_nan=True):
            table.fault(
                row,
                "date",
                f"stands twice with different values (line {table.lines[row - 1]} "
                "and here); keep one of the two",
            )
    if int(days[-1] - days[0]) >= LONGEST_SPAN:
        table.fault(
            len(days) - 1,
            "date",
            f"is more than two centuries after {table.cells['date'][0]}; "
            "check the years",
        )
    return keep
