"""The chances to get each paddock done, day by day: what a renderer receives."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.outlook import WeatherView
    from forecaster.domain.place import Place


@dataclass(frozen=True, slots=True)
class DayOdds:
    """One day; chances [share], NaN where unknown."""

    start: np.datetime64
    """Its first hour judged, UTC."""
    by: float
    """Done by its end, going at the first chance."""
    waiting: float
    """Done within the hours known, waiting for this day."""
    habit: float
    """Done by its end as the place's days usually are, without a forecast."""


@dataclass(frozen=True, slots=True)
class PaddockOdds:
    """One active in one paddock."""

    paddock: str
    active: str
    hectares: float
    hours: float
    """[h] that it takes."""
    run: int
    """[h] whole hours needed in one run."""
    first: int | None
    """The day of the first good hours long enough; None: there are none."""
    days: tuple[DayOdds, ...]
    reason: str = ""
    """Why there is none to tell; empty where there is."""


@dataclass(frozen=True, slots=True)
class OddsPage:
    """All of a farm."""

    farm: str
    place: Place
    now: np.datetime64
    demo: bool
    weather: WeatherView
    until: np.datetime64
    members: int
    """Of the forecast; 0: one forecast and its errors."""
    station: str
    """Where the habit of the days is from; empty: none is near."""
    rig: str
    """Whose speed counts; empty: an assumed one."""
    paddocks: tuple[PaddockOdds, ...]
    cautions: tuple[str, ...]
