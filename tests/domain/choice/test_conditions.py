"""What single conditions say, and the sum that names the weed."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest

from forecaster.domain.advice import block_bounds
from forecaster.domain.choice.conditions import CONDITIONS, words_of
from forecaster.domain.choice.facts import (
    ActiveHere,
    Clover,
    CloverStage,
    Facts,
    Heads,
    Sward,
    WeedHere,
)
from forecaster.domain.choice.matters_most import Weight, weighed
from forecaster.domain.planning.windows import Status

BARE = Facts(
    hectares=10.0,
    target="silver_grass",
    weeds=(WeedHere("silver_grass", "silver grass", None, None),),
    actives=(),
    sward=Sward(),
    uneven=None,
    toxicity=False,
    feed_short=None,
    priority_stock=None,
    sheep=None,
    long_lived=False,
)
ACTIVE = ActiveHere(
    id="glyphosate", mode="translocated", controls=True, label=True, on_label=True,
    resists=None, springs=None, status=Status.UNKNOWN, block=None,
)  # fmt: skip
ALWAYS_KNOWN = {
    "no_toxicity", "toxicity", "capeweed", "not_capeweed", "loss_accepted",
    "late_accepted", "no_contact", "long_lived", "small_paddock", "weeds_differ",
    "windows_over", "no_label",
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(set(CONDITIONS) - ALWAYS_KNOWN))
def test_a_condition_without_its_fact_is_unknown(name: str) -> None:
    """And says what it needs."""
    found = CONDITIONS[name](BARE, ACTIVE)
    assert found.holds is None
    assert found.seen


@pytest.mark.parametrize("name", ["no_label", "resists", "may_resist", "third_spring",
                                  "same_again", "window_open", "no_block"])  # fmt: skip
def test_a_condition_about_an_active_needs_one(name: str) -> None:
    """Asked of the paddock alone it is unknown."""
    assert CONDITIONS[name](BARE, None).holds is None


@pytest.mark.parametrize("name", sorted(CONDITIONS))
def test_every_condition_can_be_said(name: str) -> None:
    """One line in words, not its own name."""
    assert words_of(name)
    assert words_of(name) != name


def test_weeds_whose_heading_is_not_known_are_unknown() -> None:
    """Two weeds, one of them without a date."""
    other = WeedHere("barley_grass", "barley grass", None, 3.0)
    both = replace(BARE, weeds=(*BARE.weeds, other))
    assert CONDITIONS["weeds_differ"](both, None).holds is None
    main = replace(BARE.weeds[0], half_headed=0.0)
    later = replace(other, half_headed=9.0)
    found = CONDITIONS["weeds_differ"](replace(BARE, weeds=(main, later)), None)
    assert (found.holds, found.seen) == (True, "barley grass heads 9 days after it")


@pytest.mark.parametrize(
    ("sward", "at_stake"),
    [
        (Sward(clover=Clover.NOT_WANTED), False),
        (Sward(clover=Clover.NONE), False),
        (Sward(clover=Clover.WANTED, to_be_sown=True), False),
        (Sward(clover=Clover.WANTED), None),
        (Sward(clover=Clover.WANTED, clover_stage=CloverStage.BEFORE), True),
        (Sward(clover=Clover.WANTED, clover_stage=CloverStage.PAST), False),
    ],
)
def test_clover_is_at_stake_until_it_is_past_flowering(
    sward: Sward, at_stake: bool | None
) -> None:
    """And its opposite says the opposite."""
    facts = replace(BARE, sward=sward)
    assert CONDITIONS["clover_at_stake"](facts, None).holds is at_stake
    other = CONDITIONS["clover_no_concern"](facts, None).holds
    assert other is (None if at_stake is None else not at_stake)


def test_what_there_is_none_of_is_thin_or_few_or_old() -> None:
    """No clover fills no gap; no perennials are neither many nor young."""
    none = replace(BARE, sward=Sward(clover=Clover.NONE, perennials=False))
    assert CONDITIONS["thin_clover"](none, None).holds is True
    assert CONDITIONS["few_perennials"](none, None).holds is True
    assert CONDITIONS["young_sward"](none, None).holds is False
    assert CONDITIONS["perennials_wanted"](none, None).holds is False
    sown = replace(BARE, sward=Sward(to_be_sown=True))
    assert CONDITIONS["perennials_wanted"](sown, None).holds is False
    assert CONDITIONS["young_sward"](sown, None).holds is False
    old = replace(BARE, sward=Sward(age_months=inf))
    assert CONDITIONS["young_sward"](old, None).seen == "sown long ago"


def test_a_chance_on_both_sides_of_the_line_is_unknown() -> None:
    """0.1 to 0.9 says nothing about 0.3; a bare percentage is never said."""
    found = CONDITIONS["no_block"](BARE, replace(ACTIVE, block=(0.1, 0.9)))
    assert found.holds is None
    told = CONDITIONS["no_block"](BARE, replace(ACTIVE, block=(0.1, 0.1)))
    assert (told.holds, told.seen) == (True, "a long enough block: 1 in 10")


def test_heads_are_told_in_shares() -> None:
    """Only shares there are."""
    heads = Heads(0.0, 0.4, 0.6, 0.0, 0.0)
    facts = replace(BARE, weeds=(replace(BARE.weeds[0], heads=heads),))
    found = CONDITIONS["in_milk"](facts, None)
    assert (found.holds, found.seen) == (
        True,
        "40 % heading or in flower, 60 % in milk",
    )
    assert heads.headed == pytest.approx(1.0)


def test_bounds_of_one_block_at_least() -> None:
    """Boole's inequality by hand: best 0.4, sum 0.7; never over 1; NaN anything."""
    assert block_bounds((0.4, 0.3)) == pytest.approx((0.4, 0.7))
    assert block_bounds((0.9, 0.8)) == pytest.approx((0.9, 1.0))
    assert block_bounds(()) == (0.0, 0.0)
    assert block_bounds((float("nan"), 0.2)) == pytest.approx((0.2, 1.0))


def test_the_sum_names_the_weed_that_matters_most() -> None:
    """By hand: barley 20 × 1 = 20; ryegrass 12 × 2 × 1.5 = 36, so it comes first."""
    found = weighed(
        {"barley_grass": 20.0, "annual_ryegrass": 12.0},
        {"annual_ryegrass": Weight(2.0, 1.5, "toxic heads, long-lived seed")},
    )
    assert [(each.weed, each.product) for each in found] == [
        ("annual_ryegrass", 36.0),
        ("barley_grass", 20.0),
    ]
    assert [each.weed for each in weighed({"a": 5.0, "b": 5.0}, {})] == ["a", "b"]
