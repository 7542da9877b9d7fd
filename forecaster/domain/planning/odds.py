"""The chance to get a paddock done: its window still open, and hours long enough.

Two things are put together, each as far as it is known: the traces of the season say
when the window opens and closes, the members of the forecast which hours are fit. They
are taken as independent of each other. Hours of one day stand or fall together, so a
day has the chance of its best run; days are independent within a member.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from forecaster.domain.weather import Floats

    Days = npt.NDArray[np.int64]


class Odds(NamedTuple):
    """Chances [share], each (days,)."""

    by: Floats
    """That it is done by the end of each day, if one goes at the first chance."""
    waiting: Floats
    """That it is done to the end of the hours known, if one waits for that day."""


def odds(
    fit: Floats,
    length: int,
    opened: Floats,
    closed: Floats,
    day_of: npt.NDArray[np.int64],
) -> Odds:
    """The chance of at least one run of fit hours inside the window.

    Parameters
    ----------
    fit : (members, hours) array
        Chance that each hour is fit; what is unknown counts as none. [share]
    length : int
        Hours that are needed in one run, at least 1.
    opened, closed : (samples,) arrays
        Edges of the window in hours from the first hour; +inf not reached.
        NaN: unknown, and so is all.
    day_of : (hours,) array of int
        The day of each hour, from 0 on.
    """
    days = int(day_of[-1]) + 1 if day_of.size else 0
    if not days or np.isnan(opened).any() or np.isnan(closed).any():
        return Odds(np.full(days, np.nan), np.full(days, np.nan))
    runs = run_chances(fit, length)
    start = np.arange(runs.shape[-1], dtype=np.float64)
    inside = (start >= opened[:, None]) & (start + length <= closed[:, None])
    cases, weight = np.unique(inside, axis=0, return_counts=True)
    best = np.zeros((fit.shape[0], cases.shape[0], days))
    for day in range(days):
        here = day_of[: start.size] == day
        if here.any():
            hours = runs[:, None, here] * cases[None, :, here]
            best[:, :, day] = hours.max(axis=-1)
    miss: Floats = np.asarray(1.0 - best, dtype=np.float64)
    return Odds(
        _mean(_any(miss), weight),
        _mean(_any(miss[..., ::-1])[..., ::-1], weight),
    )


def run_chances(fit: Floats, length: int) -> Floats:
    """Chance of a run from each hour on: that of its weakest hour.

    Returns
    -------
    (members, starts) array
        [share]; starts from which ``length`` hours are known of.
    """
    known = np.nan_to_num(fit)
    if length > known.shape[-1]:
        return np.zeros((known.shape[0], 0))
    whole = np.lib.stride_tricks.sliding_window_view(known, length, axis=-1)
    return np.asarray(whole.min(axis=-1), dtype=np.float64)


def by_habit(
    after_none: float, opened: Floats, closed: Floats, moments: Floats
) -> Floats:
    """The same by the habit of the place alone: no forecast, no day fit so far.

    Parameters
    ----------
    after_none : float
        Chance that a day is fit after one that was not. [share]
    opened, closed : (samples,) arrays
        Edges of the window.
    moments : (days,) array
        When each day counts, in the unit of the edges.

    Returns
    -------
    (days,) array
        Chance of at least one fit day inside the window by each of them. [share]
    """
    inside = (opened[:, None] <= moments) & (moments < closed[:, None])
    if np.isnan(opened).any() or np.isnan(closed).any():
        return np.full(moments.shape, np.nan)
    share = 1.0 - (1.0 - after_none) ** np.cumsum(inside, axis=-1)
    return np.asarray(share.mean(axis=0), dtype=np.float64)


def _any(miss: Floats) -> Floats:
    """Chance of at least one so far along the last axis."""
    return np.asarray(1.0 - np.cumprod(miss, axis=-1), dtype=np.float64)


def _mean(chance: Floats, weight: Days) -> Floats:
    told = (chance * weight[None, :, None]).sum(axis=(0, 1))
    return np.asarray(told / (chance.shape[0] * weight.sum()), dtype=np.float64)
