"""Control by class of head: published numbers, what lies between and outside them."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.domain.growth import control
from forecaster.domain.growth.stage import Stage
from forecaster.domain.sourced import Mark, Sourced

if TYPE_CHECKING:
    from forecaster.domain.growth.control import Trial
    from forecaster.domain.growth.weed import Weed


def share(low: float, value: float, high: float) -> Sourced:
    """A published number made up for a test."""
    return Sourced(value, "share", low, high, "a test", "a page", Mark.EXCERPT)


def test_a_published_number_stands_for_its_own_class(weeds: dict[str, Weed]) -> None:
    """Where a trial tells every stage, it is taken as it is."""
    trial: Trial = {
        stage: share(0.1, 0.1 + number / 20, 0.6)
        for number, stage in enumerate([None, *sorted(Stage)])
    }
    classes = control.by_class(trial, weeds["silver_grass"])
    assert classes == tuple(trial[each] for each in (None, *sorted(Stage)))


def test_between_two_stages_both_bound_it(weeds: dict[str, Weed]) -> None:
    """Straight in thermal time, never outside either; marked as our own.

    Brome grass by its file: heading 0, flowering 40, watery 130, milk 200 °C d after
    heading. So from 0.9 to 0.5 over 200 °C d: a fifth of the way is 0.82, 130/200
    of it 0.64.
    """
    trial: Trial = {
        Stage.HEADING: share(0.8, 0.9, 0.95),
        Stage.MILK: share(0.4, 0.5, 0.7),
    }
    classes = control.by_class(trial, weeds["brome_grass"])
    assert [each.value for each in classes[1:5]] == pytest.approx(
        [0.9, 0.82, 0.64, 0.5]
    )
    for between in classes[2:4]:
        assert (between.low, between.high) == (0.4, 0.95)
        assert between.mark is Mark.ASSUMED


def test_heads_in_the_sheath_bound_heading_where_it_was_not_tried(
    weeds: dict[str, Weed],
) -> None:
    """A head just out may be no better off than one in the sheath, nor worse."""
    trial: Trial = {None: share(0.0, 0.1, 0.2), Stage.FLOWERING: share(0.7, 0.8, 0.9)}
    heading = control.by_class(trial, weeds["brome_grass"])[1]
    assert (heading.low, heading.value, heading.high) == (0.0, 0.1, 0.9)
    assert heading.mark is Mark.ASSUMED


def test_outside_the_trial_it_may_be_nothing(weeds: dict[str, Weed]) -> None:
    """From nothing to the high end of the nearest stage, with half of it as middle."""
    trial: Trial = {
        Stage.FLOWERING: share(0.7, 0.8, 0.9),
        Stage.WATERY: share(0.2, 0.3, 0.4),
    }
    classes = control.by_class(trial, weeds["silver_grass"])
    early = [(each.low, each.value, each.high) for each in classes[:2]]
    late = [(each.low, each.value, each.high) for each in classes[4:]]
    assert early == [(0.0, 0.4, 0.9)] * 2
    assert late == [(0.0, 0.15, 0.4)] * 4
    assert {each.mark for each in (*classes[:2], *classes[4:])} == {Mark.ASSUMED}


def test_levels_keep_the_order_of_the_classes(weeds: dict[str, Weed]) -> None:
    """Low, middle and high, one column a class; low ≤ middle ≤ high."""
    trial: Trial = {Stage.FLOWERING: share(0.7, 0.8, 0.9)}
    levels = control.levels(control.by_class(trial, weeds["silver_grass"]))
    assert levels.shape == (3, 1 + len(Stage))
    assert levels[:, 2].tolist() == [0.7, 0.8, 0.9]
    assert (np.diff(levels, axis=0) >= 0).all()


@pytest.mark.parametrize("prevented", ["0.95", "0.80", "0", "1"])
@pytest.mark.parametrize("carried", ["0.01", "0.05", "0.20", "0.30"])
def test_seedlings_next_year_by_counting_them(prevented: str, carried: str) -> None:
    """Ten thousand seedlings counted by origin, in whole numbers.

    Those from older seed all come; of the others the spray leaves 1 − k.
    """
    older = 10_000 * Fraction(carried)
    fresh = 10_000 - older
    left = older + fresh - fresh * Fraction(prevented)
    found = control.seedlings_next_year(
        np.array(float(prevented)), np.array(float(carried))
    )
    assert float(found) == pytest.approx(float(left / 10_000), abs=1e-12)


@pytest.mark.parametrize(
    ("prevented", "carried", "expected"),
    [
        (0.95, 0.01, 0.0595),
        (0.95, 0.05, 0.0975),
        (0.95, 0.20, 0.240),
        (0.95, 0.30, 0.335),
        (0.80, 0.01, 0.208),
        (0.80, 0.05, 0.240),
        (0.80, 0.20, 0.360),
        (0.80, 0.30, 0.440),
    ],
)
def test_seedlings_next_year_worked_by_hand(
    prevented: float, carried: float, expected: float
) -> None:
    """By hand: with a fifth from older seed, 95 % control leaves 24 % of seedlings.

    0.05 × 0.8 + 0.2 = 0.04 + 0.2.
    """
    found = control.seedlings_next_year(np.array(prevented), np.array(carried))
    assert float(found) == pytest.approx(expected, abs=1e-12)


def test_seedlings_of_an_unknown_effect_are_unknown() -> None:
    """NaN in, NaN out."""
    found = control.seedlings_next_year(
        np.array([np.nan, 0.5]), np.array([0.1, np.nan])
    )
    assert np.isnan(found).all()
