"""The clock of a cell on days simple enough to add up by hand."""

from __future__ import annotations

import numpy as np
import pytest

from forecaster.domain.growth import clock as clocks


@pytest.mark.parametrize(
    ("first", "southern", "expected"),
    [
        ("2026-04-01", True, "2026-07-01"),
        ("2026-07-02", True, "2026-07-01"),
        ("2026-12-31", True, "2026-07-01"),
        ("2026-10-01", False, "2027-01-01"),
        ("2026-07-01", False, "2027-01-01"),
        ("2026-06-30", False, "2026-01-01"),
    ],
)
def test_biofix_is_the_seasons_midwinter(
    first: str, southern: bool, expected: str
) -> None:
    """1 July of the calendar year in the south, 1 January of July–June in the north."""
    found = clocks.biofix(np.datetime64(first), southern=southern)
    assert found == np.datetime64(expected)


def test_early_warmth_counts_for_its_weight() -> None:
    """Ten degree-days a day count 2 before 1 July and 10 from it, by hand."""
    clock = clocks.run_clock(
        np.full((1, 4), 10.0), np.datetime64("2026-06-29"), early_weight=0.2
    )
    assert clock.biofix == 2
    assert clock.plain[0].tolist() == [0, 10, 20, 30, 40]
    assert clock.weighted[0].tolist() == [0, 2, 4, 14, 24]


def test_the_north_mirrors_the_south() -> None:
    """Half a year apart, the same days give the same clock."""
    daily = np.full((2, 10), 5.0)
    south = clocks.run_clock(daily, np.datetime64("2026-06-26"), early_weight=0.3)
    north = clocks.run_clock(
        daily, np.datetime64("2026-12-27"), early_weight=0.3, southern=False
    )
    np.testing.assert_array_equal(south.weighted, north.weighted)


def test_first_reach_of_a_flat_stretch() -> None:
    """Cold days add nothing: the mark counts as reached when first touched."""
    sums = np.array([[0.0, 10.0, 10.0, 10.0, 20.0]])
    target = np.array([0.0, 5.0, 10.0, 15.0, 20.0, 20.1, np.nan])[None]
    found = clocks.day_reached(sums, target).ravel()
    np.testing.assert_array_equal(found, [0.0, 0.5, 1.0, 3.5, 4.0, np.inf, np.nan])


def test_first_gap_on_or_after_a_day() -> None:
    """The gap before a break does not matter, the next one does."""
    missing = np.array([[True, False, False, True, False], [False] * 5])
    found = clocks.first_gap(missing, np.array([0.0, 1.0, 3.0, 4.0, 5.0]))
    assert found[:, 0].tolist() == [0.0, 3.0, 3.0, np.inf, np.inf]
    assert np.isposinf(found[:, 1]).all()


def test_bad_days_are_refused() -> None:
    """One axis, or a day below zero, is an error of the caller."""
    day = np.datetime64("2026-04-01")
    with pytest.raises(ValueError, match="two axes"):
        clocks.run_clock(np.zeros(5), day, early_weight=1.0)
    with pytest.raises(ValueError, match="negative"):
        clocks.run_clock(np.full((1, 5), -1.0), day, early_weight=1.0)
