"""Where a season's weather came from, and the temperatures it expects."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.place import Place
    from forecaster.domain.quality.doubts import Doubt
    from forecaster.domain.weather import Floats, Times


@dataclass(frozen=True, slots=True)
class Stretch:
    """One kind of weather in a season.

    ``first`` and ``last`` are UTC moments; ``age_hours`` counts from the retrieval,
    NaN where it does not age; ``missing`` of ``count`` steps lack temperature.
    """

    kind: str
    source: str
    first: np.datetime64
    last: np.datetime64
    step: str
    count: int
    missing: int
    age_hours: float
    fresh: bool
    bias: float = 0.0
    """[K] largest correction made to it."""
    level: str = "the local record"
    """What it was corrected to."""


@dataclass(frozen=True, slots=True)
class Fan:
    """Daily mean temperature ahead, (days,) each [°C].

    One trace in ten is below ``low`` and one in ten above ``high``.
    """

    day: Times
    low: Floats
    middle: Floats
    high: Floats


@dataclass(frozen=True, slots=True)
class WeatherReport:
    """Everything a page about a site's weather says."""

    farm: str
    place: Place
    now: np.datetime64
    invented: bool
    stretches: tuple[Stretch, ...]
    traces: int
    filled: int
    """Days of the season filled from past years or their neighbours."""
    warnings: tuple[str, ...]
    notes: tuple[str, ...]
    fan: Fan
    flagged: tuple[Doubt, ...]
    """Every value of the hours that something was said against, in time."""
