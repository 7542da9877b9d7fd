"""Rain around an hour: totals ahead and behind, dry hours, chance of rain.

Row t of a rain array is the rain of the hour from t to t + 1 h. Hours beyond either
end of the array are unknown, and unknown rain is never dry.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from forecaster.domain.weather import Bools, Floats

TRACE: Final = 0.2
"""[mm] The least rain that counts in an hour. Source: the Bureau of Meteorology's
chance of rain is for at least 0.2 mm; published, seen in excerpt."""


def _whole_hours(hours: float) -> int:
    """Hours rounded up to a whole number.

    Raises
    ------
    ValueError
        If negative or not finite.
    """
    if not (math.isfinite(hours) and hours >= 0.0):
        raise ValueError(f"hours must be zero or more, not {hours}")
    return math.ceil(hours)


def _windows(values: ArrayLike, before: int, after: int, width: int) -> Floats:
    """One window for each hour along a new last axis, the ends padded with NaN."""
    array = np.asarray(values, np.float64)
    # One value more than needed, so that a table of no hours still holds a window.
    pads = [(0, 0)] * (array.ndim - 1) + [(before, after + 1)]
    padded = np.pad(array, pads, constant_values=np.nan)
    windows = sliding_window_view(padded, width, axis=-1)
    return windows[..., : array.shape[-1], :]


def rain_ahead(rain: ArrayLike, hours: float) -> Floats:
    """Rain in this hour and the ``hours`` after it.

    Summed window by window, not by differences of a running total: a difference can
    come out a hair under a limit that the rain in truth reaches.

    Parameters
    ----------
    rain : (..., n) array
        [mm] in each hour.
    hours : float
        [h] rounded up to whole hours.

    Returns
    -------
    (..., n) array
        [mm] NaN where any of those hours is missing or past the end.

    Raises
    ------
    ValueError
        If ``hours`` is negative or not finite.

    Examples
    --------
    >>> rain_ahead([0.0, 1.0, 2.0], 1)
    array([ 1.,  3., nan])
    """
    ahead = _whole_hours(hours)
    total: Floats = _windows(rain, 0, ahead, ahead + 1).sum(axis=-1)
    return total


def rain_before(rain: ArrayLike, hours: float) -> Floats:
    """Rain in the ``hours`` before this one, this hour left out.

    Parameters
    ----------
    rain : (..., n) array
        [mm] in each hour.
    hours : float
        [h] rounded up to whole hours; 0 gives 0 mm.

    Returns
    -------
    (..., n) array
        [mm] NaN where any of those hours is missing or before the start.

    Raises
    ------
    ValueError
        If ``hours`` is negative or not finite.

    Examples
    --------
    >>> rain_before([1.0, 2.0, 0.0], 2)
    array([nan, nan,  3.])
    """
    back = _whole_hours(hours)
    total: Floats = _windows(rain, back, 0, back).sum(axis=-1)
    return total


def dry_hours_ahead(rain: ArrayLike, trace: float = TRACE) -> Floats:
    """Hours after this one that are known to be dry, up to the first that is not.

    Parameters
    ----------
    rain : (..., n) array
        [mm] in each hour.
    trace : float
        [mm] An hour is dry below this.

    Returns
    -------
    (..., n) array
        [h] whole hours; rain, a missing hour and the end of the array all stop the
        count. This hour itself is not looked at.

    Examples
    --------
    >>> dry_hours_ahead([5.0, 0.0, 0.1, 0.2])
    array([2., 1., 0., 0.])
    """
    array = np.asarray(rain, np.float64)
    hours = array.shape[-1]
    index = np.arange(hours)
    stops = np.where(array < trace, hours, index)
    nearest = np.minimum.accumulate(stops[..., ::-1], axis=-1)[..., ::-1]
    beyond = np.full((*array.shape[:-1], 1), hours)
    first = np.concatenate([nearest[..., 1:], beyond], axis=-1)[..., :hours]
    return (first - index - 1).astype(np.float64)


def chance_ahead(chance: ArrayLike, hours: float) -> tuple[Floats, Floats]:
    """Bounds on the chance of rain in this hour or the ``hours`` after it.

    Hourly chances do not say how hours hang together. At the least it is the largest
    of them; if the hours were independent it is 1 − Π(1 − p), which is the most it can
    be as long as rain in one hour does not make the others drier.

    Parameters
    ----------
    chance : (..., n) array
        [%] chance of rain in each hour.
    hours : float
        [h] rounded up to whole hours.

    Returns
    -------
    two (..., n) arrays
        [%] lower and upper. NaN where any of those hours is missing or past the end.

    Raises
    ------
    ValueError
        If ``hours`` is negative or not finite.
    """
    ahead = _whole_hours(hours)
    windows = _windows(chance, 0, ahead, ahead + 1)
    lower: Floats = windows.max(axis=-1)
    upper = 100.0 * (1.0 - np.prod(1.0 - windows / 100.0, axis=-1))
    return lower, np.maximum(lower, upper)


def hours_since_rain(rain: ArrayLike, trace: float = TRACE) -> Floats:
    """Hours since the last hour with rain; 0 in such an hour.

    Parameters
    ----------
    rain : (..., n) array
        [mm] in each hour.
    trace : float
        [mm] An hour is wet at or above this.

    Returns
    -------
    (..., n) array
        [h] NaN where no rain is on record yet, and after a missing hour until the next
        known rain.

    Examples
    --------
    >>> hours_since_rain([0.0, 1.0, 0.0, float("nan"), 0.0])
    array([nan,  0.,  1., nan, nan])
    """
    array = np.asarray(rain, np.float64)
    index = np.arange(array.shape[-1])
    wet = _last(array >= trace, index)
    unknown = _last(np.isnan(array), index)
    return np.where(wet > unknown, (index - wet).astype(np.float64), np.nan)


def _last(happened: Bools, index: NDArray[np.intp]) -> NDArray[np.intp]:
    """Index of the latest True so far; −1 before the first."""
    latest: NDArray[np.intp] = np.maximum.accumulate(
        np.where(happened, index, -1), axis=-1
    )
    return latest
