"""Runs and straight lines against plain Python and pandas; the clock of a table."""

from __future__ import annotations

import math
from datetime import timedelta
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from forecaster.domain.quality.clock import hours_off
from forecaster.domain.quality.filling import straight
from forecaster.domain.quality.runs import run_lengths

if TYPE_CHECKING:
    from collections.abc import Callable

    from forecaster.domain.place import Place
    from forecaster.domain.weather import WeatherFrame

    Sound = Callable[..., WeatherFrame]


@given(st.lists(st.sampled_from([0.0, 1.0, 2.0]), max_size=40))
def test_run_lengths_are_those_of_groupby(values: list[float]) -> None:
    """Against itertools.groupby."""
    theirs = [
        size
        for _, group in groupby(values)
        for size in [len(list(group))]
        for _ in range(size)
    ]
    assert run_lengths(np.array(values, dtype=float)).tolist() == theirs


def test_missing_values_are_no_run() -> None:
    """NaN is equal to nothing, and two columns must both stay."""
    values = np.array([1.0, np.nan, np.nan, 2.0, 2.0])
    assert run_lengths(values).tolist() == [1, 1, 1, 2, 2]
    other = np.array([1.0, 1.0, 1.0, 1.0, 5.0])
    assert run_lengths(values, other).tolist() == [1, 1, 1, 1, 1]


@given(
    st.lists(st.one_of(st.just(math.nan), st.floats(-50, 50)), min_size=1, max_size=40)
)
def test_straight_lines_are_those_of_pandas(values: list[float]) -> None:
    """Against Series.interpolate inside the known hours."""
    theirs = pd.Series(values).interpolate(limit_area="inside").to_numpy()
    np.testing.assert_allclose(straight(np.array(values)), theirs, atol=1e-9)


@pytest.mark.parametrize("shift", [-11, -3, 0, 5, 12])
def test_a_moved_clock_is_found(sound: Sound, place: Place, shift: int) -> None:
    """Sunshine by ephem's sun, told in a clock that is off by whole hours."""
    import ephem

    frame = sound(20 * 24)
    observer = ephem.Observer()
    observer.lat, observer.lon = str(place.latitude), str(place.longitude)
    clear = np.zeros(len(frame))
    for row, hour in enumerate(frame.time.astype("datetime64[ms]").tolist()):
        observer.date = ephem.Date(hour + timedelta(minutes=30))
        clear[row] = 1000.0 * max(math.sin(ephem.Sun(observer).alt), 0.0)
    wrong = sound(20 * 24, radiation=np.roll(clear, -shift))
    assert hours_off(wrong, place) == shift


def test_a_clock_needs_sunshine_to_be_told(sound: Sound, place: Place) -> None:
    """Ten days at least, and radiation that changes."""
    assert math.isnan(hours_off(sound(239), place))
    assert math.isnan(hours_off(sound(300, radiation=np.zeros(300)), place))
    assert math.isnan(hours_off(sound(300, radiation=np.full(300, np.nan)), place))
