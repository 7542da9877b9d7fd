"""What a count says of the paddock: shares past each stage, and how well known."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate
from typing import TYPE_CHECKING

from forecaster.domain.verification.chances import wilson_limits

if TYPE_CHECKING:
    from forecaster.domain.growth.look import Look
    from forecaster.domain.growth.stage import Stage


@dataclass(frozen=True, slots=True)
class SharePast:
    """How many of the heads counted were at ``stage`` or past it."""

    stage: Stage
    past: int
    """[heads]"""
    heads: int
    """[heads] counted in all."""
    low: float
    """[share] lower 95 % limit for the whole paddock."""
    high: float
    """[share] upper 95 % limit."""

    @property
    def share(self) -> float:
        """Share of the heads counted [0…1]."""
        return self.past / self.heads


def shares_past(look: Look) -> tuple[SharePast, ...]:
    """Shares at or past each stage heads were told apart at, with 95 % limits.

    The limits are Wilson's and take heads for independent draws from one paddock;
    heads beside each other are alike, so the truth is a little less sure. Empty if
    no head was counted.

    References
    ----------
    Wilson (1927), J. Am. Stat. Assoc. 22, 209–212. Mark: from memory.
    """
    heads = look.heads
    if not heads:
        return ()
    before = tuple(accumulate(look.between))[:-1]
    passed = [heads - count for count in before]
    low, high = wilson_limits(passed, heads)
    return tuple(
        SharePast(stage, past, heads, float(lowest), float(highest))
        for stage, past, lowest, highest in zip(
            look.boundaries, passed, low, high, strict=True
        )
    )


def widest(shares: tuple[SharePast, ...]) -> SharePast | None:
    """The share that is least well known, or None."""
    return max(shares, key=lambda each: each.high - each.low, default=None)
