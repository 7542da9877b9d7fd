"""The sun against the published algorithm's examples and two ephemeris libraries."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from forecaster.domain.air.sun import (
    HORIZON,
    day_length,
    elevation,
    hours_between,
    sun_clock,
    sunrise_sunset,
)

SITES = {
    "Adelaide": (-34.93, 138.60),
    "Melbourne": (-37.81, 144.96),
    "Hobart": (-42.88, 147.33),
    "Perth": (-31.95, 115.86),
    "Brisbane": (-27.47, 153.03),
    "Lord Howe": (-31.55, 159.08),
}
YEAR = np.arange("2026-01-01", "2027-01-01", dtype="datetime64[D]")
at_each_site = pytest.mark.parametrize("place", SITES.values(), ids=SITES.keys())


def _pvlib_elevation(time: np.ndarray, place: tuple[float, float]) -> np.ndarray:
    """Geometric elevation by the NREL algorithm in pvlib."""
    import pandas as pd
    import pvlib

    moments = pd.DatetimeIndex(time, tz="UTC")
    position = pvlib.solarposition.get_solarposition(moments, *place)
    return np.asarray(position["elevation"], dtype=np.float64)


def test_published_elevation(check_values: Any) -> None:
    """The worked example of the NREL algorithm is met within 0.02°."""
    for check in check_values("air_sun_elevation"):
        time = np.array([check.inputs["time"]], dtype="datetime64[s]")
        place = check.number("latitude"), check.number("longitude")
        assert check.agrees(elevation(time, *place)[0]), check.label


def test_published_sunrise_and_sunset(check_values: Any) -> None:
    """Published sunrises and sunsets at 35° south are met within 10 s."""
    for check in check_values("air_sunrise_sunset"):
        day = np.array([check.inputs["day"]], dtype="datetime64[D]")
        place = check.number("latitude"), check.number("longitude")
        events = dict(
            zip(("sunrise", "sunset"), sunrise_sunset(day, *place), strict=True)
        )
        miss = events[check.inputs["event"]][0] - np.datetime64(check.expected, "s")
        assert abs(miss.astype(int)) <= check.tolerance, check.label


@at_each_site
def test_elevation_through_a_year(place: tuple[float, float]) -> None:
    """Elevation is within 0.05° of pvlib's NREL algorithm all year, day and night."""
    time = np.arange("2026-01-01", "2027-01-01", 7 * 3600, dtype="datetime64[s]")
    error = np.abs(elevation(time, *place) - _pvlib_elevation(time, place))
    assert error.max() < 0.05


@at_each_site
def test_sunrise_and_sunset_through_a_year(place: tuple[float, float]) -> None:
    """Within 30 s of each sunrise and sunset pvlib's sun crosses the horizon.

    pvlib's own daily helper works on UTC days and misses eastern sunrises by up to
    100 s, so its elevation is asked for on either side of our time instead.
    """
    sunrise, sunset = sunrise_sunset(YEAR, *place)
    half_minute = np.timedelta64(30, "s")
    assert np.all(_pvlib_elevation(sunrise - half_minute, place) < HORIZON)
    assert np.all(_pvlib_elevation(sunrise + half_minute, place) > HORIZON)
    assert np.all(_pvlib_elevation(sunset - half_minute, place) > HORIZON)
    assert np.all(_pvlib_elevation(sunset + half_minute, place) < HORIZON)


@at_each_site
def test_ephemeris_sunrise_and_sunset(place: tuple[float, float]) -> None:
    """PyEphem's sunrise, sunset and day length are met within 30 s all year.

    PyEphem adds the sun's half-width itself unless told to use its centre.
    """
    import ephem

    observer = ephem.Observer()
    observer.lat, observer.lon = (str(degrees) for degrees in place)
    observer.horizon, observer.pressure = "-0:50", 0.0
    days = YEAR[::3]
    sunrise, sunset = sunrise_sunset(days, *place)
    lengths = day_length(days, *place)
    for rise, down, length in zip(sunrise, sunset, lengths, strict=True):
        middle = rise + (down - rise) // 2
        observer.date = ephem.Date(middle.astype("datetime64[ms]").item())
        sun = ephem.Sun()
        before = observer.previous_rising(sun, use_center=True).datetime()
        after = observer.next_setting(sun, use_center=True).datetime()
        assert abs((rise - np.datetime64(before, "s")).astype(int)) <= 30
        assert abs((down - np.datetime64(after, "s")).astype(int)) <= 30
        assert abs(length - (after - before).total_seconds() / 3600.0) <= 60 / 3600


@at_each_site
def test_local_solar_day(place: tuple[float, float]) -> None:
    """Sunrise and sunset fall on the named day of mean solar time, not of UTC."""
    offset = np.timedelta64(round(place[1] * 240.0), "s")
    for events in sunrise_sunset(YEAR, *place):
        assert np.array_equal((events + offset).astype("datetime64[D]"), YEAR)


def test_days_without_sunrise() -> None:
    """At 80° north midsummer has 24 h of sun, midwinter none, neither an event."""
    days = np.array(["2026-06-21", "2026-12-21", "NaT"], dtype="datetime64[D]")
    sunrise, sunset = sunrise_sunset(days, 80.0, 0.0)
    assert np.all(np.isnat(sunrise))
    assert np.all(np.isnat(sunset))
    assert day_length(days, 80.0, 0.0).tolist()[:2] == [24.0, 0.0]
    assert np.isnan(day_length(days, 80.0, 0.0)[2])


def test_clock_brackets_every_hour() -> None:
    """The sun is up exactly when the last event was a sunrise, by pvlib's elevation."""
    place = SITES["Adelaide"]
    time = np.arange("2026-10-01", "2026-10-08", 3600, dtype="datetime64[s]")
    clock = sun_clock(time, *place)
    up = clock.previous_sunrise > clock.previous_sunset
    assert np.array_equal(up, _pvlib_elevation(time, place) > HORIZON)
    assert np.array_equal(up, clock.next_sunset < clock.next_sunrise)
    for previous, following in (
        (clock.previous_sunrise, clock.next_sunrise),
        (clock.previous_sunset, clock.next_sunset),
    ):
        assert np.all(previous <= time)
        assert np.all(following > time)
        assert np.all(np.abs(hours_between(previous, following) - 24.0) < 0.1)


def test_an_event_on_the_hour_is_past() -> None:
    """At the very second of sunrise the sunrise is the previous one."""
    sunrise = sunrise_sunset(YEAR[:1], -35.0, 140.0)[0]
    assert np.array_equal(sun_clock(sunrise, -35.0, 140.0).previous_sunrise, sunrise)


def test_an_hour_does_not_depend_on_its_neighbours() -> None:
    """One hour alone has the clock it has inside a year."""
    time = np.arange("2026-01-01", "2026-03-01", 3600, dtype="datetime64[s]")
    whole, single = (sun_clock(t, -35.0, 140.0) for t in (time, time[700:701]))
    assert np.array_equal(whole.next_sunrise[700:701], single.next_sunrise)
    assert np.array_equal(whole.previous_sunset[700:701], single.previous_sunset)


def test_polar_and_missing_hours() -> None:
    """No event within reach and a missing time both give NaT; no hours give none."""
    time = np.array(["2026-12-21T00", "NaT"], dtype="datetime64[s]")
    clock = sun_clock(time, 80.0, 20.0)
    for events in (clock.previous_sunrise, clock.next_sunset):
        assert np.all(np.isnat(events))
    assert clock.elevation[0] < 0.0
    assert np.isnan(clock.elevation[1])
    assert sun_clock(time[:0], -35.0, 140.0).elevation.shape == (0,)
