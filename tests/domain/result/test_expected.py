"""What was to be expected, how it is judged, and what may lie behind it."""

from __future__ import annotations

import math

import pytest
from scipy import stats

from forecaster.domain.result.expected import (
    Cause,
    Evidence,
    Expected,
    Found,
    Seen,
    carry_over_needed,
    causes,
    expected,
    judged,
)
from forecaster.domain.result.reduction import Reduction, reduction
from forecaster.domain.sourced import Mark, Sourced


def share(value: float, low: float | None = None, high: float | None = None) -> Sourced:
    """A share with its range."""
    low = value if low is None else low
    high = value if high is None else high
    return Sourced(value, "share", low, high, "a test", "here", Mark.ASSUMED)


def found(treated: list[int], untreated: list[int]) -> Reduction:
    """Two strips."""
    return reduction(
        treated,
        untreated,
        side_cm=25.0,
        quantile_of=lambda free: float(stats.t.ppf(0.975, free)),
    )


@pytest.mark.parametrize(
    ("control", "carry_over", "seedlings"),
    [
        (0.95, 0.01, 0.060), (0.95, 0.05, 0.098), (0.95, 0.20, 0.240),
        (0.95, 0.30, 0.335), (0.80, 0.01, 0.208), (0.80, 0.05, 0.240),
        (0.80, 0.20, 0.360), (0.80, 0.30, 0.440),
    ],
)  # fmt: skip
def test_seedlings_by_control_and_old_seed(
    control: float, carry_over: float, seedlings: float
) -> None:
    """(1 − k)(1 − c) + c by hand: 0.05 · 0.99 + 0.01 = 0.0595, and so on."""
    ours = expected(share(control), share(carry_over))
    assert ours.value == pytest.approx(seedlings, abs=0.0006)
    assert ours.low == ours.value == ours.high


def test_fewest_seedlings_come_with_most_control_and_least_old_seed() -> None:
    """0.06 · 1 + 0 and 0.26 · 0.95 + 0.05, by hand."""
    ours = expected(share(0.84, 0.74, 0.94), share(0.01, 0.0, 0.05))
    assert ours.low == pytest.approx(0.06)
    assert ours.value == pytest.approx(0.16 * 0.99 + 0.01)
    assert ours.high == pytest.approx(0.26 * 0.95 + 0.05)


WANTED = expected(share(0.84, 0.74, 0.94), share(0.01, 0.0, 0.05))
MANY = [40, 44, 38, 41, 39, 45, 42, 37, 40, 43]


@pytest.mark.parametrize(
    ("treated", "untreated", "said"),
    [
        ([20] * 10, MANY, Found.SHORT),
        ([7, 8, 6, 7, 9, 5, 7, 8, 6, 7], MANY, Found.AS_EXPECTED),
        ([0] * 10, MANY, Found.BETTER),
        ([0, 9, 40], [2, 60, 10], Found.UNSETTLED),
        ([0, 1], [0, 0], Found.UNKNOWN),
        ([1], [40], Found.UNKNOWN),
    ],
)
def test_how_it_lies_to_what_was_expected(
    treated: list[int], untreated: list[int], said: Found
) -> None:
    """Expected is 6 to 30 %: about half is short, 17 % is in it, none is better."""
    assert judged(found(treated, untreated), WANTED) is said


def test_without_a_published_control_nothing_is_judged() -> None:
    """Unknown, not good."""
    assert judged(found([20] * 10, MANY), None) is Found.UNKNOWN


def listed(seen: Seen, wanted: Expected = WANTED) -> list[tuple[Cause, Evidence]]:
    """Causes where half of the seedlings came."""
    told = causes(seen, found([20] * 10, MANY), wanted)
    return [(each.cause, each.evidence) for each in told]


def test_causes_that_were_told_come_first_and_resistance_last() -> None:
    """What was told not to be so comes after what is not known."""
    ours = listed(Seen(uneven=False, rain=True))
    assert ours == [
        (Cause.RAIN, Evidence.TOLD),
        (Cause.STAGE, Evidence.OPEN),
        (Cause.OLD_SEED, Evidence.OPEN),
        (Cause.UNEVEN, Evidence.AGAINST),
        (Cause.RESISTANCE, Evidence.OPEN),
    ]


def test_resistance_is_never_claimed() -> None:
    """Whatever else is ruled out it stays not known."""
    for seen in (Seen(), Seen(off_stage=False, uneven=False, rain=False)):
        assert listed(seen)[-1] == (Cause.RESISTANCE, Evidence.OPEN)


def test_old_seed_that_would_explain_it_is_told() -> None:
    """Half came of 16 % : c = (0.49 − 0.16)/0.84 = 0.39 by hand, within 0.5."""
    half = found([20] * 10, MANY)
    assert half.ratio == pytest.approx(200 / 409)
    needed = carry_over_needed(half, WANTED)
    assert needed == pytest.approx((200 / 409 - 0.16) / 0.84)
    wide = expected(share(0.84), share(0.2, 0.01, 0.5))
    assert (Cause.OLD_SEED, Evidence.TOLD) in listed(Seen(), wide)
    assert (Cause.OLD_SEED, Evidence.OPEN) in listed(Seen())


def test_old_seed_explains_nothing_where_no_control_was_expected() -> None:
    """No division by zero: not known."""
    none = expected(share(0.0), share(0.1))
    assert math.isnan(carry_over_needed(found([20] * 10, MANY), none))
    fewer = expected(share(0.1), share(0.1))
    assert carry_over_needed(found([20] * 10, MANY), fewer) == 0.0
