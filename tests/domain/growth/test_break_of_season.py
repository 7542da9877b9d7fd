"""The break proposed from rain, against the words of the published definitions."""

from __future__ import annotations

import numpy as np
import pytest

from forecaster.domain.growth.break_of_season import (
    POOK_2009,
    SIMULATION,
    SMITH_2021,
    find_break,
    find_breaks,
    search_start,
    unknown_rain_days,
)

MARCH = np.datetime64("2026-03-01")


def rain(**falls: float) -> np.ndarray:
    """Daily rain from 1 March to 31 July, dry but for ``apr_05=12.0`` and the like."""
    months = {"mar": 3, "apr": 4, "may": 5, "jun": 6, "jul": 7}
    days = np.zeros(153)
    for day, fall in falls.items():
        month, number = day.split("_")
        on = np.datetime64(f"2026-{months[month]:02d}-{number}")
        days[(on - MARCH).astype(int)] = fall
    return days


@pytest.mark.parametrize(
    ("falls", "day"),
    [
        ({"apr_10": 25.0}, "2026-04-10"),
        ({"apr_10": 10.0, "apr_12": 15.0}, "2026-04-12"),
        (
            # 25 mm exactly, though binary fractions add up to a hair less.
            {"apr_01": 0.6, "apr_10": 7.1, "apr_11": 11.2, "apr_12": 6.7},
            "2026-04-12",
        ),
        ({"apr_10": 10.0, "apr_16": 20.0}, "2026-04-16"),
        ({"mar_10": 60.0, "may_02": 26.0}, "2026-05-02"),
        ({"mar_31": 20.0, "apr_01": 5.0}, "2026-04-01"),
    ],
)
def test_the_default_definition(falls: dict[str, float], day: str) -> None:
    """25 mm within 3 days or 30 mm within 7, from 1 April (Smith 2021)."""
    found = find_break(rain(**falls), MARCH)
    assert found is not None
    assert found.day == np.datetime64(day)
    assert found.unknown_days == 0
    assert found.rain >= found.rule.total.value


@pytest.mark.parametrize(
    "falls",
    [
        {},
        {"apr_10": 24.9},
        {"apr_10": 10.0, "apr_13": 15.0},
        {"apr_10": 10.0, "apr_17": 20.0},
        {"mar_20": 80.0},
    ],
)
def test_not_enough_rain_is_no_break(falls: dict[str, float]) -> None:
    """Just short, just too far apart, or in summer: no break."""
    assert find_break(rain(**falls), MARCH) is None


def test_missing_rain_is_counted_never_zero() -> None:
    """A gap before the break is reported; a gap after it is not its business."""
    days = rain(apr_10=26.0)
    days[(np.datetime64("2026-04-05") - MARCH).astype(int)] = np.nan
    days[(np.datetime64("2026-05-05") - MARCH).astype(int)] = np.nan
    found = find_break(days, MARCH)
    assert found is not None
    assert found.unknown_days == 1
    assert unknown_rain_days(days, MARCH) == 2
    assert find_break(np.full(153, np.nan), MARCH) is None
    # Seven days look back six: 26 March is the first that matters.
    assert unknown_rain_days(np.full(153, np.nan), MARCH) == 153 - 25


def test_rain_that_begins_late_leaves_days_unknown() -> None:
    """Figures from 11 April leave the ten days before them unknown."""
    days = np.zeros(30)
    days[3] = 40.0
    found = find_break(days, np.datetime64("2026-04-11"))
    assert found is not None
    assert found.day == np.datetime64("2026-04-14")
    assert found.unknown_days == 10


def test_rain_that_ends_before_the_search() -> None:
    """Figures that stop in March give no break and count nothing."""
    assert find_break(np.full(20, 30.0), MARCH) is None
    assert unknown_rain_days(np.full(20, np.nan), MARCH) == 0


def test_definitions_side_by_side() -> None:
    """20 mm in a week comes before 25 mm in three days, as their words say."""
    found = find_breaks(rain(apr_10=10.0, apr_15=10.0, may_20=25.0), MARCH)
    days = {name: each.day for name, each in found.items() if each is not None}
    assert days == {
        SMITH_2021.name: np.datetime64("2026-05-20"),
        POOK_2009.name: np.datetime64("2026-05-20"),
        SIMULATION.name: np.datetime64("2026-04-15"),
    }
    assert find_breaks(rain(), MARCH)[SMITH_2021.name] is None


def test_thirty_millimetres_in_a_week_are_one_definition_s_alone() -> None:
    """Smith's second rule is met by 10 and 20 mm in six days, Pook's only by May's."""
    found = find_breaks(rain(apr_10=10.0, apr_15=20.0, may_20=25.0), MARCH)
    days = {name: each.day for name, each in found.items() if each is not None}
    assert days == {
        SMITH_2021.name: np.datetime64("2026-04-15"),
        POOK_2009.name: np.datetime64("2026-05-20"),
        SIMULATION.name: np.datetime64("2026-04-15"),
    }


@pytest.mark.parametrize(
    ("first", "southern", "expected"),
    [
        ("2026-01-01", True, "2026-04-01"),
        ("2026-09-01", False, "2026-10-01"),
        ("2027-02-01", False, "2026-10-01"),
    ],
)
def test_the_search_starts_in_autumn(first: str, southern: bool, expected: str) -> None:
    """1 April in the south; in the north 1 October of the same July–June season."""
    found = search_start(np.datetime64(first), southern=southern)
    assert found == np.datetime64(expected)
