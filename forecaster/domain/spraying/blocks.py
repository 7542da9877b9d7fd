"""Runs of hours with one verdict, and what ends each at both ends."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.spraying.limits import Verdict

if TYPE_CHECKING:
    from forecaster.domain.spraying.hours import Judgement
    from forecaster.domain.weather import Bools


@dataclass(frozen=True, slots=True)
class Block:
    """Consecutive hours of one verdict, rows ``first`` up to but not ``end``.

    ``before`` and ``after`` are the rows whose verdict ends the block, or None where
    the table itself begins or ends.
    """

    first: int
    end: int
    before: int | None
    after: int | None

    @property
    def hours(self) -> int:
        """Length [h]."""
        return self.end - self.first


def runs(flags: Bools) -> list[tuple[int, int]]:
    """Maximal runs of True in a (hours,) array, as rows from first up to not end."""
    edges = np.flatnonzero(
        np.diff(np.concatenate(([False], flags, [False])).view("i1"))
    )
    return [(int(a), int(b)) for a, b in edges.reshape(-1, 2)]


def of(hours: Bools) -> tuple[Block, ...]:
    """Runs of (hours,) flags: disjoint, maximal, covering exactly the True hours."""
    return tuple(
        Block(
            first=first,
            end=end,
            before=first - 1 if first > 0 else None,
            after=end if end < hours.size else None,
        )
        for first, end in runs(hours)
    )


def find(judgement: Judgement, verdict: Verdict = Verdict.GOOD) -> tuple[Block, ...]:
    """All blocks of ``verdict``."""
    return of(judgement.verdict == verdict)
