"""Shares of heads: how many are past a stage, and when enough of them are.

The heads of one paddock do not move together. Their thermal times to a stage are
taken as normal about the weed's own value, so a share of heads and a thermal time
are two readings of one curve:

    share past stage k = Φ((P − Hp − offset_k − δ) / SD)
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.stage import Stage

if TYPE_CHECKING:
    import numpy.typing as npt

    from forecaster.domain.growth.weed import ShareRule, Weed
    from forecaster.domain.weather import Floats

STAGES: tuple[Stage, ...] = tuple(sorted(Stage))
"""All stages, in the order a head meets them."""

_HALF = 0.5
_FURTHEST = 8.0
_STEPS_PER_SD = 1000


def _normal_cdf(z: float) -> float:
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


_GRID = np.linspace(-_FURTHEST, _FURTHEST, int(2 * _FURTHEST * _STEPS_PER_SD) + 1)
_SHARES = np.array([_normal_cdf(z) for z in _GRID.tolist()])
_RISES = np.diff(_SHARES, append=_SHARES[-1])


def normal_share(z: npt.ArrayLike) -> Floats:
    """Share of a standard normal population below ``z``: Φ(z).

    Read off a table of ``math.erfc`` with 1000 lines to the standard deviation, so
    it never falls, stays within 0…1 and is within 4e-8 of Φ; NaN stays NaN.
    """
    # The lines are even, so a place is worked out, not searched for: a quarter of the
    # time of np.interp.
    place = np.clip(np.asarray(z, dtype=np.float64), -_FURTHEST, _FURTHEST)
    place = (place + _FURTHEST) * _STEPS_PER_SD
    unknown = np.isnan(place)
    place = np.where(unknown, 0.0, place)
    line = place.astype(np.int32)
    share: Floats = _SHARES.take(line) + (place - line) * _RISES.take(line)
    return np.where(unknown, np.nan, share)


def normal_quantile(share: float) -> float:
    """The ``z`` below which ``share`` of a standard normal population lies: Φ⁻¹.

    The table read backwards, then Newton's method; good to 1e-11 for shares from
    1e-12 to 1 − 1e-12.

    Raises
    ------
    ValueError
        If ``share`` is not between 0 and 1, both excluded.
    """
    if not 0.0 < share < 1.0:
        raise ValueError(f"a share of heads must lie between 0 and 1, not {share}")
    # Φ keeps its figures only in the lower tail.
    side, tail = (1.0, share) if share <= _HALF else (-1.0, 1.0 - share)
    z = float(np.interp(tail, _SHARES, _GRID))
    for _ in range(4):
        density = math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)
        z -= (_normal_cdf(z) - tail) / density
    return side * z


def share_past(
    weed: Weed,
    stage: Stage,
    thermal_time: npt.ArrayLike,
    *,
    shift: npt.ArrayLike = 0.0,
    spread_factor: npt.ArrayLike = 1.0,
) -> Floats:
    """Share of heads at ``stage`` or past it: Φ((P − Hp − offset − δ) / SD).

    Parameters
    ----------
    weed, stage
        Which heads, and which stage.
    thermal_time : array
        P, the weighted thermal time since emergence. [°C d]
    shift : array
        δ, how much later than the weed's own value this paddock is. [°C d]
    spread_factor : array
        On the weed's SD.

    Returns
    -------
    array
        [share 0…1] of the inputs' broadcast shape, NaN where any of them is.
    """
    ahead = np.asarray(thermal_time) - weed.position(stage) - np.asarray(shift)
    return normal_share(ahead / (weed.spread.value * np.asarray(spread_factor)))


def stage_shares(
    weed: Weed,
    thermal_time: npt.ArrayLike,
    *,
    shift: npt.ArrayLike = 0.0,
    spread_factor: npt.ArrayLike = 1.0,
) -> Floats:
    """Share of heads that are not out yet, and at each stage.

    Parameters are those of :func:`share_past`.

    Returns
    -------
    (..., 1 + stages) array
        Before heading, then each of :data:`STAGES` (at it and not yet at the next).
        [share 0…1] They sum to 1.
    """
    past = np.stack(
        [
            share_past(
                weed, stage, thermal_time, shift=shift, spread_factor=spread_factor
            )
            for stage in STAGES
        ],
        axis=-1,
    )
    return shares_between(past)


def shares_between(past: Floats) -> Floats:
    """Shares at each stage from the shares past each, along the last axis."""
    one = np.ones_like(past[..., :1])
    return -np.diff(np.concatenate([one, past, 0.0 * one], axis=-1), axis=-1)


def threshold(
    weed: Weed,
    rule: ShareRule,
    *,
    shift: npt.ArrayLike = 0.0,
    spread_factor: npt.ArrayLike = 1.0,
) -> Floats:
    """Thermal time at which a share rule begins to hold.

    The inverse of :func:`share_past`: Hp + offset + δ + SD · Φ⁻¹(share).

    Parameters
    ----------
    weed, rule
        Which heads, and what share of them at which stage.
    shift, spread_factor : array
        As in :func:`share_past`.

    Returns
    -------
    array
        Weighted thermal time since emergence. [°C d]

    Raises
    ------
    ValueError
        If the rule's share is not between 0 and 1, both excluded.
    """
    spread = weed.spread.value * np.asarray(spread_factor, dtype=np.float64)
    centre = weed.position(rule.stage) + np.asarray(shift, dtype=np.float64)
    return centre + spread * normal_quantile(rule.share.value)
