"""What failed keeps its flag and its value from the rules to the reader."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.domain.quality.checked import check
from forecaster.domain.quality.doubts import by_hour, doubts, unfit
from forecaster.domain.quality.filling import for_verdicts
from forecaster.domain.quality.flags import Done, Flag, done

if TYPE_CHECKING:
    from collections.abc import Callable

    from forecaster.domain.place import Place
    from forecaster.domain.weather import WeatherFrame

    Sound = Callable[..., WeatherFrame]

HOUR = 20


def with_fault(frame: WeatherFrame, name: str, value: float) -> WeatherFrame:
    """One value of one column put wrong."""
    values = getattr(frame, name).copy()
    values[HOUR] = value
    return replace(frame, **{name: values})


def test_a_refused_value_is_kept_beside_the_hole(sound: Sound, place: Place) -> None:
    """468.7 m/s goes, its bit and the number stay, all other columns say nothing."""
    frame = check(with_fault(sound(), "wind_speed", 468.7), place).frame
    assert np.isnan(frame.wind_speed[HOUR])
    assert frame.marks_of("wind_speed").bits[HOUR] == Flag.OUT_OF_RANGE
    assert frame.marks_of("wind_speed").given[HOUR] == 468.7
    assert unfit(frame, "wind_speed").tolist() == [HOUR]
    assert unfit(frame, "rain").tolist() == []
    (doubt,) = [each for each in doubts(frame) if each.quantity == "wind_speed"]
    assert (doubt.time, doubt.given) == (frame.time[HOUR], 468.7)
    assert np.isnan(doubt.value)
    assert doubt.refused_by == (Flag.OUT_OF_RANGE,)
    assert [each.quantity for each in by_hour(frame)[HOUR]] == ["wind_speed"]
    assert sum(map(len, by_hour(frame))) == 1


def test_a_replaced_value_is_remembered(sound: Sound, place: Place) -> None:
    """101.5 % becomes 100 %; nothing was refused."""
    frame = check(with_fault(sound(), "relative_humidity", 101.5), place).frame
    (doubt,) = [x for x in doubts(frame) if Flag.CLIPPED in x.flags]
    assert (doubt.given, doubt.value) == (101.5, 100.0)
    assert doubt.refused_by == ()
    assert unfit(frame, "relative_humidity").tolist() == []


def test_a_spike_that_is_filled_serves_growth_and_no_verdict(
    sound: Sound, place: Place
) -> None:
    """The straight line between the neighbours, the refused value, both flags."""
    frame = sound()
    true = frame.air_temperature.copy()
    frame = check(with_fault(frame, "air_temperature", true[HOUR] - 20), place).frame
    middle = (true[HOUR - 1] + true[HOUR + 1]) / 2
    assert frame.air_temperature[HOUR] == pytest.approx(middle)
    marks = frame.marks_of("air_temperature")
    assert marks.bits[HOUR] == Flag.SPIKE | Flag.FILLED
    assert marks.given[HOUR] == true[HOUR] - 20
    assert unfit(frame, "air_temperature").tolist() == [HOUR]
    judged = for_verdicts(frame)
    assert np.flatnonzero(np.isnan(judged.air_temperature)).tolist() == [HOUR]
    assert judged.marks_of("air_temperature").bits[HOUR] == marks.bits[HOUR]


def test_a_table_without_filled_temperatures_is_judged_as_it_is(sound: Sound) -> None:
    """Nothing is copied where there is nothing to leave out."""
    frame = sound()
    assert for_verdicts(frame) is frame


def test_checking_again_finds_nothing_new_and_forgets_nothing(
    sound: Sound, place: Place
) -> None:
    """Flags a table came with stay, and are not counted a second time."""
    once = check(with_fault(sound(), "rain", 300.0), place)
    again = check(once.frame, place)
    assert once.counts == {(Flag.OUT_OF_RANGE, "rain"): 1}
    assert again.counts == {}
    assert again.frame.marks_of("rain").given[HOUR] == 300.0


def test_moisture_goes_with_a_temperature_refused_before(
    sound: Sound, place: Place
) -> None:
    """The source took the temperature; the probe's humidity is no better."""
    frame = with_fault(sound(), "air_temperature", np.nan)
    where = np.arange(len(frame)) == HOUR
    said = frame.marks_of("air_temperature").add(Flag.OUT_OF_RANGE, where)
    found = check(replace(frame, marks={"air_temperature": said}), place)
    assert found.counts[Flag.WITH_TEMPERATURE, "relative_humidity"] == 1
    assert np.isnan(found.frame.relative_humidity[HOUR])


def test_a_gust_below_the_mean_takes_the_gust_alone() -> None:
    """The mean is marked and kept; every other rule does one thing."""
    assert done(Flag.GUST_BELOW_MEAN, "wind_gust") is Done.REMOVED
    assert done(Flag.GUST_BELOW_MEAN, "wind_speed") is Done.KEPT
    assert done(Flag.OUT_OF_RANGE, "wind_speed") is Done.REMOVED
