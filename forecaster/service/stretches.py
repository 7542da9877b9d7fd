"""Stretches of a season: which kind, from where, how old, and what they lack."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.quality.filling import for_verdicts
from forecaster.domain.weather_report import Stretch

if TYPE_CHECKING:
    from forecaster.domain.weather import WeatherFrame
    from forecaster.sources.days_table import DaysTable


def of_hours(
    kind: str, frame: WeatherFrame, age_hours: float, *, fresh: bool = True
) -> Stretch:
    """A stretch of hours; of an ensemble, its control. A filled gap is still one."""
    temperature = np.atleast_2d(for_verdicts(frame).air_temperature)[0]
    return Stretch(
        kind=kind,
        source=frame.provenance.source,
        first=frame.time[0],
        last=frame.time[-1],
        step="hours",
        count=int(frame.time.size),
        missing=int(np.isnan(temperature).sum()),
        age_hours=age_hours,
        fresh=fresh,
    )


def of_days(
    kind: str, source: str, table: DaysTable, age_hours: float, *, fresh: bool = True
) -> Stretch:
    """A stretch of days."""
    return Stretch(
        kind=kind,
        source=source,
        first=table.day[0].astype("datetime64[s]"),
        last=table.day[-1].astype("datetime64[s]"),
        step="days",
        count=int(table.day.size),
        missing=int((np.isnan(table.tmax) | np.isnan(table.tmin)).sum()),
        age_hours=age_hours,
        fresh=fresh,
    )
