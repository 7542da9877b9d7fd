"""What is asked of a weather service, and what comes out of its answer."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np

    from forecaster.domain.place import Place
    from forecaster.domain.weather import WeatherFrame
    from forecaster.sources.days_table import DaysTable


@dataclass(frozen=True, slots=True)
class Request:
    """One GET of one product of one service.

    ``url`` is canonical (fixed decimals, parameters sorted) and holds no secret: it
    names the answer in every store and message. ``secrets`` are query parameters and
    ``headers`` are headers added on the wire only. ``place`` is what was asked for,
    ``made`` the moment of asking, UTC; ``fresh_for`` how long an answer may be reused
    without asking again [s].
    """

    source: str
    product: str
    url: str
    place: Place
    made: np.datetime64
    fresh_for: int
    secrets: Mapping[str, str] = field(default_factory=dict, repr=False)
    headers: Mapping[str, str] = field(default_factory=dict, repr=False)


@dataclass(frozen=True, slots=True)
class ModelRun:
    """A run of a model, when it began and since when it is served, UTC."""

    began: np.datetime64
    served: np.datetime64
    every: np.timedelta64
    """Between runs."""


@dataclass(frozen=True, slots=True)
class Parsed:
    """A validated answer in our units and convention; what a product lacks is None.

    ``frame`` has shape (hours,), or (members, hours) for an ensemble, the control
    first. ``leads`` are what was forecast 1, 2, … days before, by days. ``cell`` is
    where the service's values are of. ``run`` is of a model's status, which holds no
    weather.
    """

    frame: WeatherFrame | None = None
    days: DaysTable | None = None
    leads: Mapping[int, WeatherFrame] = field(default_factory=dict)
    cell: Place | None = None
    run: ModelRun | None = None
    warnings: tuple[str, ...] = ()
