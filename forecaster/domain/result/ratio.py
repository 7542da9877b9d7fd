"""Ratio of two mean counts, and the ratios that fit the counts nearly as well.

With α held, a ratio r belongs to the limits while twice the drop of the log likelihood
from its best to its best at that ratio is at most a quantile squared (profile
likelihood; McCullagh & Nelder 1989, Generalized Linear Models, 2nd ed., section 7.2,
from memory). Unlike limits made of a standard error it works when one side is all zero.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

Outside: TypeAlias = Callable[[float], bool]
"""Whether the natural logarithm of a ratio lies outside the limits."""
_FARTHEST = 600.0
"""Natural logarithm of the largest ratio looked at; floats end beyond."""
_HALVINGS = 100


@dataclass(frozen=True, slots=True)
class Sum:
    """All plants counted in one strip, and in how many squares."""

    plants: int
    squares: int

    @property
    def mean(self) -> float:
        """Plants a square."""
        return self.plants / self.squares


def drop(over: Sum, under: Sum, *, ratio: float, alpha: float) -> float:
    """Twice the log likelihood lost when the means are held at ``ratio``.

    ``over`` is divided by ``under``; ``ratio`` > 0 and ``under.plants`` > 0.
    """
    best = _likelihood(over, over.mean, alpha) + _likelihood(under, under.mean, alpha)
    mean = _best_mean(over, under, ratio, alpha)
    held = _likelihood(over, ratio * mean, alpha) + _likelihood(under, mean, alpha)
    return 2.0 * (best - held)


def limits(
    over: Sum, under: Sum, *, alpha: float, quantile: float
) -> tuple[float, float]:
    """Lowest and highest ratio that the counts allow.

    Parameters
    ----------
    over, under : Sum
        What is divided and by what; ``under`` holds at least one plant.
    alpha : float
        Over-dispersion, 0 or more. [1]
    quantile : float
        Of Student's distribution, such as 2.1 for 95 %. [1]

    Returns
    -------
    tuple of float
        The lowest is 0 where ``over`` holds no plant; the highest is always finite.
    """

    def outside(log: float) -> bool:
        ratio = math.exp(log)
        return drop(over, under, ratio=ratio, alpha=alpha) > quantile**2

    if over.plants == 0:
        return 0.0, math.exp(_edge(-_FARTHEST, _FARTHEST, outside))
    middle = math.log(over.mean / under.mean)
    low = -_edge(-middle, _FARTHEST, lambda log: outside(-log))
    return math.exp(low), math.exp(_edge(middle, _FARTHEST, outside))


def _edge(inside: float, beyond: float, outside: Outside) -> float:
    """Where the limits end between a place inside and one beyond."""
    for _ in range(_HALVINGS):
        middle = (inside + beyond) / 2.0
        if outside(middle):
            beyond = middle
        else:
            inside = middle
    return inside


def _likelihood(counted: Sum, mean: float, alpha: float) -> float:
    """Log likelihood but for what no mean changes."""
    rises = counted.plants * math.log(mean) if counted.plants else 0.0
    if alpha == 0.0:
        return rises - counted.squares * mean
    falls = (counted.plants + counted.squares / alpha) * math.log1p(alpha * mean)
    return rises - falls


def _best_mean(over: Sum, under: Sum, ratio: float, alpha: float) -> float:
    """The mean below the line that fits best with the ratio held.

    The slope of the likelihood is zero at the positive root of a·μ² − b·μ − plants = 0.
    """
    plants = over.plants + under.plants
    a = alpha * ratio * (over.squares + under.squares)
    b = alpha * (over.plants + ratio * under.plants) - (
        ratio * over.squares + under.squares
    )
    root = math.hypot(b, 2.0 * math.sqrt(a) * math.sqrt(plants))
    return (b + root) / (2.0 * a) if b > 0.0 else 2.0 * plants / (root - b)
