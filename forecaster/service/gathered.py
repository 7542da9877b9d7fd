"""Open weather of one place, put together piece by piece."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from forecaster.domain.weather import WeatherFrame
    from forecaster.domain.weather_report import Stretch
    from forecaster.ports import PastYears
    from forecaster.sources.days_table import DaysTable


@dataclass(slots=True)
class Gathered:
    """Open weather of one place at one moment."""

    frame: WeatherFrame
    members: WeatherFrame | None
    earlier: DaysTable | None
    past: PastYears | None
    stretches: list[Stretch] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    later: bool = False
    """Whether the hours hold what only came to be known after the moment."""
