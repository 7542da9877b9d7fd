"""One paddock's whole season on one page: what a renderer receives."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.heads import STAGES
from forecaster.domain.growth.stage import Stage

if TYPE_CHECKING:
    from forecaster.domain.outlook import PaddockOutlook, WeatherView
    from forecaster.domain.place import Place
    from forecaster.domain.weather import Floats, Times


class Ripeness(StrEnum):
    """Stages as a person leaning on a gate would sort them."""

    NOT_OUT = "not out"
    OUT = "out or in flower"
    MILK = "watery to milk"
    SOFT = "soft dough"
    HARD = "hard"


_FROM = {
    Ripeness.OUT: Stage.HEADING,
    Ripeness.MILK: Stage.WATERY,
    Ripeness.SOFT: Stage.SOFT_DOUGH,
    Ripeness.HARD: Stage.HARD_DOUGH,
}


@dataclass(frozen=True, slots=True)
class LookMark:
    """One count of heads on the calendar."""

    moment: np.datetime64
    heads: int


@dataclass(frozen=True, slots=True)
class SeasonPage:
    """The season of one weed in one paddock."""

    farm: str
    place: Place
    now: np.datetime64
    demo: bool
    paddock: PaddockOutlook
    noon: Times
    """(days,) UTC, noon of each local solar day drawn."""
    shares: Floats
    """(days, 5) likely share of heads in each :class:`Ripeness`; rows sum to 1."""
    looks: tuple[LookMark, ...]
    weather: WeatherView
    cautions: tuple[str, ...]


def ripeness_shares(past: Floats) -> Floats:
    """Shares of heads in each :class:`Ripeness`.

    Parameters
    ----------
    past : (..., stages) array
        Share of heads at each of :data:`STAGES` or past it.

    Returns
    -------
    (..., 5) array
        In the order of :class:`Ripeness`; they sum to 1.
    """
    edges = past[..., [STAGES.index(stage) for stage in _FROM.values()]]
    one = np.ones_like(edges[..., :1])
    return -np.diff(np.concatenate([one, edges, 0.0 * one], axis=-1), axis=-1)
