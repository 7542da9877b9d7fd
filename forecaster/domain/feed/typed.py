"""Numbers of feed that the user typed; None: not known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.sourced import Sourced


@dataclass(frozen=True, slots=True)
class FeedNumbers:
    """What ships: the loss by spraying, and how far ahead a shortage counts."""

    least: Sourced
    """[%] of the growth to come."""
    most: Sourced
    """[%]"""
    ahead: Sourced
    """[d]"""


@dataclass(frozen=True, slots=True)
class FeedTyped:
    """``[feed]`` of a farm."""

    dse: float | None = None
    on_offer: float | None = None
    """[kg DM/ha] where a paddock has no number of its own."""
    leave: float | None = None
    """[kg DM/ha]"""
    intake: float | None = None
    """[kg DM/DSE/d] None: as shipped."""
    spoilage: float = 0.0
    """[share of the intake]"""
    other_hectares: float = 0.0
    """[ha] grazed that are no paddock of the file."""
    growth: tuple[tuple[np.datetime64, float], ...] = ()
    """From which day, how much. [kg DM/ha/d]"""
    until: np.datetime64 | None = None
    """The day growth is known up to, excluded."""

    @property
    def missing(self) -> tuple[str, ...]:
        """Keys a budget needs that are not typed; ``on_offer`` is asked by paddock."""
        wanted = {
            "dse": self.dse,
            "leave_kg_ha": self.leave,
            "growth": self.growth or None,
            "growth_until": self.until,
        }
        return tuple(name for name, value in wanted.items() if value is None)
