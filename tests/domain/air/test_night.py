"""What a night has done so far, over made-up nights with an outside sun."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from forecaster.domain.air.inversion import hour_air, risk
from forecaster.domain.air.night import risen_since_minimum, windy_night
from forecaster.domain.air.sun import SunClock, sun_clock

PLACE = (-35.0, 138.6)
HOURS = np.arange("2026-09-14T21", "2026-09-17T21", 3600, dtype="datetime64[s]")
"""Three days from about 06:30 local. On these days the sun sets between 08:30 and 08:45
UTC and rises between 20:30 and 21:00 UTC (held to pvlib and PyEphem in test_sun)."""


def _clock() -> SunClock:
    return sun_clock(HOURS, *PLACE)


def _at(text: str) -> int:
    """Row of an hour in UTC."""
    return int(np.flatnonzero(np.datetime64(f"2026-09-{text}", "s") == HOURS)[0])


def test_windy_from_before_sunset() -> None:
    """Sunset −1 h falls in the hour of 07 UTC: from there every hour must be windy."""
    wind = np.full(HOURS.size, 2.0)
    wind[_at("15T07") : _at("15T20")] = 4.0
    windy = windy_night(wind, _clock())
    assert windy[_at("15T07") : _at("15T20")].all()
    assert not windy[_at("15T20")]
    wind[_at("15T07")] = 3.0
    assert not windy_night(wind, _clock())[_at("15T07") : _at("15T21")].any()


def test_an_hour_ending_as_the_night_starts_counts() -> None:
    """The hour of 06 UTC is over before sunset −1 h and need not be windy."""
    wind = np.full(HOURS.size, 4.0)
    wind[_at("15T06")] = 0.5
    assert windy_night(wind, _clock())[_at("15T07") : _at("16T05")].all()


def test_a_calm_or_missing_hour_ends_a_windy_night() -> None:
    """One calm or unknown hour in the night spoils the rest of that night only."""
    for hole in (1.0, np.nan):
        wind = np.full(HOURS.size, 5.0)
        wind[_at("15T12")] = hole
        windy = windy_night(wind, _clock())
        assert windy[_at("15T08") : _at("15T12")].all()
        assert not windy[_at("15T12") : _at("15T22")].any()
        assert windy[_at("16T07") : _at("16T20")].all()


def test_a_night_whose_start_is_not_seen_is_not_windy() -> None:
    """A table that starts at midnight cannot say it blew since sunset."""
    begin = _at("15T14")
    clock = sun_clock(HOURS[begin:], *PLACE)
    windy = windy_night(np.full(clock.time.size, 9.0), clock)
    assert not windy[: _at("15T22") - begin].any()
    assert windy[_at("16T08") - begin]


def test_members_are_judged_apart() -> None:
    """Each member has its own night."""
    wind = np.full((2, HOURS.size), 5.0)
    wind[1, _at("15T12")] = 0.0
    assert windy_night(wind, _clock())[:, _at("15T18")].tolist() == [True, False]


def test_no_sunset_no_windy_night() -> None:
    """In polar day nothing says when the night began."""
    time = np.datetime64("2026-06-21", "s") + 3600 * np.arange(24)
    clock = sun_clock(time, 80.0, 0.0)
    assert not windy_night(np.full(24, 9.0), clock).any()


def test_rise_since_the_minimum_of_this_night() -> None:
    """The minimum is that since the last sunset, not of the day or night before."""
    temperature = np.full(HOURS.size, 15.0)
    temperature[_at("15T19")] = 2.0
    temperature[_at("16T19")] = 7.0
    risen = risen_since_minimum(temperature, _clock())
    assert risen[_at("15T18")] == 0.0
    assert risen[_at("15T22")] == pytest.approx(13.0)
    # 08 UTC still belongs to the day; the sun sets within that hour.
    assert risen[_at("16T08")] == pytest.approx(13.0)
    assert risen[_at("16T09")] == pytest.approx(0.0)
    assert risen[_at("16T22")] == pytest.approx(8.0)


def test_missing_temperatures_only_shrink_the_rise() -> None:
    """If the coldest hours are missing the rise is smaller; a missing hour has none."""
    temperature = np.full(HOURS.size, 15.0)
    temperature[_at("15T18")] = 6.0
    temperature[_at("15T19")] = np.nan
    risen = risen_since_minimum(temperature, _clock())
    assert np.isnan(risen[_at("15T19")])
    assert risen[_at("15T22")] == pytest.approx(9.0)


def _weather(**changes: Any) -> SimpleNamespace:
    """Clear weather, 8 km/h of wind, in columns as a weather table has them."""
    columns: dict[str, Any] = {
        "wind_speed": 8 / 3.6,
        "air_temperature": 15.0,
        "air_temperature_80m": 14.0,
        "relative_humidity": 50.0,
        "cloud": 0.1,
        "low_cloud": 0.0,
        "radiation": 500.0,
        "rain": 0.0,
    }
    return SimpleNamespace(
        **{
            name: np.full(HOURS.size, value)
            for name, value in (columns | changes).items()
        }
    )


def test_phases_of_a_clear_day() -> None:
    """A clear day: night high up to 1 h after sunrise, shoulders, low by day.

    Sun at 20° about 1 h 40 min after this sunrise, so the morning ends after 2 h.
    """
    level = risk(hour_air(_weather(), _clock()))
    day = level[_at("15T20") : _at("16T09")]
    # hours 20 and 21 UTC: night; 22: shoulder; 23 to 05: day; 06 shoulder; 07 on night
    assert day.tolist() == [2, 2, 1, *[0] * 7, 1, 2, 2]


def test_hour_air_carries_what_it_derives() -> None:
    """Dew point, sun and hollow reach the rule; the frame's arrays are not changed."""
    weather = _weather(relative_humidity=100.0)
    air = hour_air(weather, _clock(), hollow=True)
    assert air.dew_point == pytest.approx(weather.air_temperature)
    assert air.hollow
    noon = _at("16T03")
    assert air.elevation[noon] > 45.0
    assert air.hours_since_sunrise[noon] + air.hours_to_sunset[noon] == pytest.approx(
        (_clock().next_sunset - _clock().previous_sunrise)[noon]
        / np.timedelta64(1, "h")
        - 1.0
    )


def test_no_hours_at_all() -> None:
    """A table of no hours passes through."""
    clock = sun_clock(HOURS[:0], *PLACE)
    empty = SimpleNamespace(**{k: v[:0] for k, v in vars(_weather()).items()})
    assert risk(hour_air(empty, clock)).shape == (0,)
