"""Chances to get a paddock done, against closed forms and plain loops."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from forecaster.domain.planning.odds import by_habit, odds, run_chances

if TYPE_CHECKING:
    from forecaster.domain.weather import Floats

OPEN = np.array([-np.inf])
NEVER = np.array([np.inf])


def two_days(first: float, second: float) -> Floats:
    """Two days of two hours, one of each fit."""
    return np.array([[first, 0.0, second, 0.0]])


DAYS = np.array([0, 0, 1, 1])


def test_two_independent_days() -> None:
    """1 - (1 - p)(1 - q), the law of independent events."""
    found = odds(two_days(0.7, 0.4), 1, OPEN, NEVER, DAYS)
    both = 1 - 0.3 * 0.6
    assert found.by == pytest.approx([0.7, both])
    assert found.waiting == pytest.approx([both, 0.4])


def test_members_carry_what_days_have_in_common() -> None:
    """One member fit all along, one never: the second day adds nothing."""
    fit = np.vstack([two_days(1.0, 1.0), two_days(0.0, 0.0)])
    found = odds(fit, 1, OPEN, NEVER, DAYS)
    assert found.by == pytest.approx([0.5, 0.5])
    assert found.waiting == pytest.approx([0.5, 0.5])


def test_the_window_counts_with_the_hours() -> None:
    """Half of the traces close before the second day: open × fit, as each is alone."""
    closed = np.array([2.0, 9.0])
    found = odds(two_days(0.6, 0.8), 1, np.repeat(OPEN, 2), closed, DAYS)
    assert found.waiting[1] == pytest.approx(0.5 * 0.8)
    assert found.by[0] == pytest.approx(0.6)
    assert found.by[1] == pytest.approx(0.5 * 0.6 + 0.5 * (1 - 0.4 * 0.2))


def test_a_run_is_as_good_as_its_weakest_hour_and_wholly_inside() -> None:
    """Three hours: not from the second on, where the window closes at the end of it."""
    fit = np.array([[0.9, 0.5, 0.8, 0.8]])
    assert run_chances(fit, 3) == pytest.approx(np.array([[0.5, 0.5]]))
    day = np.zeros(4, dtype=np.int64)
    inside = odds(fit, 2, np.array([1.0]), np.array([3.0]), day)
    assert inside.by == pytest.approx([0.5])
    assert odds(fit, 2, np.array([1.0]), np.array([2.9]), day).by == pytest.approx([0])
    assert odds(fit, 5, OPEN, NEVER, day).by == pytest.approx([0])


def test_what_is_unknown() -> None:
    """An unknown hour is none; an unknown edge leaves nothing known."""
    nan = float("nan")
    assert odds(two_days(nan, 0.4), 1, OPEN, NEVER, DAYS).by == pytest.approx([0, 0.4])
    for edges in ((np.array([nan]), NEVER), (OPEN, np.array([nan]))):
        assert np.isnan(odds(two_days(1, 1), 1, *edges, DAYS)).all()
        assert np.isnan(by_habit(0.3, *edges, np.arange(3.0))).all()
    none = odds(np.zeros((1, 0)), 1, OPEN, NEVER, np.zeros(0, dtype=np.int64))
    assert none.by.size == 0


@given(
    fit=st.lists(
        st.lists(st.sampled_from([0.0, 0.2, 0.9, 1.0]), min_size=6, max_size=6),
        min_size=1, max_size=3,
    ),
    edges=st.lists(
        st.tuples(st.integers(-1, 6), st.integers(0, 7)), min_size=1, max_size=4
    ),
    length=st.integers(1, 3),
)  # fmt: skip
def test_it_is_what_plain_loops_find(
    fit: list[list[float]], edges: list[tuple[int, int]], length: int
) -> None:
    """Every member, every trace, every start, one after the other."""
    day_of = [0, 0, 0, 1, 1, 1]
    by = np.zeros(2)
    waiting = np.zeros(2)
    for hours in fit:
        for opened, closed in edges:
            best = [0.0, 0.0]
            for start in range(6 - length + 1):
                if opened <= start and start + length <= closed:
                    weakest = min(hours[start : start + length])
                    best[day_of[start]] = max(best[day_of[start]], weakest)
            any_day = 1 - (1 - best[0]) * (1 - best[1])
            by += [best[0], any_day]
            waiting += [any_day, best[1]]
    count = len(fit) * len(edges)
    pairs = np.array(edges, dtype=np.float64)
    found = odds(np.array(fit), length, pairs[:, 0], pairs[:, 1], np.array(day_of))
    assert found.by == pytest.approx(by / count)
    assert found.waiting == pytest.approx(waiting / count)


@pytest.mark.parametrize("after_none", [0.23, 0.34, 0.53])
def test_the_first_fit_day_is_geometric(after_none: float) -> None:
    """SciPy's geometric distribution: days until the first that is fit."""
    days = np.arange(1.0, 8.0)
    found = by_habit(after_none, OPEN, NEVER, days)
    assert found == pytest.approx(stats.geom.cdf(days, after_none))


@pytest.mark.parametrize("after_none", [0.34, 0.53])
def test_the_first_fit_day_before_a_close_that_is_not_sure(after_none: float) -> None:
    """Close after 5 d, SD 4 d: the sum over geometric × normal (SciPy)."""
    close = stats.norm(5, 4).ppf((np.arange(20_000) + 0.5) / 20_000)
    days = np.arange(1.0, 61.0)
    found = by_habit(after_none, np.full(close.shape, -np.inf), close, days)
    exact = (stats.geom.pmf(days, after_none) * stats.norm.sf(days, 5, 4)).sum()
    assert found[-1] == pytest.approx(exact, abs=1e-3)
