"""What a count of heads is worth before it is made.

How far the model may be out is one standard normal error z: it moves the edges of the
stage window and the shares of heads alike. A count of n heads at one stage is binomial
in its share; averaged over what it may turn out to be, it leaves a smaller chance of
calling the window open when it is not, or not open when it is. What remains uncertain
however many heads are counted (two people differ, a paddock is patchy) is smeared into
the count first.

Preposterior analysis: Raiffa & Schlaifer 1961, Applied Statistical Decision Theory
(from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth import heads
from forecaster.domain.growth.heads import STAGES
from forecaster.domain.growth.stage_window import first_of, last_of

if TYPE_CHECKING:
    from forecaster.domain.growth.season import Projection
    from forecaster.domain.growth.stage import Stage
    from forecaster.domain.growth.weed import Mode
    from forecaster.domain.weather import Bools, Floats

COUNTS = (10, 20, 30, 50, 100)
"""Heads a person might count."""
USUAL = 30
"""Heads of a usual look. Assumed: the field protocol of docs/how-to/count-heads.md."""
SURE = 0.1
"""Chance of a wrong call at which open is told from closed. Assumed."""

_Z = np.linspace(-4.5, 4.5, 121)
_WEIGHT = np.exp(-0.5 * _Z**2)
_WEIGHT /= _WEIGHT.sum()


@dataclass(frozen=True, slots=True)
class LookValue:
    """What counting heads past one stage would tell."""

    stage: Stage
    """Count the heads at it or past it."""
    chance_open: float
    """That the window is open today. [share]"""
    wrong_now: Floats
    """(days,) chance of a wrong call on each day without a look. [share]"""
    wrong_after: Floats
    """(counts, days) the same expected after a look, for each of :data:`COUNTS`."""
    sd_now: float
    """Of the stage's thermal time. [°C d]"""
    sd_after: float
    """Expected after a usual look. [°C d]"""

    @property
    def gain(self) -> float:
        """Share of wrong calls spared by a usual look, averaged over the days."""
        after = self.wrong_after[COUNTS.index(USUAL)]
        return float((self.wrong_now - after).mean())

    @property
    def heads_needed(self) -> int | None:
        """Fewest heads that tell today's window open from closed.

        0 where that can be told without; None where no count of one day can.
        """
        if self.wrong_now[0] <= SURE:
            return 0
        enough = np.flatnonzero(self.wrong_after[:, 0] <= SURE)
        return COUNTS[int(enough[0])] if enough.size else None


def look_value(
    projection: Projection, mode: Mode, days: Floats, *, floor: float
) -> LookValue | None:
    """The stage whose count today tells most of a window over the coming days.

    Parameters
    ----------
    projection : Projection
        Of one paddock.
    mode : "translocated" or "contact"
        Whose window; the weed must have one.
    days : (n,) array
        Today and the days ahead, from the projection's first day.
    floor : float
        What no count can narrow, as a standard deviation. [°C d]

    Returns
    -------
    LookValue, or None where the thermal time is not known.
    """
    at = np.median(projection.thermal_time(days), axis=(-2, -1))
    if np.isnan(at).any() or not np.isfinite(at[0]):
        return None
    fine = replace(projection, nodes=_Z)
    rule = projection.weed.windows[mode]
    closed = _middle(first_of(fine, rule.closed))
    opened = np.minimum(_middle(last_of(fine, rule.open)), closed)
    is_open = (opened <= at[:, None]) & (at[:, None] < closed)
    chance = is_open @ _WEIGHT
    sights = [_Sight.at(fine, stage, float(at[0]), floor) for stage in STAGES]
    best = min(sights, key=lambda sight: sight.wrong(USUAL, is_open).mean())
    return LookValue(
        stage=best.stage,
        chance_open=float(chance[0]),
        wrong_now=np.minimum(chance, 1.0 - chance),
        wrong_after=np.stack([best.wrong(count, is_open) for count in COUNTS]),
        sd_now=best.sd,
        sd_after=best.sd * _expected_sd(best.joint(USUAL)),
    )


def _middle(thresholds: Floats) -> Floats:
    """Of one paddock, the likely trace: (z,)."""
    middle: Floats = np.median(thresholds[0], axis=0)
    return middle


@dataclass(frozen=True, slots=True)
class _Sight:
    """The share of heads past one stage as somebody would count it, for each z."""

    stage: Stage
    share: Floats
    """(z,)"""
    sd: float
    """Of the stage's thermal time. [°C d]"""
    blur: Floats
    """(z, z) chance of counting z where another is true."""

    @classmethod
    def at(cls, fine: Projection, stage: Stage, at: float, floor: float) -> _Sight:
        shares = heads.share_past(
            fine.weed,
            stage,
            at,
            shift=fine.shift(stage),
            spread_factor=fine.spread_factor,
        )
        sd = float(fine.belief.reach(fine.weed.offset(stage))[1][0, 0])
        return cls(stage, _middle(shares), sd, _blur(floor / sd))

    def joint(self, count: int) -> Floats:
        """(z, count + 1) chance of each z with each number of heads past the stage."""
        seen: Floats = _WEIGHT[:, None] * (self.blur @ _binomial(self.share, count))
        return seen

    def wrong(self, count: int, is_open: Bools) -> Floats:
        """(days,) chance of a wrong call left after ``count`` heads."""
        joint = self.joint(count)
        both = is_open @ joint
        left: Floats = np.minimum(both, joint.sum(axis=0) - both).sum(axis=1)
        return left


def _binomial(share: Floats, count: int) -> Floats:
    """(z, count + 1) chance of each number of heads past the stage."""
    number = np.arange(count + 1)
    ways = np.array([float(math.comb(count, each)) for each in number.tolist()])
    inside = share[:, None]
    found: Floats = ways * inside**number * (1.0 - inside) ** (count - number)
    return found


def _blur(width: float) -> Floats:
    """(z, z) an error of ``width`` in z that counting cannot take away."""
    if width <= 0:
        return np.eye(_Z.size)
    kernel = np.exp(-0.5 * ((_Z[:, None] - _Z) / width) ** 2)
    spread: Floats = kernel / kernel.sum(axis=1, keepdims=True)
    return spread


def _expected_sd(joint: Floats) -> float:
    """Standard deviation of z after the count, averaged over what it may be."""
    total = joint.sum(axis=0)
    known = np.maximum(total, 1e-300)
    mean = (_Z @ joint) / known
    variance = ((_Z**2) @ joint) / known - mean**2
    return float(total @ np.sqrt(np.maximum(variance, 0.0)))
