"""Feed and money against a published worked example, hand sums and exact fractions."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from forecaster.domain.feed.budget import first_short, growth_by_day
from forecaster.domain.feed.loss import days_of_feed, growth_lost, head_per_hectare
from forecaster.domain.money.cost import Prices, cost_of


def test_the_worked_example_of_a_sheep_manual() -> None:
    """1,700 − 1,500 + 42 × 40 = 1,880 kg/ha; 2.9 × 42 × 1.15 = 140 kg a ewe: 13.4/ha.

    *Making more from sheep*, module 8, tool 8.4, question 1: about 536 ewes on 40 ha.
    Seen in excerpt; it rounds 140.07 to 140 and 13.4 before it multiplies by 40.
    """
    ewes = head_per_hectare(1700.0, 1500.0, 40.0, 42.0, 2.9, spoilage=0.15)
    assert ewes == pytest.approx(13.4, abs=0.05)
    assert round(ewes, 1) * 40.0 == pytest.approx(536.0)
    exact = Fraction(1880) / (Fraction(29, 10) * 42 * Fraction(115, 100))
    assert ewes == pytest.approx(float(exact))


def test_less_than_is_to_be_left_carries_nothing() -> None:
    """And growth may make up for it."""
    assert head_per_hectare(900.0, 1500.0, 0.0, 30.0, 1.0) == 0.0
    assert head_per_hectare(1200.0, 1500.0, 20.0, 30.0, 1.0) == pytest.approx(10.0)


def test_spring_growth_lost_by_hand() -> None:
    """185 ha × 45 kg × 42 d: a third is 116.55 t, a fifth 69.93 t; 27.75 and 16.65 d.

    45 kg/ha/d, 42 d, 4,200 DSE and 1 kg are inputs of the invented farm.
    """
    third = growth_lost(185.0, 45.0 * 42.0, 1.0 / 3.0)
    fifth = growth_lost(185.0, 45.0 * 42.0, 0.2)
    assert third == pytest.approx(116_550.0)
    assert fifth == pytest.approx(69_930.0)
    assert days_of_feed(third, 4200.0, 1.0) == pytest.approx(27.75)
    assert days_of_feed(fifth, 4200.0, 1.0) == pytest.approx(16.65)


def test_feed_runs_out_on_the_day_the_sum_goes_below() -> None:
    """100 kg over, 10 grown and 30 eaten a day: 0 after five days, below on the sixth.

    The sixth day is day 5, the first one being day 0.
    """
    grown, eaten = np.full(10, 10.0), np.full(10, 30.0)
    assert float(first_short(100.0, grown, eaten)) == 5.0
    assert float(first_short(-1.0, grown, grown)) == 0.0
    assert np.isinf(first_short(100.0, eaten, grown))


def test_an_unknown_day_makes_it_unknown_only_if_it_comes_first() -> None:
    """Short on day 1 before a gap on day 3: known. A gap on day 0: not."""
    eaten = np.full(5, 30.0)
    late = np.array([0.0, 0.0, 0.0, np.nan, 0.0])
    early = np.array([np.nan, 0.0, 0.0, 0.0, 0.0])
    assert float(first_short(50.0, late, eaten)) == 1.0
    assert np.isnan(first_short(50.0, early, eaten))
    assert np.isnan(first_short(500.0, late, eaten))


def test_farms_are_budgeted_together_as_one_by_one() -> None:
    """Leading axes are farms."""
    rng = np.random.default_rng(7)
    grown = rng.uniform(0.0, 20.0, (4, 60))
    eaten = rng.uniform(5.0, 25.0, (4, 60))
    on_hand = rng.uniform(0.0, 150.0, 4)
    together = first_short(on_hand, grown, eaten)
    for place in range(4):
        left, day = on_hand[place], np.inf
        for number in range(60):
            left += grown[place, number] - eaten[place, number]
            if left < 0:
                day = float(number)
                break
        assert together[place] == day


def test_growth_holds_until_the_next_entry() -> None:
    """40 from the 3rd, 25 from the 5th; nothing known before the 3rd."""
    found = growth_by_day(
        np.array(["2026-10-03", "2026-10-05"], dtype="datetime64[D]"),
        [40.0, 25.0],
        np.datetime64("2026-10-02", "D"),
        5,
    )
    np.testing.assert_array_equal(found, [np.nan, 40.0, 40.0, 25.0, 25.0])
    none = growth_by_day(
        np.array(["2026-10-03"], dtype="datetime64[D]"),
        [40.0],
        np.datetime64("2026-10-02"),
        -3,
    )
    assert none.size == 0


PRICES = Prices(
    spraying=12.0, actives={"glyphosate": 8.0}, feed=200.0, weed=2.0, control=0.8
)
"""Invented: 12 + 8 a hectare, 200 a tonne, 2 a hectare for each per cent of weed."""


def test_cost_and_break_even_by_hand() -> None:
    """20 + 0.1 t × 200 = 40 at the least, 20 + 0.2 × 200 = 60 at the most, on 30 ha.

    Break-even: 40 ÷ (2 × 0.8) = 25 % and 60 ÷ 1.6 = 37.5 % of weed.
    """
    cost = cost_of("glyphosate", 30.0, (100.0, 200.0), PRICES)
    assert cost is not None
    assert cost.spray == 20.0
    assert cost.feed == pytest.approx((20.0, 40.0))
    assert cost.total == pytest.approx((1200.0, 1800.0))
    assert cost.break_even == pytest.approx((25.0, 37.5))


def test_no_price_no_money() -> None:
    """Nothing is made up for what was not given."""
    assert cost_of("paraquat", 30.0, None, PRICES) is None
    assert cost_of("glyphosate", 30.0, None, Prices()) is None
    bare = cost_of(
        "glyphosate", 10.0, (100.0, 200.0),
        Prices(spraying=12.0, actives={"glyphosate": 8.0}),
    )  # fmt: skip
    assert bare is not None
    assert bare.feed is None
    assert bare.total == (200.0, 200.0)
    assert bare.break_even is None
