"""How the effect of a spray is said."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from forecaster.domain.outlook import Band, BlockView, DayEffect, EffectView
from forecaster.domain.spraying.limits import Verdict
from forecaster.render.effect_words import effect_words
from forecaster.render.words import LocalClock

CLOCK = LocalClock("Australia/Melbourne")
START = np.datetime64("2026-10-14T01:00:00")
NAN = float("nan")
BLOCK = BlockView(
    start=START,
    end=START + np.timedelta64(6, "h"),
    verdict=Verdict.GOOD,
    wind_from=NAN,
    wind_speed=(NAN, NAN),
    delta_t=(NAN, NAN),
    reasons=(),
    before=None,
    after=None,
    in_window=True,
)
HERE = DayEffect(START, Band(0.3, 0.604, 0.884), Band(0.12, 0.4, 0.72))
BEST = DayEffect(
    np.datetime64("2026-10-11T02:00:00"), Band(0.8, 0.8, 0.8), Band(0.2, 0.21, 0.24)
)
EFFECT = EffectView(published=True, best=BEST, blocks=(HERE,))


def test_a_block_is_told_against_the_best_day() -> None:
    """Ranges first, the likely value after; one number where both ends agree."""
    assert effect_words(EFFECT, BLOCK, CLOCK) == (
        "sprayed Wed 14 Oct 12:00 it would prevent 30 to 88 % of live seed (likely 60) "
        "and leave 12 to 72 % as many seedlings (likely 40) next year; on the "
        "best day by the model, 11 Oct, 80 % of live seed (likely 80). A trial's "
        "numbers, never a promise"
    )


def test_without_a_block_the_best_day_is_told_in_full() -> None:
    """Nothing is said of a block that is not there."""
    assert effect_words(EFFECT, None, CLOCK) == (
        "on the best day by the model, 11 Oct, it would prevent 80 % of live seed "
        "(likely 80) and leave 20 to 24 % as many seedlings (likely 21) next "
        "year. A trial's numbers, never a promise"
    )


@pytest.mark.parametrize("best", [None, DayEffect(BEST.at, None, None)])
def test_an_unknown_best_day_is_said_so(best: DayEffect | None) -> None:
    """With a block it is named; without one nothing is known."""
    some = replace(EFFECT, best=best)
    assert "the best day of the season is not known" in effect_words(some, BLOCK, CLOCK)
    assert effect_words(some, None, CLOCK).startswith("not told: the season's warmth")


def test_an_unknown_block_leaves_the_best_day() -> None:
    """A block whose hours lie beyond the weather gives no number."""
    some = replace(EFFECT, blocks=(DayEffect(START, None, None),))
    assert effect_words(some, BLOCK, CLOCK) == effect_words(EFFECT, None, CLOCK)


def test_no_trial_gives_no_number() -> None:
    """A number made up would be worse than none."""
    told = effect_words(EffectView(published=False), BLOCK, CLOCK)
    assert told == "not told: no published trial on this weed"
    assert "%" not in told


def test_whatever_is_told_says_that_it_is_no_promise() -> None:
    """Every sentence with a percentage ends so."""
    for block in (BLOCK, None):
        told = effect_words(EFFECT, block, CLOCK)
        assert told.endswith("never a promise")
