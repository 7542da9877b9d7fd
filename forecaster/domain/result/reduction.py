"""How many fewer seedlings stand where it was sprayed, with what the counts allow."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.result.dispersion import dispersion
from forecaster.domain.result.ratio import Sum, limits

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

FEW = 10
"""[squares] in a strip below which the page says that they are few. Assumed."""
_CM2_IN_M2 = 10_000.0


@dataclass(frozen=True, slots=True)
class Strip:
    """What was counted in one strip."""

    counts: tuple[int, ...]
    plants_m2: float
    """[plants/m²]"""

    @property
    def few(self) -> bool:
        """Whether the squares are too few to trust much."""
        return len(self.counts) < FEW


@dataclass(frozen=True, slots=True)
class Reduction:
    """Seedlings of the treated strip beside the untreated one.

    ``ratio`` is treated over untreated, ``low`` and ``high`` its limits. [share] NaN:
    not known. ``low`` and ``high`` are NaN alone where no two squares can be compared.
    """

    treated: Strip
    untreated: Strip
    ratio: float
    low: float
    high: float
    alpha: float
    """Over-dispersion: variance = mean + α·mean². [1]"""

    @property
    def reduced(self) -> tuple[float, float, float]:
        """Lowest, found and highest share by which seedlings are fewer."""
        return 1.0 - self.high, 1.0 - self.ratio, 1.0 - self.low

    @property
    def none_treated(self) -> bool:
        """Whether not one seedling was found where it was sprayed."""
        return not any(self.treated.counts)

    @property
    def known(self) -> bool:
        """Whether the counts give limits at all."""
        return math.isfinite(self.high)


def reduction(
    treated: Sequence[int],
    untreated: Sequence[int],
    *,
    side_cm: float,
    quantile_of: Callable[[int], float],
) -> Reduction:
    """Compare two strips.

    Parameters
    ----------
    treated, untreated : sequence of int
        Plants in each square; at least one square each, none negative.
    side_cm : float
        Side of the square. [cm]
    quantile_of : callable
        Student's quantile for so many degrees of freedom; squared it bounds the drop
        in likelihood.

    Returns
    -------
    Reduction
        Ratio and limits are NaN where nothing grew untreated.
    """
    strips = _strip(treated, side_cm), _strip(untreated, side_cm)
    over, under = Sum(sum(treated), len(treated)), Sum(sum(untreated), len(untreated))
    if under.plants == 0:
        return Reduction(*strips, math.nan, math.nan, math.nan, math.nan)
    groups = [np.array(treated, dtype=float), np.array(untreated, dtype=float)]
    alpha, free = dispersion(groups)
    low = high = math.nan
    if free:
        low, high = limits(over, under, alpha=alpha, quantile=quantile_of(free))
    return Reduction(*strips, over.mean / under.mean, low, high, alpha)


def _strip(counts: Sequence[int], side_cm: float) -> Strip:
    mean = sum(counts) / len(counts)
    return Strip(tuple(counts), mean * _CM2_IN_M2 / side_cm**2)
