"""The farm's own station: what it saw counts first, and sets the level of the rest."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.marks import Marks
from forecaster.domain.weather import ARRAYS, Origin, WeatherFrame
from forecaster.service.stretches import of_hours
from forecaster.sources.bias import bias_of, without_bias
from forecaster.sources.days_table import days_of_hours
from forecaster.sources.joined_days import warmth_known
from forecaster.sources.season import DAY, ExtremesOfYears, on_days, solar_offset

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.place import Place
    from forecaster.service.gathered import Gathered
    from forecaster.sources.days_table import DaysTable


_BLANK: dict[str, float] = {"origin": Origin.MISSING, "native_step": 1.0}
"""What stands in rows that neither table has."""


def add_station(
    gathered: Gathered, mapping: Path, place: Place, now: np.datetime64
) -> None:
    """Put the station's hours before now in place of the service's own.

    Whole hours, never single quantities. The daily record of the services is brought
    to the station's level by month, and its largest correction is shown.

    Raises
    ------
    DataError, InputMissingError, SettingsError
        If the station's table or its mapping cannot be used.
    """
    from forecaster.sources.csv_file import read_csv

    imported = read_csv(mapping)
    seen = imported.frame.between(imported.frame.time[0], now)
    if not len(seen):
        gathered.warnings.append(f"{mapping.name}: no hour before now; not used")
        return
    gathered.frame = laid_over(gathered.frame, seen)
    age = float((now - seen.time[-1]) / np.timedelta64(3600, "s"))
    gathered.stretches.insert(0, of_hours("station", seen, age))
    if gathered.earlier is None:
        return
    record = daily_record(seen, place)
    gathered.station_days = record.day[warmth_known(record)]
    bias = bias_of(gathered.earlier, record)
    gathered.earlier = without_bias(gathered.earlier, bias)
    gathered.past = ExtremesOfYears(gathered.earlier, place)
    gathered.stretches = [
        replace(each, bias=bias.largest) if each.kind == "past days" else each
        for each in gathered.stretches
    ]


def laid_over(under: WeatherFrame, over: WeatherFrame) -> WeatherFrame:
    """The hours of both; where ``over`` knows the temperature, its whole row."""
    first = min(under.time[0], over.time[0])
    hours = int((max(under.time[-1], over.time[-1]) - first).astype(int)) // 3600 + 1
    time = first + np.arange(hours) * np.timedelta64(3600, "s")
    columns: dict[str, np.typing.NDArray[np.generic]] = {"time": time}
    known = np.flatnonzero(~np.isnan(over.air_temperature))
    parts = [
        (frame, rows, ((frame.time - first).astype(int) // 3600)[rows])
        for frame, rows in ((under, np.arange(len(under))), (over, known))
    ]
    for name in ARRAYS:
        if name == "time":
            continue
        kind = getattr(under, name).dtype
        values = np.full(hours, _BLANK.get(name, np.nan), dtype=kind)
        for frame, rows, at in parts:
            values[at] = getattr(frame, name)[rows]
        columns[name] = values
    marks = {}
    for name in {**under.marks, **over.marks}:
        marks[name] = Marks.none((hours,))
        for frame, rows, at in parts:
            marks[name].bits[at] = frame.marks_of(name).bits[rows]
            marks[name].given[at] = frame.marks_of(name).given[rows]
    return WeatherFrame(**columns, provenance=under.provenance, marks=marks)  # type: ignore[arg-type]  # names are fields


def daily_record(frame: WeatherFrame, place: Place) -> DaysTable:
    """Extremes and rain of the local solar days a table of hours covers."""
    offset = solar_offset(place)
    first = (frame.time[0] + offset).astype("datetime64[D]")
    end = (frame.time[-1] + offset).astype("datetime64[D]") + DAY
    days = int((end - first) / DAY)
    warmth, fall = (
        on_days(frame, values, first, days, place).reshape(days, -1)
        for values in (frame.air_temperature, frame.rain)
    )
    return days_of_hours(first, warmth, fall)
