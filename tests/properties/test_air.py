"""What must hold of the air whatever the weather."""

from __future__ import annotations

import math
from dataclasses import fields, replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.optimize import brentq

from forecaster.domain.air.delta_t import (
    delta_t,
    delta_t_from_dew_point,
    dew_point,
    relative_humidity,
    wet_bulb,
)
from forecaster.domain.air.inversion import LOW, HourAir, risk
from forecaster.domain.air.rain import (
    chance_ahead,
    dry_hours_ahead,
    hours_since_rain,
    rain_ahead,
    rain_before,
)
from forecaster.domain.air.stability import srdt_class_day, turner_class
from forecaster.domain.air.sun import HORIZON, elevation, sun_clock, sunrise_sunset
from forecaster.domain.air.wind import (
    downwind_bearing,
    exposed_directions,
    exposure,
    speed_at_height,
)

NAN = float("nan")
farm_temperature = st.floats(-5.0, 45.0)
temperature = st.floats(-40.0, 60.0)
humidity = st.floats(0.0, 100.0)
pressure = st.floats(500.0, 1100.0)
latitude, longitude = st.floats(-60.0, 60.0), st.floats(-180.0, 180.0)
seconds = st.integers(0, 30 * 366 * 86400)
showers = arrays(
    np.float64,
    st.integers(0, 40),
    elements=st.sampled_from([0.0, 0.0, 0.0, 0.1, 0.2, 1.5, NAN]),
)


def _saturation(celsius: float) -> float:
    """ASHRAE (2017) ch. 1 eq. 6 over water [Pa], coefficients as in PsychroLib."""
    kelvin = celsius + 273.15
    return math.exp(
        -5.8002206e3 / kelvin
        + 1.3914993
        - 4.8640239e-2 * kelvin
        + 4.1764768e-5 * kelvin**2
        - 1.4452093e-8 * kelvin**3
        + 6.5459673 * math.log(kelvin)
    )


def _handbook_wet_bulb(dry: float, share: float, pascal: float) -> float:
    """Root of ASHRAE (2017) ch. 1 eq. 33 as printed, by SciPy's bracketing solver."""

    def ratio(vapour: float) -> float:
        return 0.621945 * vapour / (pascal - vapour)

    def surplus(wet: float) -> float:
        moist = (2501.0 - 2.326 * wet) * ratio(_saturation(wet)) - 1.006 * (dry - wet)
        return moist / (2501.0 + 1.86 * dry - 4.186 * wet) - ratio(
            share * _saturation(dry)
        )

    return float(brentq(surplus, dry - 60.0, dry + 1e-6, xtol=1e-10))


@given(temperature, humidity, pressure)
def test_wet_bulb_is_the_root_of_the_handbook_equation(
    dry: float, moist: float, air: float
) -> None:
    """The fixed steps reach the root a bracketing solver finds, anywhere in range."""
    reference = _handbook_wet_bulb(dry, moist / 100.0, air * 100.0)
    assert wet_bulb(dry, moist, air) == pytest.approx(reference, abs=3e-4)


@given(farm_temperature, humidity, st.floats(850.0, 1050.0))
def test_wet_bulb_on_a_farm_is_closer_still(
    dry: float, moist: float, air: float
) -> None:
    """In farm weather the fixed steps are within 2e-5 K of that root."""
    reference = _handbook_wet_bulb(dry, moist / 100.0, air * 100.0)
    assert wet_bulb(dry, moist, air) == pytest.approx(reference, abs=2e-5)


@given(farm_temperature, st.floats(1.0, 100.0), st.floats(850.0, 1050.0))
def test_wet_bulb_lies_between_dew_point_and_dry_bulb(
    dry: float, moist: float, air: float
) -> None:
    """Dew point ≤ wet bulb ≤ dry bulb, so Delta T is never negative."""
    wet = wet_bulb(dry, moist, air)
    assert dew_point(dry, moist) - 1e-4 <= wet <= dry
    assert delta_t(dry, moist, air) >= 0.0


@given(farm_temperature, humidity, humidity, st.floats(850.0, 1050.0))
def test_drier_air_has_more(dry: float, one: float, two: float, air: float) -> None:
    """Less humidity never means a smaller Delta T; nor does less pressure."""
    less, more = sorted((one, two))
    assert delta_t(dry, less, air) >= delta_t(dry, more, air) - 1e-4
    assert delta_t(dry, less, air - 50.0) >= delta_t(dry, less, air) - 1e-4


@given(st.floats(-30.0, 60.0), st.floats(5.0, 100.0))
def test_dew_point_is_the_inverse(dry: float, moist: float) -> None:
    """The humidity of a dew point of a humidity is that humidity."""
    again = relative_humidity(dry, dew_point(dry, moist))
    assert again == pytest.approx(moist, rel=1e-6)


@given(farm_temperature, st.floats(1.0, 100.0), st.floats(850.0, 1050.0))
def test_both_doors_give_one_value(dry: float, moist: float, air: float) -> None:
    """Delta T from the dew point is Delta T from the humidity."""
    through = delta_t_from_dew_point(dry, dew_point(dry, moist), air)
    assert through == pytest.approx(delta_t(dry, moist, air), abs=1e-4)


@pytest.mark.parametrize("size", [1, 8191, 8192, 8193, 20000])
def test_blocks_leave_no_seam(size: int) -> None:
    """A value does not depend on how many others are worked with it; NaN stays put."""
    rng = np.random.default_rng(size)
    columns = rng.uniform(-5, 45, size), rng.uniform(0, 100, size), np.full(size, 990.0)
    columns[0][size // 2] = np.nan
    before = [column.copy() for column in columns]
    got = delta_t(*columns)
    assert np.flatnonzero(np.isnan(got)).tolist() == [size // 2]
    edges = [index for index in (0, 8190, 8191, 8192, size - 1) if index < size]
    for index in edges:
        alone = delta_t(*(column[index] for column in columns))
        assert got[index] == pytest.approx(float(alone), abs=1e-12, nan_ok=True)
    for column, kept in zip(columns, before, strict=True):
        assert np.array_equal(column, kept, equal_nan=True)


@given(seconds, latitude, longitude)
def test_sunrise_is_where_the_sun_is_at_the_horizon(
    second: int, north: float, east: float
) -> None:
    """The elevation at every sunrise and sunset found is −0.8333°."""
    day = np.array([second // 86400]).astype("datetime64[D]") + 10957
    for events in sunrise_sunset(day, north, east):
        assert not np.isnat(events[0])
        assert elevation(events, north, east)[0] == pytest.approx(HORIZON, abs=0.01)


@given(st.integers(0, 8760), st.floats(-90.0, 90.0), longitude)
def test_clock_is_in_order(hour: int, north: float, east: float) -> None:
    """Every event named is on its own side of the hour, at any place on earth."""
    time = np.datetime64("2026-01-01", "s") + np.arange(hour, hour + 3) * 3600
    clock = sun_clock(time, north, east)
    assert np.all(np.abs(clock.elevation) <= 90.0)
    for past in (clock.previous_sunrise, clock.previous_sunset):
        assert np.all((past <= time) | np.isnat(past))
    for coming in (clock.next_sunrise, clock.next_sunset):
        assert np.all((coming > time) | np.isnat(coming))


@given(st.floats(0.0, 40.0), st.floats(0.5, 80.0), st.floats(0.5, 80.0))
def test_wind_up_and_down_again(speed: float, one: float, two: float) -> None:
    """Taken to another height and back the wind is what it was; higher is windier."""
    there = speed_at_height(speed, one, two)
    assert speed_at_height(there, two, one) == pytest.approx(speed)
    assert (there >= speed) == (two >= one) or speed == 0.0 or math.isclose(one, two)


@given(
    st.lists(st.floats(0.0, 360.0), max_size=6), st.floats(0.5, 179.5), st.integers(0)
)
def test_exposed_is_plain_geometry(
    bearings: list[float], half_angle: float, direction: int
) -> None:
    """A direction is exposed exactly if two arrows are close enough in angle."""
    direction %= 360
    toward = math.radians(direction + 180.0)
    arrow = np.array([math.sin(toward), math.cos(toward)])
    angles = [
        math.degrees(
            math.acos(
                np.clip(arrow @ [math.sin(radians), math.cos(radians)], -1.0, 1.0)
            )
        )
        for radians in np.radians(bearings)
    ]
    if any(abs(angle - half_angle) < 1e-4 for angle in angles):
        return
    expected = any(angle <= half_angle for angle in angles)
    exposed = exposed_directions(bearings, half_angle)
    assert exposed[direction] == expected
    assert exposure(float(direction), exposed) == float(expected)
    assert downwind_bearing(float(direction)) == (direction + 180) % 360


@given(showers, st.integers(0, 8))
def test_rain_windows_by_counting(rain: np.ndarray, hours: int) -> None:
    """Totals and counts are those of looking at each hour in turn."""
    kept = rain.copy()
    ahead, before = rain_ahead(rain, hours), rain_before(rain, hours)
    dry, since = dry_hours_ahead(rain), hours_since_rain(rain)
    for t in range(rain.size):
        window = rain[t : t + hours + 1]
        total = float(np.sum(window)) if window.size == hours + 1 else NAN
        assert ahead[t] == pytest.approx(total, nan_ok=True)
        past = float(np.sum(rain[t - hours : t])) if t >= hours else NAN
        if hours:
            assert before[t] == pytest.approx(past, nan_ok=True)
        run = 0
        while t + run + 1 < rain.size and rain[t + run + 1] < 0.2:
            run += 1
        assert dry[t] == run
        back = 0
        while back <= t and rain[t - back] < 0.2:
            back += 1
        known = back <= t and rain[t - back] >= 0.2
        assert since[t] == pytest.approx(float(back) if known else NAN, nan_ok=True)
    assert np.array_equal(rain, kept, equal_nan=True)


@given(showers, st.integers(0, 39), st.integers(0, 8))
def test_more_rain_never_makes_more_dry_hours(
    rain: np.ndarray, at: int, hours: int
) -> None:
    """Rain added, or knowledge taken away, never lengthens a dry run."""
    if at >= rain.size:
        return
    for value in (5.0, NAN):
        wetter = rain.copy()
        wetter[at] = value
        assert np.all(dry_hours_ahead(wetter) <= dry_hours_ahead(rain))
    missing = np.isnan(rain_ahead(wetter, hours))
    assert np.all(missing | ~np.isnan(rain_ahead(rain, hours)))


@given(arrays(np.float64, st.integers(1, 30), elements=st.floats(0, 100)))
def test_chance_bounds_are_bounds(chance: np.ndarray) -> None:
    """0 ≤ lower ≤ upper ≤ 100, and both grow with the window."""
    one = chance_ahead(chance, 1)
    two = chance_ahead(chance, 2)
    for lower, upper in (one, two):
        known = ~np.isnan(lower)
        assert np.all(lower[known] >= 0.0)
        assert np.all(upper[known] >= lower[known])
        assert np.all(upper[known] <= 100.0 + 1e-9)
    for short, long in zip(one, two, strict=True):
        known = ~np.isnan(long)
        assert np.all(long[known] >= short[known] - 1e-9)


@given(st.floats(0.0, 20.0), st.floats(0.0, 20.0), st.integers(-2, 0))
def test_more_wind_is_never_more_stable_at_night(
    one: float, two: float, index: int
) -> None:
    """At night a stronger wind never means a more stable class."""
    less, more = sorted((one, two))
    assert turner_class(more, index) <= turner_class(less, index)


@given(st.floats(0.0, 20.0), st.floats(0.0, 1200.0), st.floats(0.0, 1200.0))
def test_more_sun_is_never_more_stable(wind: float, one: float, two: float) -> None:
    """By day more radiation never means a more stable class."""
    less, more = sorted((one, two))
    assert srdt_class_day(wind, more) <= srdt_class_day(wind, less)


def _or_unknown(values: st.SearchStrategy[float]) -> st.SearchStrategy[float]:
    return st.one_of(st.just(NAN), values)


shares = st.sampled_from([0.0, 0.3, 0.4, 0.41, 0.6, 7 / 8, 0.95, 1.0])
warmth = st.floats(-5.0, 35.0)
hour_airs = st.fixed_dictionaries(
    {
        "wind_speed": st.floats(0.0, 12.0),
        "air_temperature": warmth,
        "air_temperature_80m": _or_unknown(warmth),
        "dew_point": _or_unknown(warmth),
        "cloud": _or_unknown(shares),
        "low_cloud": _or_unknown(shares),
        "radiation": _or_unknown(st.floats(0.0, 1100.0)),
        "rain": _or_unknown(st.sampled_from([0.0, 0.1, 0.2, 4.0])),
        "elevation": _or_unknown(st.floats(-60.0, 80.0)),
        "hours_since_sunrise": _or_unknown(st.floats(0.0, 24.0)),
        "hours_since_sunset": _or_unknown(st.floats(0.0, 24.0)),
        "hours_to_sunset": _or_unknown(st.floats(-1.0, 24.0)),
        "windy_night": st.booleans(),
        "risen": _or_unknown(st.floats(0.0, 20.0)),
        "hollow": st.booleans(),
    }
).map(lambda values: HourAir(**{k: np.asarray(v) for k, v in values.items()}))
REASSURING = ("cloud", "low_cloud", "radiation", "rain", "risen", "elevation")


@given(hour_airs)
def test_risk_is_a_level(air: HourAir) -> None:
    """With a wind there is always one of three levels, and never a level without."""
    assert float(risk(air)) in {0.0, 1.0, 2.0}
    assert np.isnan(risk(replace(air, wind_speed=np.asarray(NAN))))


@given(hour_airs, st.sampled_from(REASSURING))
def test_missing_news_never_reassures(air: HourAir, name: str) -> None:
    """Losing cloud, rain, radiation, warming or the sun's height never lowers risk."""
    without: dict[str, Any] = {name: np.asarray(NAN)}
    assert risk(replace(air, **without)) >= risk(air)


@given(hour_airs)
def test_a_missing_gradient_never_clears(air: HourAir) -> None:
    """Without the 80 m temperature the risk is no lower than in fully mixed air."""
    mixed = replace(air, air_temperature_80m=air.air_temperature - 1.0)
    unknown = replace(air, air_temperature_80m=np.asarray(NAN))
    assert risk(unknown) >= risk(mixed)


@given(hour_airs)
def test_a_clear_night_is_never_low(air: HourAir) -> None:
    """With 4/10 cloud or less, or cloud unknown, no night hour is low."""
    clear = replace(
        air,
        cloud=np.fmin(air.cloud, 0.4),
        hours_since_sunrise=np.asarray(15.0),
        hours_since_sunset=np.asarray(3.0),
    )
    assert risk(clear) > LOW


@given(hour_airs, st.floats(0.0, 12.0))
def test_more_wind_never_raises_the_risk(air: HourAir, wind: float) -> None:
    """With all else equal a windier hour is never riskier."""
    windier = replace(air, wind_speed=np.maximum(air.wind_speed, wind))
    assert risk(windier) <= risk(air)


@given(hour_airs, st.floats(0.0, 10.0))
def test_a_warmer_layer_above_never_lowers_the_risk(air: HourAir, more: float) -> None:
    """Warmer air at 80 m is never less risky; nor is a hollow."""
    warmer = replace(air, air_temperature_80m=air.air_temperature_80m + more)
    assert risk(warmer) >= risk(air)
    assert risk(replace(air, hollow=np.asarray(True))) >= risk(air)


@given(hour_airs)
def test_hours_are_judged_apart(air: HourAir) -> None:
    """An hour inside an array of members by hours has the risk it has alone."""
    stacked = HourAir(
        **{
            each.name: np.broadcast_to(getattr(air, each.name), (2, 3))
            for each in fields(HourAir)
        }
    )
    assert np.all(risk(stacked) == risk(air))
