"""How much more counts differ from square to square than chance alone makes them.

The variance of a count with mean μ is taken as μ + α·μ² (negative binomial, type 2).
α comes from Pearson's statistic set equal to its degrees of freedom: Breslow 1984,
Extra-Poisson variation in log-linear models, Applied Statistics 33(1):38–44 (from
memory).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.domain.weather import Floats

_HALVINGS = 80
"""Enough for every digit a float has."""


def dispersion(groups: Sequence[Floats]) -> tuple[float, int]:
    """Common α of groups with a mean each, and the degrees of freedom behind it.

    A group that is all zero tells nothing of how counts differ and is left out. Counts
    that differ less than chance alone would make them count as chance: α is 0.

    Parameters
    ----------
    groups : sequence of (squares,) arrays
        Counts, none negative. [plants]

    Returns
    -------
    float
        α [1], NaN where no group tells anything.
    int
        Squares less groups.
    """
    told = [each for each in groups if each.sum() > 0]
    free = sum(len(each) - 1 for each in told)
    if free == 0:
        return math.nan, 0
    if _pearson(told, 0.0) <= free:
        return 0.0, free
    low, high = 0.0, 1.0
    while _pearson(told, high) > free:
        low, high = high, high * 2.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        if _pearson(told, middle) > free:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0, free


def _pearson(groups: Sequence[Floats], alpha: float) -> float:
    """Pearson's statistic of all groups; falls as α grows."""
    return sum(
        float(((each - each.mean()) ** 2).sum())
        / float(each.mean() + alpha * each.mean() ** 2)
        for each in groups
    )
