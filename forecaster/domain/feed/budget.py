"""Feed of a whole farm, day by day, until it runs short."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from forecaster.domain.weather import Floats


def first_short(
    on_hand: npt.ArrayLike, grown: npt.ArrayLike, eaten: npt.ArrayLike
) -> Floats:
    """The first day whose evening finds less than what is to be left.

    Parameters
    ----------
    on_hand : (...) array
        Feed over what is to be left, this morning. [kg DM]
    grown : (..., days) array
        What grows on each day. [kg DM/d]
    eaten : (..., days) array
        What is eaten and spoilt on each. [kg DM/d]

    Returns
    -------
    (...) array
        Days from today, 0 for this evening; +inf where it lasts as long as the days
        do; NaN where a number up to then is not known.
    """
    change = np.asarray(grown, dtype=np.float64) - np.asarray(eaten, dtype=np.float64)
    left = np.asarray(on_hand, dtype=np.float64)[..., None] + np.cumsum(change, axis=-1)
    # A day that is not known makes every later one unknown; cumsum carries the NaN.
    stop = (left < 0.0) | np.isnan(left)
    day = np.argmax(stop, axis=-1)
    at = np.take_along_axis(left, day[..., None], axis=-1)[..., 0]
    found = np.where(stop.any(axis=-1), day.astype(np.float64), np.inf)
    return np.where(np.isnan(at) & stop.any(axis=-1), np.nan, found)


def growth_by_day(
    starts: npt.ArrayLike, rates: npt.ArrayLike, today: np.datetime64, days: int
) -> Floats:
    """Growth on each of the coming days, each rate until the next one starts.

    Parameters
    ----------
    starts : (n,) array of datetime64[D]
        Rising.
    rates : (n,) array
        [kg DM/ha/d]
    today : datetime64[D]
        The first day.
    days : int
        How many.

    Returns
    -------
    (days,) array
        [kg DM/ha/d] NaN before the first start.
    """
    begun = np.asarray(starts, dtype="datetime64[D]")
    each = today.astype("datetime64[D]") + np.arange(max(days, 0))
    place = np.searchsorted(begun, each, side="right") - 1
    found = np.asarray(rates, dtype=np.float64)[np.maximum(place, 0)]
    return np.where(place < 0, np.nan, found)
