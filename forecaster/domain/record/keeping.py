"""How long topped feed keeps: weeks where it stays dry, days once it is soaked."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.planning.withholding import DAY
from forecaster.domain.record.after import days_after
from forecaster.domain.weather import HOUR

if TYPE_CHECKING:
    from collections.abc import Callable, Collection

    from forecaster.domain.record.after import AfterNumbers
    from forecaster.domain.weather import Floats, Times


class Soaked(StrEnum):
    """Whether a soaking came after a spray."""

    NO = "not soaked"
    FELL = "soaked"
    AHEAD = "a soaking is forecast"


@dataclass(frozen=True, slots=True)
class RainAfter:
    """Rain since a spray and ahead."""

    soaked: Soaked
    at: np.datetime64 | None
    """The hour in which the soaking is full, UTC; None where there is none."""
    fallen: float
    """[mm] known to have fallen since the spray."""
    gaps: int
    """Hours since the spray of which the rain is not known."""


@dataclass(frozen=True, slots=True)
class Keeping:
    """Between the days of ``held`` topped feed goes off, ``datetime64[D]``."""

    held: tuple[np.datetime64, np.datetime64]
    rain: RainAfter


def topped_at(
    finishes: Collection[np.datetime64], numbers: AfterNumbers
) -> np.datetime64:
    """The finish from which feed is counted, UTC, where there were several.

    A second pass makes no dead feed fresh: it is the first of those that lie no longer
    before the last than feed keeps at most.
    """
    longest = (round(numbers.held[1].value) * DAY).astype("timedelta64[s]")
    last = max(finishes)
    return min(each for each in finishes if last - each <= longest)


def rain_after(
    time: Times,
    rain: Floats,
    finish: np.datetime64,
    now: np.datetime64,
    numbers: AfterNumbers,
) -> RainAfter:
    """Look for the first soaking after ``finish``, in hours observed and forecast.

    Parameters
    ----------
    time, rain : (hours,) arrays
        UTC hours, each the start of its hour, and the rain in it [mm]; NaN unknown.
    finish, now : datetime64
        UTC. Hours that begin before ``now`` have fallen.
    numbers : AfterNumbers
        The rain of a soaking and the days it may take.

    Returns
    -------
    RainAfter
        An unknown hour counts as dry and as a gap: a soaking that is found is one,
        one that is not found may have fallen in a gap.
    """
    since = time + HOUR > finish
    hours, fell = time[since], rain[since]
    known = np.nan_to_num(fell, nan=0.0)
    past = hours < now
    wanted = int(max(0, np.ceil((now - finish) / HOUR)))
    gaps = max(0, wanted - int((past & np.isfinite(fell)).sum()))
    total = np.concatenate([[0.0], np.cumsum(known)])
    spell = max(1, round(numbers.soaking_within.value * 24))
    first = np.maximum(np.arange(1, total.size) - spell, 0)
    sums = np.round(total[1:] - total[first], 6)  # tenths do not add up exactly
    soaking = np.flatnonzero(sums >= numbers.soaking_rain.value)
    fallen = float(known[past].sum())
    if not soaking.size:
        return RainAfter(Soaked.NO, None, fallen, gaps)
    at = hours[soaking[0]]
    return RainAfter(Soaked.FELL if at < now else Soaked.AHEAD, at, fallen, gaps)


def keeping(
    sprayed: np.datetime64,
    rain: RainAfter,
    numbers: AfterNumbers,
    day_of: Callable[[np.datetime64], np.datetime64],
) -> Keeping:
    """How long feed sprayed on day ``sprayed`` keeps, given the rain since.

    ``day_of`` gives the local day of a moment.
    """
    worse, gone = days_after(sprayed, numbers.held)
    if rain.at is None:
        return Keeping((worse, gone), rain)
    end = day_of(rain.at) + round(numbers.held_after_soaking.value) * DAY
    return Keeping((min(worse, end), min(gone, end)), rain)
