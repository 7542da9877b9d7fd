"""What the night has done so far: wind throughout, and warming since the minimum."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from forecaster.domain.weather import HOUR

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from forecaster.domain.air.sun import SunClock
    from forecaster.domain.weather import Bools, Floats, Times

WINDY: Final = 11.0 / 3.6
"""[m/s] 11 km/h at 10 m; an inversion is not expected if it blows harder than this from
sunset to sunrise. Source: Summer Weed Control Best Practice Guide (2016) and an
irrigation newsletter (2017) p. 33; published, seen in excerpt."""

NIGHT_EDGE: Final = 1.0
"""[h] Night runs from this long before sunset to this long after sunrise. Source:
Pasquill (1961) as given by NOAA; published, seen in excerpt."""


def windy_night(wind_speed: Floats, clock: SunClock) -> Bools:
    """Whether it has blown at 11 km/h or more in every hour of this night so far.

    Parameters
    ----------
    wind_speed : (..., n) array
        [m/s] at 10 m.
    clock : SunClock
        Of the same n hours, one hour apart.

    Returns
    -------
    (..., n) array of bool
        From the hour that holds the moment 1 h before sunset up to this hour; by day,
        since the evening before. False where any of it is missing or before the start.
    """
    edge = np.timedelta64(int(NIGHT_EDGE * 3600), "s")
    reached = clock.next_sunset <= clock.time + HOUR + edge
    sunset: Times = np.where(reached, clock.next_sunset, clock.previous_sunset)
    dusk = sunset - edge
    first = np.searchsorted(clock.time, dusk - HOUR, side="left")
    known = clock.time[:1] <= dusk
    calm = np.cumsum(~(wind_speed >= WINDY), axis=-1)
    before = np.concatenate([np.zeros_like(calm[..., :1]), calm], axis=-1)
    windy: Bools = known & (calm - before[..., first] == 0)
    return windy


def _nights(clock: SunClock) -> NDArray[np.intp]:
    """A number for each hour that grows by one at every sunset."""
    turned = clock.previous_sunset[1:] != clock.previous_sunset[:-1]
    return np.concatenate([np.zeros_like(clock.time[:1], np.intp), np.cumsum(turned)])


def risen_since_minimum(air_temperature: Floats, clock: SunClock) -> Floats:
    """How far each hour is above the lowest temperature known since the last sunset.

    Parameters
    ----------
    air_temperature : (..., n) array
        [°C]
    clock : SunClock
        Of the same n hours.

    Returns
    -------
    (..., n) array
        [K] Zero or more. Hours missing from the night can only make it smaller. NaN
        where this hour's temperature is missing.
    """
    # Each night is shifted far below the one before it, so that a running minimum
    # over the whole table starts afresh at every sunset.
    shift = 1000.0 * _nights(clock)
    lowered = np.where(np.isnan(air_temperature), np.inf, air_temperature) - shift
    minimum = np.minimum.accumulate(lowered, axis=-1) + shift
    risen: Floats = air_temperature - minimum
    return risen
