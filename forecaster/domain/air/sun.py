"""The sun over a place: elevation, sunrise, sunset and the clock they give each hour.

The low-precision formula of the Astronomical Almanac, good to about 0.01° and a few
seconds of sunrise this century. All times are UTC.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from forecaster.domain.weather import Floats, Times

HORIZON: Final = -0.8333
"""[°] Elevation of the sun's centre when its upper edge shows: 34' of refraction and
16' of half-width. Source: convention of the Nautical Almanac Office and of Reda,
Andreas (2004), Solar Energy 76, 577-589; published, seen in excerpt."""

_NOON_2000: Final = np.datetime64("2000-01-01T12:00:00", "s")
"""Start of the almanac's day count, Julian date 2451545.0."""

_DAY_SECONDS: Final = 86400.0
_DEGREES_A_DAY: Final = 360.98564736629
"""[°/d] Turn of the earth against the stars. Source: IAU 1982 sidereal time; from
memory."""

_NEAREST_STEPS: Final = 4
"""Corrections of a sunrise; each leaves about a hundredth of the error before it."""


def _almanac_days(time: Times) -> Floats:
    """Days since noon UTC on 1 January 2000; NaN for NaT."""
    days: Floats = (time - _NOON_2000) / np.timedelta64(1, "D")
    return days


def _sun(days: Floats) -> tuple[Floats, Floats]:
    """Declination [rad] and Greenwich hour angle [°] of the sun.

    Astronomical Almanac, page C24, as in Michalsky (1988), Solar Energy 40, 227-235.
    Mark: from memory; held to two ephemeris libraries by the tests.
    """
    anomaly = np.radians(357.528 + 0.9856003 * days)
    longitude = np.radians(
        280.460
        + 0.9856474 * days
        + 1.915 * np.sin(anomaly)
        + 0.020 * np.sin(2.0 * anomaly)
    )
    obliquity = np.radians(23.439 - 4e-7 * days)
    declination = np.arcsin(np.sin(obliquity) * np.sin(longitude))
    ascension = np.arctan2(np.cos(obliquity) * np.sin(longitude), np.cos(longitude))
    sidereal = 280.46061837 + _DEGREES_A_DAY * days
    return declination, sidereal - np.degrees(ascension)


def elevation(time: Times, latitude: ArrayLike, longitude: ArrayLike) -> Floats:
    """Elevation of the sun's centre above the level horizon, without refraction.

    Parameters
    ----------
    time : array of datetime64, UTC, any shape
    latitude, longitude : arrays that broadcast with it
        [°] north and east positive.

    Returns
    -------
    array of the broadcast shape
        [°] −90 to 90. NaN for NaT or a NaN place.

    Notes
    -----
    Within 0.05° of a full ephemeris for 1950 to 2050. Ignores refraction, which lifts
    the sun by about 0.5° at the horizon, the observer's height and hills.
    """
    declination, hour_angle = _sun(_almanac_days(np.asarray(time)))
    north = np.radians(np.asarray(latitude, np.float64))
    turned = np.radians(hour_angle + np.asarray(longitude, np.float64))
    height = np.sin(north) * np.sin(declination) + np.cos(north) * np.cos(
        declination
    ) * np.cos(turned)
    result: Floats = np.degrees(np.arcsin(np.clip(height, -1.0, 1.0)))
    return result


def _times(days: Floats) -> Times:
    """Almanac days back to datetime64[s], NaN to NaT."""
    known = np.isfinite(days)
    seconds = np.rint(np.where(known, days, 0.0) * _DAY_SECONDS)
    times: Times = _NOON_2000 + seconds.astype("timedelta64[s]")
    return np.where(known, times, np.datetime64("NaT", "s"))


def _solar_noon(days: Times, longitude: ArrayLike) -> Floats:
    """Mean noon of the local solar days, in almanac days."""
    start = _almanac_days(np.asarray(days).astype("datetime64[s]"))
    return start + 0.5 - np.asarray(longitude, np.float64) / 360.0


def _crossing(noon: Floats, north: Floats, longitude: ArrayLike, side: int) -> Floats:
    """Almanac day on which the sun crosses the horizon before or after ``noon``.

    ``side`` is −1 for sunrise and 1 for sunset. NaN where it does not cross.
    """
    moment = noon
    for _ in range(_NEAREST_STEPS):
        declination, hour_angle = _sun(moment)
        across = np.sin(np.radians(HORIZON)) - np.sin(north) * np.sin(declination)
        cosine = across / (np.cos(north) * np.cos(declination))
        wanted = side * np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0)))
        reached = hour_angle + np.asarray(longitude, np.float64)
        miss = np.remainder(wanted - reached + 180.0, 360.0) - 180.0
        moment = moment + miss / _DEGREES_A_DAY
    return np.where(np.abs(cosine) <= 1.0, moment, np.nan)


def sunrise_sunset(
    days: Times, latitude: ArrayLike, longitude: ArrayLike
) -> tuple[Times, Times]:
    """Sunrise and sunset (UTC) of local solar days.

    A local solar day runs from midnight to midnight of mean solar time, which is UTC
    plus longitude / 15 h. The sunrise of an eastern day thus often falls on the UTC
    day before, and no civil time zone is involved.

    Parameters
    ----------
    days : array of datetime64[D]
        Local solar days.
    latitude, longitude : arrays that broadcast with it
        [°] north and east positive.

    Returns
    -------
    two arrays of datetime64[s], UTC
        The sunrise before and the sunset after that day's noon. NaT where the sun does
        not cross the horizon on that day.

    Notes
    -----
    Within 30 s between 45° south and 45° north. Ignores hills and height.
    """
    noon = _solar_noon(days, longitude)
    north = np.radians(np.asarray(latitude, np.float64))
    rise = _crossing(noon, north, longitude, -1)
    down = _crossing(noon, north, longitude, 1)
    return _times(rise), _times(down)


def hours_between(earlier: Times, later: Times) -> Floats:
    """Hours from ``earlier`` to ``later``; NaN where either is NaT."""
    hours: Floats = (later - earlier) / np.timedelta64(1, "h")
    return hours


def day_length(days: Times, latitude: ArrayLike, longitude: ArrayLike) -> Floats:
    """Hours from sunrise to sunset of local solar days.

    Parameters
    ----------
    days, latitude, longitude : arrays
        As for :func:`sunrise_sunset`.

    Returns
    -------
    array
        [h] 0 where the sun stays down, 24 where it stays up, NaN for NaT or a NaN
        place.
    """
    sunrise, sunset = sunrise_sunset(days, latitude, longitude)
    noon = elevation(_times(_solar_noon(days, longitude)), latitude, longitude)
    without = np.where(noon > HORIZON, 24.0, np.where(np.isnan(noon), np.nan, 0.0))
    hours = hours_between(sunrise, sunset)
    return np.where(np.isnan(hours), without, hours)


@dataclass(frozen=True, slots=True)
class SunClock:
    """Where each hour stands in its day; every array has the shape of ``time``.

    previous ≤ time < next. NaT where there is no such event within about a day.
    """

    time: Times
    """UTC, datetime64[s]."""
    elevation: Floats
    """[°] of the sun's centre at ``time``, without refraction."""
    previous_sunrise: Times
    """UTC, datetime64[s], as are the three below."""
    next_sunrise: Times
    previous_sunset: Times
    next_sunset: Times


def _around(time: Times, events: Times) -> tuple[Times, Times]:
    """Last of ``events`` at or before ``time`` and first after it, by column."""
    nowhere = np.datetime64("NaT", "s")
    before = np.where(events <= time, events, nowhere)
    after = np.where(events > time, events, nowhere)
    return np.fmax.reduce(before, axis=0), np.fmin.reduce(after, axis=0)


def sun_clock(time: Times, latitude: float, longitude: float) -> SunClock:
    """The sun's clock at one place.

    Parameters
    ----------
    time : (n,) array of datetime64
        UTC.
    latitude, longitude : float
        [°] north and east positive.

    Returns
    -------
    SunClock
        Events are sought among the sunrises and sunsets of the local solar day, the
        one before and the one after, so an hour's answer does not depend on which
        other hours are asked for.
    """
    moments = np.asarray(time).astype("datetime64[s]")
    offset = np.timedelta64(round(longitude / 360.0 * _DAY_SECONDS), "s")
    local_days = (moments + offset).astype("datetime64[D]")
    days, place = np.unique(local_days, return_inverse=True)
    near = days + np.array([[-1], [0], [1]])
    sunrise, sunset = sunrise_sunset(near, latitude, longitude)
    previous_sunrise, next_sunrise = _around(moments, sunrise[:, place])
    previous_sunset, next_sunset = _around(moments, sunset[:, place])
    return SunClock(
        time=moments,
        elevation=elevation(moments, latitude, longitude),
        previous_sunrise=previous_sunrise,
        next_sunrise=next_sunrise,
        previous_sunset=previous_sunset,
        next_sunset=next_sunset,
    )
