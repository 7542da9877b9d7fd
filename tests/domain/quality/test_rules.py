"""Each rule against faults put into a sound table by hand.

The thresholds are the project's own or those named in docs/method/quality.md; a value
just on the sound side and one just on the other side of each is tried.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from forecaster.domain.quality.checked import check
from forecaster.domain.quality.flags import RULES, Done, Flag, done
from forecaster.domain.weather import QUANTITIES

if TYPE_CHECKING:
    from collections.abc import Callable

    from forecaster.domain.place import Place
    from forecaster.domain.weather import WeatherFrame

    Sound = Callable[..., WeatherFrame]


def test_a_sound_table_passes_unchanged(sound: Sound, place: Place) -> None:
    """Nothing is marked and every value stays."""
    frame = sound()
    checked = check(frame, place)
    assert checked.counts == {}
    assert not checked.clock_suspect
    assert checked.dew_point is None
    for name in QUANTITIES:
        before, after = getattr(frame, name), getattr(checked.frame, name)
        np.testing.assert_array_equal(before, after)
        assert checked.flags[name].dtype == np.uint16


def test_each_flag_has_one_bit_and_one_rule() -> None:
    """Bits are powers of two that fit sixteen, and RULES names each once."""
    assert [rule.flag for rule in RULES] == list(Flag)
    assert [int(flag) for flag in Flag] == [2**n for n in range(len(Flag))]
    assert max(Flag) < 2**16


@pytest.mark.parametrize(
    ("name", "fits", "fails"),
    [
        ("air_temperature", 55.0, 55.1),
        ("air_temperature", -25.0, -25.1),
        ("relative_humidity", 1.0, 0.9),
        ("relative_humidity", 100.0, 102.1),
        ("pressure", 850.0, 849.9),
        ("wind_speed", 6.9, 45.1),
        ("wind_gust", 80.0, 80.1),
        ("wind_from", 360.0, 361.0),
        ("rain", 120.0, 120.1),
        ("rain", 0.2, -0.2),
        ("cloud", 1.0, 1.1),
        ("radiation", 1400.0, 1401.0),
        ("radiation", 0.0, -21.0),
    ],
)
def test_range(
    sound: Sound, place: Place, name: str, fits: float, fails: float
) -> None:
    """The bound itself is inside; beyond it the value is removed and marked."""
    column = getattr(sound(), name).copy()
    column[12] = fits
    kept = check(sound(**{name: column}), place)
    assert not kept.where(name, Flag.OUT_OF_RANGE).any()
    column = column.copy()
    column[12] = fails
    checked = check(sound(**{name: column}), place, fill=False)
    assert np.flatnonzero(checked.where(name, Flag.OUT_OF_RANGE)).tolist() == [12]
    assert np.flatnonzero(np.isnan(getattr(checked.frame, name))).tolist() == [12]


def test_ends_of_the_scale_are_clipped(sound: Sound, place: Place) -> None:
    """101 % is saturation, −3 W/m² is night."""
    humidity, radiation = (
        sound().relative_humidity.copy(),
        sound().radiation.copy(),
    )
    humidity[5], radiation[1] = 101.0, -3.0
    checked = check(sound(relative_humidity=humidity, radiation=radiation), place)
    assert checked.frame.relative_humidity[5] == 100.0
    assert checked.frame.radiation[1] == 0.0
    assert checked.counts == {
        (Flag.CLIPPED, "relative_humidity"): 1,
        (Flag.CLIPPED, "radiation"): 1,
    }


def test_a_spike_goes_and_a_front_stays(sound: Sound, place: Place) -> None:
    """Down 20 K and up again is a fault; down 12 K and staying there is weather."""
    spike = sound().air_temperature.copy()
    spike[20] -= 20.0
    checked = check(sound(air_temperature=spike), place, fill=False)
    assert np.flatnonzero(checked.where("air_temperature", Flag.SPIKE)).tolist() == [20]
    assert np.isnan(checked.frame.air_temperature[20])
    assert np.isnan(checked.frame.relative_humidity[20])
    assert checked.counts[Flag.WITH_TEMPERATURE, "relative_humidity"] == 1
    assert (Flag.STEP, "air_temperature") not in checked.counts
    front = sound().air_temperature.copy()
    front[20:] -= 12.0
    checked = check(sound(air_temperature=front), place)
    assert checked.counts == {(Flag.STEP, "air_temperature"): 1}
    np.testing.assert_array_equal(checked.frame.air_temperature, front)


def test_an_upward_spike_goes_and_ends_cannot_be_told(
    sound: Sound, place: Place
) -> None:
    """The first and last hour have one neighbour only: a step at most."""
    pressure = sound().pressure.copy()
    pressure[[10, -1]] += 20.0
    checked = check(sound(pressure=pressure), place, fill=False)
    assert np.flatnonzero(checked.where("pressure", Flag.SPIKE)).tolist() == [10]
    assert np.flatnonzero(checked.where("pressure", Flag.STEP)).tolist() == [47]


def test_humidity_is_held_against_the_dew_point(sound: Sound, place: Place) -> None:
    """20 °C with a dew point of 9.26 °C is 50 %: 50 stays, 56 becomes 50, 70 goes.

    Published: dew point of 20 °C, 50 % from CoolProp 8 (HAPropsSI), asked here.
    """
    from CoolProp.HumidAirProp import HAPropsSI

    dew = HAPropsSI("D", "T", 293.15, "R", 0.5, "P", 101325.0) - 273.15
    air, humidity = sound().air_temperature.copy(), sound().relative_humidity.copy()
    dew_point = np.full(48, np.nan)
    air[10:14] = 20.0, 20.1, 20.0, 20.0
    humidity[10:14] = 50.0, 50.0, 56.0, 70.0
    dew_point[10:13] = dew
    dew_point[13] = dew
    frame = sound(air_temperature=air, relative_humidity=humidity)
    checked = check(frame, place, dew_point=dew_point)
    ours = checked.frame.relative_humidity
    assert ours[10] == 50.0
    assert ours[12] == pytest.approx(50.0, abs=0.3)
    assert np.isnan(ours[13])
    assert checked.counts == {
        (Flag.REWORKED, "relative_humidity"): 1,
        (Flag.DISAGREES, "relative_humidity"): 1,
    }


def test_a_dew_point_above_the_air_goes(sound: Sound, place: Place) -> None:
    """0.2 K above is two sensors in fog, 1 K is a fault."""
    frame = sound(relative_humidity=np.full(48, 99.5))
    dew_point = np.full(48, np.nan)
    dew_point[3] = frame.air_temperature[3] + 0.2
    dew_point[4] = frame.air_temperature[4] + 1.0
    checked = check(frame, place, dew_point=dew_point, fill=False)
    assert checked.counts == {(Flag.DEW_POINT_ABOVE_AIR, "dew_point"): 1}
    assert checked.dew_point is not None
    assert np.flatnonzero(~np.isnan(checked.dew_point)).tolist() == [3]


def test_a_removed_temperature_takes_the_dew_point_along(
    sound: Sound, place: Place
) -> None:
    """One probe, one fault."""
    air = sound().air_temperature.copy()
    air[7] = 99.0
    checked = check(sound(air_temperature=air), place, dew_point=np.full(48, 5.0))
    assert checked.where("dew_point", Flag.WITH_TEMPERATURE)[7]


@pytest.mark.parametrize(
    ("name", "noted", "fails"),
    [
        ("air_temperature", 8, 24),
        ("pressure", 12, 24),
        ("relative_humidity", None, 24),
    ],
)
def test_stuck(
    sound: Sound, place: Place, name: str, noted: int | None, fails: int
) -> None:
    """One hour short of each length passes."""
    for length in range(4, 30):
        column = getattr(sound(), name).copy()
        column[10 : 10 + length] = column[10] + 0.001
        checked = check(sound(**{name: column}), place, fill=False)
        stuck = checked.where(name, Flag.STUCK)
        long = checked.where(name, Flag.LONG_SAME)
        assert int(stuck.sum()) == (length if length >= fails else 0)
        is_noted = noted is not None and noted <= length < fails
        assert int(long.sum()) == (length if is_noted else 0)
        np.testing.assert_array_equal(np.isnan(getattr(checked.frame, name)), stuck)


def test_what_may_stay_the_same(sound: Sound, place: Place, psychrolib: Any) -> None:
    """Fog at 100 %, the standard pressure of the place, and steady wind of 5 m/s.

    The standard pressure at 100 m is 1001.29 hPa (ASHRAE Fundamentals 2017 ch. 1
    eq. 3, through PsychroLib).
    """
    at_site = psychrolib.GetStandardAtmPressure(100.0) / 100
    checked = check(
        sound(
            relative_humidity=np.full(48, 100.0),
            pressure=np.full(48, float(at_site)),
            wind_speed=np.full(48, 5.0),
        ),
        place,
    )
    assert checked.counts == {}


def test_no_wind_for_a_day_is_a_stuck_cup(sound: Sound, place: Place) -> None:
    """24 h of exactly 0 fails, 23 h passes."""
    wind, side = sound().wind_speed.copy(), np.full(48, np.nan)
    wind[5:28] = 0.0
    assert check(sound(wind_speed=wind, wind_from=side), place).counts == {}
    wind = wind.copy()
    wind[28] = 0.0
    checked = check(sound(wind_speed=wind, wind_from=side), place)
    assert checked.counts == {(Flag.STUCK, "wind_speed"): 24}


def test_temperature_and_humidity_frozen_together(sound: Sound, place: Place) -> None:
    """Eleven hours may be weather, twelve are not, unless the air is saturated."""
    for length, level, gone in [(11, 70.0, 0), (12, 70.0, 12), (12, 99.0, 0)]:
        air, humidity = sound().air_temperature.copy(), sound().relative_humidity.copy()
        air[3 : 3 + length], humidity[3 : 3 + length] = 10.0, level
        frame = sound(air_temperature=air, relative_humidity=humidity)
        checked = check(frame, place, fill=False)
        assert int(checked.where("air_temperature", Flag.STUCK).sum()) == gone
        assert int(checked.where("relative_humidity", Flag.STUCK).sum()) == gone
        assert int(np.isnan(checked.frame.air_temperature).sum()) == gone


def test_gust_and_calm(sound: Sound, place: Place) -> None:
    """A gust under the mean goes, the mean is marked; a calm has no side."""
    wind, gust = sound().wind_speed.copy(), sound().wind_gust.copy()
    gust[4], gust[5] = wind[4] - 0.1, wind[5] - 0.04
    wind[9], wind[10] = 0.29, 0.3
    checked = check(sound(wind_speed=wind, wind_gust=gust), place)
    assert checked.counts == {
        (Flag.GUST_BELOW_MEAN, "wind_gust"): 1,
        (Flag.GUST_BELOW_MEAN, "wind_speed"): 1,
        (Flag.CALM_DIRECTION, "wind_from"): 1,
    }
    assert np.isnan(checked.frame.wind_gust[4])
    assert checked.frame.wind_speed[4] == wind[4]
    assert np.flatnonzero(np.isnan(checked.frame.wind_from)).tolist() == [9]


@pytest.mark.parametrize(
    ("humidity", "cloud", "odd"),
    [(29.0, 0.1, 1), (29.0, np.nan, 1), (29.0, 0.2, 0), (30.0, 0.0, 0)],
)
def test_rain_from_dry_air(
    sound: Sound, place: Place, humidity: float, cloud: float, odd: int
) -> None:
    """Marked and kept, unless a cloud is known to be there."""
    rain, moist, sky = (
        sound().rain.copy(),
        sound().relative_humidity.copy(),
        sound().cloud.copy(),
    )
    rain[14], moist[14], sky[14] = 0.4, humidity, cloud
    checked = check(sound(rain=rain, relative_humidity=moist, cloud=sky), place)
    assert checked.counts.get((Flag.DRY_AIR_RAIN, "rain"), 0) == odd
    assert checked.frame.rain[14] == 0.4


def test_one_sunny_hour_of_the_night_is_a_fault_many_are_the_clock(
    sound: Sound, place: Place
) -> None:
    """21 W/m² at midnight goes; a table twelve hours off makes its clock suspect."""
    radiation = sound().radiation.copy()
    radiation[24] = 21.0
    radiation[0] = 20.0
    checked = check(sound(radiation=radiation), place)
    assert checked.counts == {(Flag.NIGHT_SUN, "radiation"): 1}
    assert np.isnan(checked.frame.radiation[24])
    assert not checked.clock_suspect
    turned = check(sound(radiation=np.roll(sound().radiation, 12)), place)
    assert turned.clock_suspect


@pytest.mark.parametrize("name", ["air_temperature", "pressure"])
def test_short_gaps_are_drawn_straight(sound: Sound, place: Place, name: str) -> None:
    """Three hours are, as pandas would; four are not, nor the open ends."""
    import pandas as pd

    column = getattr(sound(), name).copy()
    column[[0, 47]] = np.nan
    column[5:8] = np.nan
    column[20:24] = np.nan
    checked = check(sound(**{name: column}), place)
    drawn = pd.Series(column).interpolate(limit_area="inside").to_numpy(copy=True)
    drawn[20:24] = np.nan
    np.testing.assert_allclose(getattr(checked.frame, name), drawn, rtol=1e-12)
    filled = checked.where(name, Flag.FILLED)
    assert np.flatnonzero(filled).tolist() == [5, 6, 7]
    assert checked.counts == {(Flag.FILLED, name): 3}


def test_other_quantities_are_never_filled(sound: Sound, place: Place) -> None:
    """A missing hour of rain, wind, gust, side, humidity or sun stays missing."""
    names = ["rain", "wind_speed", "wind_gust", "wind_from", "relative_humidity"]
    columns = {name: getattr(sound(), name).copy() for name in [*names, "radiation"]}
    for column in columns.values():
        column[12] = np.nan
    checked = check(sound(**columns), place)
    assert checked.counts == {}
    for name in columns:
        assert np.flatnonzero(np.isnan(getattr(checked.frame, name))).tolist() == [12]


def test_a_dew_point_gap_is_filled(sound: Sound, place: Place) -> None:
    """Straight between its neighbours."""
    dew_point = np.full(48, np.nan)
    dew_point[10:13] = 4.0, np.nan, 6.0
    frame = sound(relative_humidity=np.full(48, np.nan))
    checked = check(frame, place, dew_point=dew_point)
    assert checked.dew_point is not None
    assert checked.dew_point[11] == 5.0


def test_members_are_checked_each_by_itself(sound: Sound, place: Place) -> None:
    """A fault of one member leaves the others alone, and equals its own check."""
    single = sound()
    members = {
        name: np.stack([getattr(single, name)] * 3).copy() for name in QUANTITIES
    }
    members["air_temperature"][1, 20] += 30.0
    members["wind_speed"][2, 10:40] = 0.0
    members["pressure"][0, 5:7] = np.nan
    together = check(sound(**members), place)
    for number in range(3):
        alone = check(
            sound(**{name: each[number] for name, each in members.items()}), place
        )
        for name in QUANTITIES:
            np.testing.assert_array_equal(
                together.flags[name][number], alone.flags[name]
            )
            np.testing.assert_array_equal(
                getattr(together.frame, name)[number], getattr(alone.frame, name)
            )


def test_removed_means_missing_and_kept_means_there(sound: Sound, place: Place) -> None:
    """In a table full of faults every bit does what its rule says."""
    rng = np.random.default_rng(3)
    frame = sound(400)
    columns = {
        name: np.where(rng.random(400) < 0.05, rng.normal(50, 300, 400), each)
        for name in QUANTITIES
        if not np.isnan(each := getattr(frame, name)).all()
    }
    checked = check(
        sound(400, **columns), place, dew_point=rng.normal(5, 9, 400), fill=False
    )
    seen = set()
    for flag, name in checked.counts:
        values = checked.dew_point if name == "dew_point" else None
        values = getattr(checked.frame, name) if values is None else values
        gone = np.isnan(values)[checked.where(name, flag)]
        if done(flag, name) is Done.REMOVED:
            assert gone.all(), (flag, name)
            seen.add(flag)
    assert len(seen) >= 4
