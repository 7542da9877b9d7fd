"""Chances against what happened: Brier score, and how often each chance came true."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from forecaster.domain.weather import Floats

NINETY_FIVE: Final = 1.959963984540054
"""[1] 97.5 % point of the standard normal: limits of 95 %."""
TENTHS: Final = np.arange(11) / 10.0
"""[share] Edges of ten equal bins."""


@dataclass(frozen=True, slots=True)
class BrierScore:
    """Mean squared error of chances; 0 is perfect."""

    count: int
    score: float
    of_climate: float
    """Score of always giving the share of the sample that came true."""

    @property
    def skill(self) -> float:
        """1 perfect, 0 no better than the climate of the sample, below 0 worse.

        NaN where the climate is always right, so that nothing can beat it.
        """
        return 1.0 - self.score / self.of_climate if self.of_climate else math.nan


def brier_score(chance: Floats, came_true: Floats) -> BrierScore:
    """Brier score of ``chance`` against ``came_true`` (1, 0, or NaN), of one shape.

    Raises
    ------
    ValueError
        If a chance is not within 0…1 or an outcome is neither 0 nor 1.

    References
    ----------
    Brier (1950), Monthly Weather Review 78, 1-3 (half of his sum, as is usual for two
    outcomes). Mark: from memory.

    Examples
    --------
    0.8 before a success and 0.4 before a failure: (0.2² + 0.4²) / 2.

    >>> round(brier_score(np.array([0.8, 0.4]), np.array([1.0, 0.0])).score, 3)
    0.1
    """
    said, came = _pairs(chance, came_true)
    if not said.size:
        return BrierScore(0, math.nan, math.nan)
    share = float(came.mean())
    return BrierScore(
        int(said.size), float(np.mean((said - came) ** 2)), share * (1.0 - share)
    )


@dataclass(frozen=True, slots=True)
class ReliabilityTable:
    """How often each chance came true; arrays (bins,), NaN where a bin is empty.

    ``low`` and ``high`` are Wilson's 95 % limits of ``share``. They take hours for
    independent; neighbouring hours are not, so true limits are wider.
    """

    edges: Floats
    """(bins + 1,) [share] a bin holds its lower edge, the last one both."""
    count: npt.NDArray[np.intp]
    said: Floats
    """[share] mean chance given."""
    share: Floats
    """[share] that came true."""
    low: Floats
    high: Floats

    @property
    def climate(self) -> float:
        """Share of the whole sample that came true."""
        return _mean(self.share, self.count)

    @property
    def reliability(self) -> float:
        """What the chances lose by not meaning what they say (Murphy 1973)."""
        return _mean((self.said - self.share) ** 2, self.count)

    @property
    def resolution(self) -> float:
        """What they gain by telling hours apart (Murphy 1973)."""
        return _mean((self.share - self.climate) ** 2, self.count)

    @property
    def uncertainty(self) -> float:
        """Brier score of the climate (Murphy 1973)."""
        return self.climate * (1.0 - self.climate)


def reliability_table(
    chance: Floats, came_true: Floats, edges: Floats = TENTHS
) -> ReliabilityTable:
    """Sort chances into bins and count what came true.

    Parameters
    ----------
    chance : array
        [share] NaN does not count.
    came_true : array of the same shape
        1, 0, or NaN where not known.
    edges : (bins + 1,) array
        Rising, from 0 to 1.

    Raises
    ------
    ValueError
        As :func:`brier_score`; or if ``edges`` do not rise from 0 to 1.

    References
    ----------
    Murphy (1973), J. Appl. Meteorol. 12, 595-600: Brier score = reliability −
    resolution + uncertainty, exact where all chances of a bin are equal. Mark: from
    memory.
    """
    if edges[0] != 0.0 or edges[-1] != 1.0 or np.any(np.diff(edges) <= 0.0):
        raise ValueError(f"edges {edges} do not rise from 0 to 1")
    said, came = _pairs(chance, came_true)
    bins = edges.size - 1
    at = np.minimum(np.searchsorted(edges, said, side="right") - 1, bins - 1)
    count = np.bincount(at, minlength=bins)
    some = np.where(count > 0, count, np.nan)
    true = np.bincount(at, weights=came, minlength=bins)
    low, high = wilson_limits(true, some)
    return ReliabilityTable(
        edges=edges,
        count=count,
        said=np.bincount(at, weights=said, minlength=bins) / some,
        share=true / some,
        low=low,
        high=high,
    )


def wilson_limits(
    successes: npt.ArrayLike, count: npt.ArrayLike, z: float = NINETY_FIVE
) -> tuple[Floats, Floats]:
    """Limits of a share by Wilson's score method, without continuity correction.

    Parameters
    ----------
    successes, count : arrays that broadcast together
    z : float
        Point of the standard normal; 1.96 for 95 %.

    Returns
    -------
    two arrays
        [share] NaN where ``count`` is 0 or NaN.

    References
    ----------
    Wilson (1927), J. Am. Stat. Assoc. 22, 209-212; Newcombe (1998), Statistics in
    Medicine 17, 857-872, method 3. Mark: from memory.
    """
    n = np.asarray(count, dtype=np.float64)
    n = np.where(n > 0.0, n, np.nan)
    share = np.asarray(successes, dtype=np.float64) / n
    middle = share + z**2 / (2.0 * n)
    half = z * np.sqrt(share * (1.0 - share) / n + z**2 / (4.0 * n**2))
    over = 1.0 + z**2 / n
    return (
        np.maximum((middle - half) / over, 0.0),
        np.minimum((middle + half) / over, 1.0),
    )


def _pairs(chance: Floats, came_true: Floats) -> tuple[Floats, Floats]:
    """The pairs of which both are known, flat and checked."""
    known = ~np.isnan(chance) & ~np.isnan(came_true)
    said, came = chance[known], came_true[known]
    if np.any((said < 0.0) | (said > 1.0)):
        raise ValueError("a chance is not within 0 and 1")
    if np.any((came != 0.0) & (came != 1.0)):
        raise ValueError("an outcome is neither 0 nor 1")
    return said, came


def _mean(values: Floats, count: npt.NDArray[np.intp]) -> float:
    """Mean over bins, weighted by their hours; NaN where there are none."""
    total = int(count.sum())
    filled = count > 0
    return float(np.dot(values[filled], count[filled])) / total if total else math.nan
