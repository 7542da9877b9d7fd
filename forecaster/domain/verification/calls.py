"""Hours called good against hours that were fit."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from forecaster.domain.weather import Bools


@dataclass(frozen=True, slots=True)
class Calls:
    """Counts of hours that were called good, that were fit, or both [h]."""

    hits: int
    """Called good, and fit."""
    false_goes: int
    """Called good, and not fit."""
    missed: int
    """Not called good, and fit."""
    held: int
    """Neither called good nor fit."""
    unknown: int = 0
    """Hours of which one of the two is not known; in no other number."""

    @property
    def compared(self) -> int:
        """Hours of which both are known."""
        return self.hits + self.false_goes + self.missed + self.held

    @property
    def called(self) -> int:
        """Hours called good."""
        return self.hits + self.false_goes

    @property
    def fit(self) -> int:
        """Hours that were fit."""
        return self.hits + self.missed

    @property
    def fit_share(self) -> float:
        """Share of all hours that were fit: the climate of the sample."""
        return _share(self.fit, self.compared)

    @property
    def false_go_share(self) -> float:
        """Share of the hours called good that were not fit (false alarm ratio)."""
        return _share(self.false_goes, self.called)

    @property
    def hit_share(self) -> float:
        """Share of the fit hours that were called good (hit rate)."""
        return _share(self.hits, self.fit)

    @property
    def right_share(self) -> float:
        """Share of hours called right, good or not (accuracy)."""
        return _share(self.hits + self.held, self.compared)

    @property
    def threat_score(self) -> float:
        """Hits among the hours that were called or fit (critical success index)."""
        return _share(self.hits, self.hits + self.false_goes + self.missed)

    @property
    def peirce_skill(self) -> float:
        """Hit rate less the share of unfit hours that were called good.

        1 is perfect; 0 is what calling at random, always or never gets.
        """
        unfit = self.false_goes + self.held
        return self.hit_share - _share(self.false_goes, unfit)


def count_calls(called: Bools, fit: Bools, known: Bools) -> Calls:
    """Cross ``called`` with ``fit`` where ``known``, arrays of one shape.

    References
    ----------
    Murphy (1996), The Finley affair, Weather and Forecasting 11, 3-20, for the scores.
    Mark: published, seen in excerpt.

    Examples
    --------
    >>> three = np.ones(3, dtype=bool)
    >>> count_calls(three, np.array([True, True, False]), three).false_go_share
    0.3333333333333333
    """

    def among(first: Bools, second: Bools) -> int:
        return int((first & second & known).sum())

    return Calls(
        hits=among(called, fit),
        false_goes=among(called, ~fit),
        missed=among(~called, fit),
        held=among(~called, ~fit),
        unknown=int(np.sum(~known)),
    )


def _share(part: int, whole: int) -> float:
    return part / whole if whole else math.nan
