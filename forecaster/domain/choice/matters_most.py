"""Which weed of a paddock matters most: share × harm × seed life.

Harm and seed life are weights of the farm's own; 1, assumed, where none is typed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True)
class Weight:
    """What one weed weighs beside its share."""

    harm: float = 1.0
    seed_life: float = 1.0
    because: str = ""
    """Empty: nobody typed it, and it is assumed."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """One weed of the sum."""

    weed: str
    share: float
    """[% of the sward]"""
    weight: Weight

    @property
    def product(self) -> float:
        """Share × harm × seed life."""
        return self.share * self.weight.harm * self.weight.seed_life


def weighed(
    shares: Mapping[str, float], weights: Mapping[str, Weight]
) -> tuple[Weighed, ...]:
    """The sum of each weed, the largest first; equals in the order they were typed.

    Parameters
    ----------
    shares : mapping
        Share of the sward by weed id. [%]
    weights : mapping
        The farm's own, by weed id; a weed left out weighs 1.
    """
    found = [
        Weighed(weed, share, weights.get(weed, Weight()))
        for weed, share in shares.items()
    ]
    return tuple(sorted(found, key=lambda each: -each.product))
