"""Early, likely and late of many equally likely outcomes."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from forecaster.domain.weather import Floats

LIKELY_RANGE = (0.1, 0.5, 0.9)
"""Share of outcomes at or before the early, likely and late one."""


class Range(NamedTuple):
    """One outcome in ten lies below ``early`` and one in ten above ``late``."""

    early: Floats
    likely: Floats
    late: Floats


def spread_of(outcomes: Floats) -> Range:
    """10 %, 50 % and 90 % points over the last two axes (traces, nodes).

    Parameters
    ----------
    outcomes : (..., traces, nodes) array
        Equally likely. +inf = not reached; NaN = unknown.

    Returns
    -------
    Range of (...) arrays
        NaN where any outcome is unknown: which ones are missing depends on how late
        they are, so those left would tell too early a date. +inf where the point
        falls among outcomes that are not reached.

    Notes
    -----
    Hazen's rule: of n sorted outcomes the i-th stands at (i − ½)/n.
    """
    count = outcomes.shape[-2] * outcomes.shape[-1]
    pooled = np.sort(outcomes.reshape(*outcomes.shape[:-2], count), axis=-1)
    place = np.clip(np.array(LIKELY_RANGE) * count - 0.5, 0.0, count - 1.0)
    below = place.astype(np.intp)
    part = place - below
    low = pooled[..., below]
    high = np.where(part > 0, pooled[..., np.minimum(below + 1, count - 1)], low)
    reached = np.isfinite(high)
    low, high = np.where(reached, low, 0.0), np.where(reached, high, np.inf)
    point = low + np.where(part > 0, part, 1.0) * (high - low)
    point = np.where(np.isnan(pooled[..., -1:]), np.nan, point)
    return Range(point[..., 0], point[..., 1], point[..., 2])
