"""Open weather of one place, put together piece by piece."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from forecaster.sources.days_table import no_days

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.weather import WeatherFrame
    from forecaster.domain.weather_report import Stretch
    from forecaster.ports import PastYears
    from forecaster.sources.days_table import Days, DaysTable


@dataclass(slots=True)
class Gathered:
    """Open weather of one place at one moment."""

    frame: WeatherFrame
    members: WeatherFrame | None
    earlier: DaysTable | None
    past: PastYears | None
    station_days: Days = field(default_factory=no_days)
    """Days of which the farm's own station saw enough."""
    stretches: list[Stretch] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    """Where it came from, in detail."""
    service_clock: np.datetime64 | None = None
    """What a service's own clock showed when it answered, UTC."""
    later: bool = False
    """Whether the hours hold what only came to be known after the moment."""
