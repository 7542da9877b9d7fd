"""What a refused or filled value is called; numbers turned by hand."""

from __future__ import annotations

import numpy as np
import pytest

from forecaster.domain.quality.doubts import Doubt
from forecaster.domain.quality.flags import Flag
from forecaster.domain.quality.thresholds import RANGES
from forecaster.domain.weather import QUANTITIES
from forecaster.render.flag_words import flag_tree, refusal_words
from forecaster.render.words import LocalClock

NAN = float("nan")
HOUR = np.datetime64("2026-10-12T02:00", "s")
ADELAIDE = LocalClock("Australia/Adelaide")


def doubt(quantity: str, flags: Flag, given: float, value: float = NAN) -> Doubt:
    """One flagged value at HOUR."""
    return Doubt(HOUR, quantity, flags, given, value)


@pytest.mark.parametrize(
    ("quantity", "given", "said"),
    [
        # 1 m/s is 3.6 km/h: 45, 80 and 100 m/s are 162, 288 and 360 km/h.
        ("wind_speed", 100.0, "wind 360 km/h refused: outside 0 to 162 km/h"),
        ("wind_gust", 100.0, "gust 360 km/h refused: outside 0 to 288 km/h"),
        ("wind_from", 400.0, "wind from 400° refused: outside 0 to 360°"),
        ("air_temperature", 60.25, "air 60.2 °C refused: outside -25.0 to 55.0 °C"),
        ("relative_humidity", 0.0, "humidity 0 % refused: outside 1 to 102 %"),
        ("cloud", 1.5, "cloud 150 % refused: outside 0 to 100 %"),
        ("rain", 300.0, "rain 300.0 mm refused: outside 0.0 to 120.0 mm"),
    ],
)
def test_a_value_out_of_range(quantity: str, given: float, said: str) -> None:
    """In the units the page prints."""
    found = doubt(quantity, Flag.OUT_OF_RANGE, given)
    assert refusal_words(found, HOUR, ADELAIDE) == said


def test_a_value_of_another_hour_names_it() -> None:
    """02:00 UTC is 12:30 in Adelaide's summer."""
    found = doubt("rain", Flag.OUT_OF_RANGE, 300.0)
    said = refusal_words(found, HOUR + np.timedelta64(3600, "s"), ADELAIDE)
    assert said.startswith("rain 300.0 mm at Mon 12 Oct 12:30 refused")


def test_a_refused_temperature_that_was_filled_names_the_refusal() -> None:
    """The rule that took it, not the filling; what is only kept is left out."""
    flags = Flag.STEP | Flag.SPIKE | Flag.FILLED
    found = doubt("air_temperature", flags, -10.5, 13.9)
    said = refusal_words(found, HOUR, ADELAIDE)
    assert said == "air -10.5 °C refused: a jump that is undone the next hour"


def test_a_gap_that_was_filled_says_what_it_is_good_for() -> None:
    """Nothing was refused: nothing had been measured."""
    found = doubt("air_temperature", Flag.FILLED, NAN, 4.5)
    said = refusal_words(found, HOUR, ADELAIDE)
    assert said == "air missing; 4.5 °C, drawn straight, counts for growth alone"


@pytest.mark.parametrize(
    ("flags", "given", "value", "done"),
    [
        (Flag.OUT_OF_RANGE, 300.0, NAN, "set to missing"),
        (Flag.SPIKE | Flag.FILLED, -10.0, 14.0, "filled"),
        (Flag.CLIPPED | Flag.STEP, 101.0, 100.0, "replaced"),
        (Flag.STEP, NAN, 14.0, "kept"),
        (Flag.WORKED_OUT, NAN, 1013.0, "filled"),
    ],
)
def test_what_became_of_a_value(
    flags: Flag, given: float, value: float, done: str
) -> None:
    """The last word counts; what is not known is null."""
    tree = flag_tree(doubt("pressure", flags, given, value))
    assert tree["done"] == done
    assert tree["flags"] == [str(each.name).lower() for each in Flag if each in flags]
    assert tree["time"] == "2026-10-12T02:00:00Z"
    assert tree["given"] == (None if np.isnan(given) else given)
    assert tree["value"] == (None if np.isnan(value) else value)


@pytest.mark.parametrize("quantity", QUANTITIES)
def test_every_column_can_be_told(quantity: str) -> None:
    """No column without a name, and its unit stands in the tree."""
    found = doubt(quantity, Flag.OUT_OF_RANGE, 9999.0)
    assert " refused: outside " in refusal_words(found, HOUR, ADELAIDE)
    assert flag_tree(found)["unit"] == RANGES[quantity].unit
