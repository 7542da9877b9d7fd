"""Everything ``forecaster boom`` says."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from forecaster.domain.boom.label import HeightVerdict
    from forecaster.domain.boom.tank import Tanks


@dataclass(frozen=True, slots=True)
class HeightPlan:
    """How high the boom is to stand."""

    angle: float
    """[°]"""
    above_heads: float
    """[m] for double overlap."""
    above_ground: float | None
    """[m] None: height of the heads not given."""
    verdict: HeightVerdict | None
    """None: no active named."""
    label_max: float | None
    """[m]"""
    overlap_at_label: float | None
    """Width of a fan in spacings at the label's height."""


@dataclass(frozen=True, slots=True)
class FlowPlan:
    """One nozzle."""

    flow: float
    """[L/min]"""
    volume: float
    """[L/ha]"""
    speed: float
    """[km/h]"""
    found: str
    """Which of them was worked out from the other two."""


@dataclass(frozen=True, slots=True)
class TankPlan:
    """Tanks of a paddock and product in each."""

    hectares: float
    tank: float
    """[L]"""
    tanks: Tanks
    full: float | None
    """Product in a full tank, in ``unit``. None: no confirmed label rate."""
    last: float | None
    unit: str


@dataclass(frozen=True, slots=True)
class BoomPlan:
    """What the numbers given allow to be said; None: not asked."""

    spacing: float
    """[m]"""
    active: str | None
    height: HeightPlan | None
    flow: FlowPlan | None
    tank: TankPlan | None
