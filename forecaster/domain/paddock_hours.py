"""Every hour of the week in one paddock, with every reason."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.place import Place
    from forecaster.domain.quality.doubts import Doubt
    from forecaster.domain.spraying.chance_basis import ChanceBasis
    from forecaster.domain.spraying.hours import Reason
    from forecaster.domain.spraying.limits import Verdict


@dataclass(frozen=True, slots=True)
class HourView:
    """One hour: the air in it, its verdict, and each limit that speaks against it.

    For a good hour ``reasons`` holds the one limit it is nearest to.
    """

    time: np.datetime64
    verdict: Verdict
    chance: float
    """To keep within the label [share]; NaN where unknown."""
    wind_from: float
    wind_speed: float
    delta_t: float
    inversion_risk: float
    rain: float
    towards: tuple[str, ...]
    """Sensitive areas the wind blows towards."""
    reasons: tuple[Reason, ...]
    flagged: tuple[Doubt, ...]
    """What was said against the values of this hour."""
    refused: tuple[Doubt, ...]
    """Values, of this hour or others, that its unknown quantities lack."""


@dataclass(frozen=True, slots=True)
class PaddockHours:
    """The week of one paddock with one active on its target weed."""

    farm: str
    paddock: str
    active: str
    weed_name: str
    place: Place
    now: np.datetime64
    invented: bool
    basis: ChanceBasis
    """What the chances are made from."""
    hours: tuple[HourView, ...]
