"""Rain around an hour against pandas windows and hand-worked rows."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from forecaster.domain.air.rain import (
    chance_ahead,
    dry_hours_ahead,
    hours_since_rain,
    rain_ahead,
    rain_before,
)

NAN = float("nan")


def _season() -> np.ndarray:
    """Fifty days of showers with a few hours missing, shape (2, 1200)."""
    rng = np.random.default_rng(3)
    rain = np.where(rng.random((2, 1200)) < 0.1, rng.gamma(0.8, 1.5, (2, 1200)), 0.0)
    rain[rng.random((2, 1200)) < 0.01] = np.nan
    return rain


@pytest.mark.parametrize("hours", [0, 1, 6, 24, 72])
def test_totals_ahead_of_a_library(hours: int) -> None:
    """Pandas' rolling sum, run backwards, gives the same totals and the same gaps."""
    import pandas as pd

    rain = _season()
    backwards = pd.DataFrame(rain.T[::-1])
    theirs = backwards.rolling(hours + 1).sum().to_numpy()[::-1].T
    assert rain_ahead(rain, hours) == pytest.approx(theirs, nan_ok=True, abs=1e-9)


@pytest.mark.parametrize("hours", [1, 6, 24, 72])
def test_totals_before_of_a_library(hours: int) -> None:
    """Pandas' rolling sum, one hour late, gives the same totals and the same gaps."""
    import pandas as pd

    rain = _season()
    theirs = pd.DataFrame(rain.T).rolling(hours).sum().shift(1).to_numpy().T
    assert rain_before(rain, hours) == pytest.approx(theirs, nan_ok=True, abs=1e-9)


def test_no_hours_before_hold_no_rain() -> None:
    """Zero hours back is an empty, known total."""
    assert rain_before([NAN, 1.0], 0).tolist() == [0.0, 0.0]


def test_part_hours_round_up() -> None:
    """A quarter of an hour needs the whole next hour dry."""
    assert rain_ahead([0.0, 1.0, 5.0], 0.25).tolist()[:2] == [1.0, 6.0]
    assert rain_before([0.0, 1.0, 5.0], 0.25).tolist()[1:] == [0.0, 1.0]


def test_a_sum_on_the_limit_is_not_lost() -> None:
    """0.2 mm after much rain is still 0.2 mm, not a rounding under it."""
    rain = np.array([33.3, 0.1, 60.7, 0.7, 0.0, 0.2, 0.0])
    assert rain_ahead(rain, 2)[4] >= 0.2


@pytest.mark.parametrize("hours", [-1.0, NAN, float("inf")])
def test_impossible_windows(hours: float) -> None:
    """A window that is negative or not a number is refused by every function."""
    for measure in (rain_ahead, rain_before, chance_ahead):
        with pytest.raises(ValueError, match="hours"):
            measure([0.0], hours)


def test_dry_hours_by_hand() -> None:
    """The count stops at rain, at a missing hour and at the end."""
    rain = [9.0, 0.0, 0.1, 0.2, 0.0, NAN, 0.0, 0.0]
    assert dry_hours_ahead(rain).tolist() == [2, 1, 0, 1, 0, 2, 1, 0]
    assert dry_hours_ahead(rain, trace=0.05).tolist() == [1, 0, 0, 1, 0, 2, 1, 0]


def test_dry_hours_of_members() -> None:
    """Each member is counted by itself."""
    assert dry_hours_ahead([[0, 0, 0], [0, 1, 0]]).tolist() == [[2, 1, 0], [0, 1, 0]]


def test_hours_since_rain_by_hand() -> None:
    """Counted from the last wet hour; unknown before any and after a gap."""
    got = hours_since_rain([0.0, 0.2, 0.1, 0.0, NAN, 0.0, 3.0, 0.0])
    expected = [NAN, 0.0, 1.0, 2.0, NAN, NAN, 0.0, 1.0]
    assert got == pytest.approx(expected, nan_ok=True)


def test_published_chance_bounds(check_values: Any) -> None:
    """The bounds on rain in six hours are those worked by hand."""
    for check in check_values("air_chance_ahead"):
        chance = [float(each) for each in check.inputs["chance"].split(",")]
        bounds = chance_ahead(chance, check.number("hours"))
        got = bounds[("lower", "upper").index(check.inputs["bound"])][0]
        assert check.agrees(got), check.label


def test_chance_of_one_hour_is_its_own() -> None:
    """Over one hour both bounds are the hour's chance; a gap or the end is unknown."""
    lower, upper = chance_ahead([40.0, 0.0, 100.0], 0)
    assert lower.tolist() == [40.0, 0.0, 100.0]
    assert upper == pytest.approx([40.0, 0.0, 100.0])
    for bound in chance_ahead([10.0, NAN, 20.0, 30.0], 1):
        assert np.isnan(bound).tolist() == [True, True, False, True]


def test_a_table_of_no_hours() -> None:
    """No hours in, no hours out."""
    empty = np.empty((2, 0))
    assert rain_ahead(empty, 3).shape == (2, 0)
    assert rain_before(empty, 3).shape == (2, 0)
    assert dry_hours_ahead(empty).shape == (2, 0)
    assert hours_since_rain(empty).shape == (2, 0)
