"""A look: heads of one weed counted by stage in one paddock on one day."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.growth.stage import Stage
    from forecaster.domain.sourced import Sourced

LookClass: TypeAlias = "Stage | None"
"""What heads were told apart by: a stage, or None for heads not out yet."""


@dataclass(frozen=True, slots=True)
class Look:
    """One weed counted in one paddock, never changed once it is written down.

    ``counts`` holds only the classes that were told apart, in the order a head meets
    them. A class reaches from its stage up to the next one named, the last without
    end, so a stage that is not named is not told apart from the one before it. Heads
    before the first class named were looked for and not found.
    """

    id: str
    paddock: str
    weed: str
    moment: np.datetime64
    """When the heads were counted, UTC ``datetime64[s]``."""
    counts: tuple[tuple[LookClass, int], ...]
    author: str = ""
    note: str = ""
    photo: str = ""

    @property
    def heads(self) -> int:
        """How many heads were counted."""
        return sum(count for _, count in self.counts)

    @property
    def boundaries(self) -> tuple[Stage, ...]:
        """Stages that heads were told apart at, in order."""
        return tuple(stage for stage, _ in self.counts if stage is not None)

    @property
    def between(self) -> tuple[int, ...]:
        """Heads before the first boundary, between them, and past the last."""
        named = dict(self.counts)
        return (named.get(None, 0), *(named[stage] for stage in self.boundaries))


@dataclass(frozen=True, slots=True)
class LookNumbers:
    """How far looks are trusted, and what they may change."""

    floor: Sourced
    """[degC d] no date is held to be known better than this."""
    spread_sd: Sourced
    """[log] standard deviation of ln f before a look."""
    same_paddock: Sourced
    """[correlation] of two weeds of one paddock."""
    same_weed: Sourced
    """[correlation] of one weed in two paddocks of a farm."""
    uneven: Sourced
    """[factor] spread beyond which heads are uneven."""
    enough: Sourced
    """[heads] fewer are a small count."""
