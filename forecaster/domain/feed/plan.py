"""Everything ``forecaster feed`` says."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.feed.typed import FeedNumbers
    from forecaster.domain.money.cost import Cost


@dataclass(frozen=True, slots=True)
class Short:
    """When feed runs short."""

    day: np.datetime64 | None
    """``datetime64[D]`` None: not while growth is known."""
    known: bool = True
    """False: a number up to then is not known."""


@dataclass(frozen=True, slots=True)
class PaddockFeed:
    """One paddock that may be sprayed."""

    name: str
    hectares: float
    lost: tuple[float, float]
    """[kg DM] at the least and the most."""
    days: tuple[float, float]
    """[d] of feed for all stock."""
    alone: Short
    """If only it is sprayed, at the most."""
    without: Short
    """If all of them but it are."""
    costs: tuple[Cost, ...]
    """By active; empty without prices."""


@dataclass(frozen=True, slots=True)
class FeedPlan:
    """The farm."""

    farm: str
    today: np.datetime64
    until: np.datetime64 | None
    missing: tuple[str, ...]
    """What has to be typed first; everything below is then empty."""
    dse: float = float("nan")
    eaten: float = float("nan")
    """[kg DM/d] by all stock."""
    hectares: float = float("nan")
    grown: float = float("nan")
    """[kg DM/ha] from today on without spraying."""
    lost: tuple[float, float] = (float("nan"), float("nan"))
    days: tuple[float, float] = (float("nan"), float("nan"))
    unsprayed: Short | None = None
    sprayed: Short | None = None
    """All of ``paddocks``, at the most."""
    paddocks: tuple[PaddockFeed, ...] = ()
    numbers: FeedNumbers | None = None
