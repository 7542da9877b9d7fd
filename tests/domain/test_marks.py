"""Marks stay with their values whatever is done to a table."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from forecaster.domain.marks import Marks, spoken, take_all
from forecaster.domain.weather import (
    HOUR,
    Origin,
    Provenance,
    WeatherFrame,
    empty_columns,
)

NAN = np.nan
START = np.datetime64("2026-10-12T00:00", "s")


def marks(bits: list[int], given: list[float]) -> Marks:
    """Marks from lists."""
    return Marks(np.array(bits, np.uint16), np.array(given))


def table(said: Marks, members: int = 0) -> WeatherFrame:
    """Missing values, with marks on the wind."""
    hours = said.bits.shape[-1]
    shape = (members, hours) if members else (hours,)
    columns = {name: np.full(shape, NAN) for name in empty_columns(0)}
    return WeatherFrame(
        time=START + np.arange(hours) * HOUR,
        **columns,
        origin=np.full(hours, Origin.OBSERVED, np.uint8),
        provenance=Provenance("a test", "none", START),
        marks={"wind_speed": said},
    )


def test_bits_add_up_and_the_first_value_that_stood_there_is_remembered() -> None:
    """A second rule adds its bit; what it found there is not what was measured."""
    said = Marks.none((3,))
    first = np.array([True, False, False])
    said = said.add(1, first).keep(first, np.array([103.0, 1.0, 2.0]))
    both = np.array([True, True, False])
    said = said.add(8, both).keep(both, np.array([100.0, 50.0, 2.0]))
    assert said.bits.tolist() == [9, 8, 0]
    assert said.bits.dtype == np.uint16
    np.testing.assert_array_equal(said.given, [103.0, 50.0, NAN])


def test_rows_are_taken_in_any_order_and_minus_one_is_nothing() -> None:
    """Joins and moves name the row each value comes from."""
    said = marks([1, 2, 4], [10.0, NAN, 30.0]).take(np.array([2, -1, 0, 2]))
    assert said.bits.tolist() == [4, 0, 1, 4]
    np.testing.assert_array_equal(said.given, [30.0, NAN, 10.0, 30.0])


def test_only_columns_something_was_said_against_are_kept() -> None:
    """A table in which nothing failed carries nothing."""
    said = {"rain": Marks.none((2,)), "cloud": marks([0, 1], [NAN, 5.0])}
    assert list(spoken(said)) == ["cloud"]
    assert list(take_all(said, slice(0, 1))) == ["rain", "cloud"]


def test_slices_and_replacements_keep_marks() -> None:
    """01:00 up to 03:00 of four hours; another column changed."""
    frame = table(marks([0, 1, 2, 4], [NAN, 50.0, NAN, 60.0]))
    part = replace(frame, rain=np.zeros(4)).between(frame.time[1], frame.time[3])
    assert part.marks_of("wind_speed").bits.tolist() == [1, 2]
    np.testing.assert_array_equal(part.marks_of("wind_speed").given, [50.0, NAN])
    assert part.marks_of("rain").bits.tolist() == [0, 0]
    assert np.isnan(part.marks_of("rain").given).all()


def test_members_have_marks_of_their_own() -> None:
    """(members, hours), cut along the hours."""
    said = Marks.none((2, 3)).add(1, np.array([[False, True, False], [False] * 3]))
    frame = table(said, members=2)
    part = frame.between(frame.time[1], frame.time[2])
    assert part.marks_of("wind_speed").bits.tolist() == [[1], [0]]


@pytest.mark.parametrize(
    ("name", "hours"), [("wind_speed", 2), ("time", 3), ("dew_point", 3)]
)
def test_marks_that_fit_no_column_are_refused(name: str, hours: int) -> None:
    """Another length, and what is no measured column."""
    frame = table(Marks.none((3,)))
    with pytest.raises(ValueError, match=f"marks of {name}"):
        replace(frame, marks={name: Marks.none((hours,))})
