"""The clock of one weather cell: thermal time added up along each trace.

Every paddock of the cell reads the same clock: its own thermal time is the clock
now less the clock at its emergence. So the sums are made once per cell, and a
paddock costs a look-up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from forecaster.domain.weather import Bools, Floats

DAY = np.timedelta64(1, "D")

FULL_WEIGHT_FROM = {True: (7, 1), False: (1, 1)}
"""Month and day at which warmth begins to count in full, by ``southern``.

Counting from midwinter: Ball, Frost & Gitelman 2004, Weed Science 52:518–524, used
1 January for downy brome in North America (published, seen in excerpt); 1 July is
its southern mirror (derived).
"""


@dataclass(frozen=True, slots=True)
class Clock:
    """Running sums of thermal time from the start of ``first_day``.

    Column ``d`` of a sum is its value at the start of day ``d``. A missing day adds
    nothing here; ``missing`` remembers it, and whatever rests on it is unknown.
    """

    first_day: np.datetime64
    """``datetime64[D]``, local solar day."""
    biofix: int
    """Days from ``first_day`` to the day warmth begins to count in full."""
    plain: Floats
    """(traces, days + 1) [°C d]"""
    weighted: Floats
    """(traces, days + 1) [°C d], earlier warmth at the weed's weight."""
    missing: Bools
    """(traces, days)"""

    @property
    def days(self) -> int:
        """Number of days the weather covers."""
        return int(self.missing.shape[-1])


def biofix(first_day: np.datetime64, *, southern: bool = True) -> np.datetime64:
    """The midwinter of the season ``first_day`` lies in, ``datetime64[D]``.

    A season runs from January to December in the south and from July to June in
    the north.
    """
    start = first_day.astype("datetime64[D]")
    year = start.astype("datetime64[Y]").astype(int) + 1970
    if not southern:
        month = start.astype("datetime64[M]").astype(int) % 12 + 1
        year += month >= FULL_WEIGHT_FROM[True][0]
    month, day = FULL_WEIGHT_FROM[southern]
    return np.datetime64(f"{year:04d}-{month:02d}-{day:02d}", "D")


def run_clock(
    daily: Floats,
    first_day: np.datetime64,
    *,
    early_weight: float,
    southern: bool = True,
) -> Clock:
    """Add up daily thermal time along each trace.

    Parameters
    ----------
    daily : (traces, days) array
        Thermal time of each day. [°C d] NaN = unknown.
    first_day : datetime64[D]
        The local solar day of the first column.
    early_weight : float
        What a degree-day before midwinter counts for.
    southern : bool
        Midwinter is 1 July if true, 1 January if false.

    Raises
    ------
    ValueError
        If ``daily`` is not two-dimensional, has no day or holds a negative one.
    """
    if daily.ndim != 2 or not daily.size:  # noqa: PLR2004 — axes
        raise ValueError(f"daily thermal time has shape {daily.shape}, not two axes")
    if np.any(daily < 0):
        raise ValueError("thermal time of a day cannot be negative")
    start = first_day.astype("datetime64[D]")
    turn = int((biofix(start, southern=southern) - start) / DAY)
    missing = np.isnan(daily)
    known = np.where(missing, 0.0, daily)
    weight = np.where(np.arange(daily.shape[1]) < turn, early_weight, 1.0)
    return Clock(start, turn, _sum(known), _sum(known * weight), missing)


def value_at(sums: Floats, day: Floats) -> Floats:
    """The running sum at fractional days.

    Parameters
    ----------
    sums : (traces, days + 1) array
        One of a clock's sums. [°C d]
    day : (..., traces) array
        Days from the first day.

    Returns
    -------
    (..., traces) array
        [°C d]; +inf where the day is +inf, NaN where it is NaN or not covered.
    """
    last = sums.shape[1] - 1
    covered = (day >= 0) & (day <= last)
    inside = np.where(covered, day, 0.0)
    whole = np.minimum(inside.astype(np.intp), last - 1)
    trace = np.arange(sums.shape[0])
    begin, end = sums[trace, whole], sums[trace, whole + 1]
    value = begin + (inside - whole) * (end - begin)
    beyond = np.where(np.isposinf(day), np.inf, np.nan)
    return np.where(covered, value, beyond)


def day_reached(sums: Floats, target: Floats) -> Floats:
    """The first fractional day at which a running sum reaches each target.

    Within a day the sum is taken to rise evenly.

    Parameters
    ----------
    sums : (traces, days + 1) array
        One of a clock's sums. [°C d]
    target : (traces, ...) array
        [°C d]

    Returns
    -------
    array of the shape of ``target``
        Days from the first day; +inf where the weather ends first; NaN where the
        target is NaN.
    """
    # Read backwards and negated, a flat stretch of cold days gives its first day.
    falling = -sums[:, ::-1]
    whole = np.arange(sums.shape[1] - 1, -1, -1, dtype=np.float64)
    found = np.empty(target.shape)
    for row, wanted, day in zip(falling, target, found, strict=True):
        day[...] = np.interp(-wanted, row, whole, left=np.inf)
    return found


def first_gap(missing: Bools, day: Floats) -> Floats:
    """Start of the first missing day on or after a day.

    Parameters
    ----------
    missing : (traces, days) array
        A clock's missing days.
    day : (paddocks,) array
        Whole days from the first, at most the number of days; not NaN.

    Returns
    -------
    (paddocks, traces) array
        Days from the first day, +inf where no day is missing.
    """
    at = np.where(missing, np.arange(missing.shape[1], dtype=np.float64), np.inf)
    coming = np.full((at.shape[0], at.shape[1] + 1), np.inf)
    coming[:, :-1] = np.minimum.accumulate(at[:, ::-1], axis=1)[:, ::-1]
    return coming[:, day.astype(np.intp)].T


def _sum(daily: Floats) -> Floats:
    sums = np.zeros((daily.shape[0], daily.shape[1] + 1))
    np.cumsum(daily, axis=1, out=sums[:, 1:])
    return sums
