"""What grazing does to heads, on a steady season by hand.

Barley grass on 10 °C d a day is half headed on day 145.8 (see test_season) and its
heads spread by 60 °C d, so one standard deviation is six days.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.domain.growth import season
from forecaster.domain.growth.belief import Belief
from forecaster.domain.growth.grazing import (
    NO_EFFECT,
    Grazed,
    GrazingCase,
    GrazingEffect,
    How,
    effect_of,
)
from forecaster.domain.growth.stage import Stage
from forecaster.domain.growth.stage_window import window_dates, window_of
from forecaster.settings.grazing import load_grazing
from forecaster.settings.shipped import config_folder

if TYPE_CHECKING:
    from forecaster.domain.growth.season import Projection
    from forecaster.domain.growth.weed import Weed

APRIL = np.datetime64("2026-04-01")
BREAK = np.datetime64("2026-04-25")
STEADY = np.full((2, 275), 10.0)
NUMBERS = load_grazing(config_folder() / "grazing.toml")
HALF_OUT = 145.8


def grazed(how: How, last_day: int | None, first_day: int = 60) -> Grazed:
    """A grazing by day numbers of the season; the end of ``last_day`` is one more."""
    return Grazed(
        how,
        APRIL + np.timedelta64(first_day, "D"),
        None if last_day is None else APRIL + np.timedelta64(last_day, "D"),
    )


def plain(weed: Weed, daily: np.typing.NDArray[np.float64] = STEADY) -> Projection:
    """The weed without any grazing."""
    return season.project(
        weed, daily, APRIL, BREAK, belief=Belief.prior(weed, 1, shift_sd=0.0)
    )


def effect(
    weeds: dict[str, Weed], *grazings: Grazed, today: float = 270.0
) -> GrazingEffect:
    """On barley grass in the steady season."""
    return effect_of(grazings, plain(weeds["barley_grass"]), today, NUMBERS)


def test_no_grazing_changes_nothing(weeds: dict[str, Weed]) -> None:
    """Nothing typed: the weed's own numbers."""
    assert effect(weeds) is NO_EFFECT
    assert (NO_EFFECT.shift, NO_EFFECT.spread) == (0.0, 1.0)


# Last day, and what it is by hand. 5 % of heads are out 1.645 SD = 9.87 days before
# day 145.8, on day 135.93; six weeks before it is day 103.8. Both lie between the
# ends of the last days given here.
CASES = [
    (How.HARD, 102, GrazingCase.SPELLED, 0.0, 1.0),
    (How.HARD, 103, GrazingCase.EVEN, 20.0, 0.75),
    (How.HARD, 124, GrazingCase.EVEN, 20.0, 0.75),
    (How.HARD, 134, GrazingCase.EVEN, 20.0, 0.75),
    (How.HARD, 135, GrazingCase.LATE, 60.0, 1.2),
    (How.HARD, 150, GrazingCase.LATE, 60.0, 1.2),
    (How.PATCHY, 124, GrazingCase.UNEVEN, 0.0, 1.4),
    (How.PATCHY, 150, GrazingCase.UNEVEN, 0.0, 1.4),
    (How.LAX, 124, GrazingCase.UNEVEN, 0.0, 1.4),
    (How.LAX, 102, GrazingCase.SPELLED, 0.0, 1.0),
    (How.HARD, -90, GrazingCase.SPELLED, 0.0, 1.0),
]


@pytest.mark.parametrize(("how", "last", "case", "shift", "spread"), CASES)
def test_the_dates_decide_which_effect_it_is(
    weeds: dict[str, Weed],
    *,
    how: How,
    last: int,
    case: GrazingCase,
    shift: float,
    spread: float,
) -> None:
    """The assumed amounts are those docs/method/grazing.md states."""
    found = effect(weeds, grazed(how, last, -100))
    assert found.case is case
    assert (found.shift, found.spread) == (shift, spread)


def test_the_grazing_that_ended_last_decides(weeds: dict[str, Weed]) -> None:
    """Patchy winter grazing is made good by hard grazing after it."""
    patchy, hard = grazed(How.PATCHY, 110), grazed(How.HARD, 124, 111)
    assert effect(weeds, hard, patchy).case is GrazingCase.EVEN
    assert effect(weeds, patchy, hard).grazed is hard


@pytest.mark.parametrize(
    ("today", "case"), [(125.0, GrazingCase.EVEN), (137.0, GrazingCase.LATE)]
)
def test_stock_still_on_graze_until_today(
    weeds: dict[str, Weed], today: float, case: GrazingCase
) -> None:
    """The same paddock moves from one case to the other as heads come out."""
    assert effect(weeds, grazed(How.HARD, None), today=today).case is case
    # A last day ahead counts only as far as today.
    assert effect(weeds, grazed(How.HARD, 150), today=today).case is case


def test_hard_even_grazing_moves_and_narrows_the_window(weeds: dict[str, Weed]) -> None:
    """+20 °C d is two days; SD 45: 70 % out 0.5244 × 45 = 23.6 °C d after half."""
    weed = weeds["barley_grass"]
    found = effect(weeds, grazed(How.HARD, 124))
    belief = Belief.prior(
        weed, 1, shift_mean=found.shift, shift_sd=0.0, spread=found.spread
    )
    projection = season.project(weed, STEADY, APRIL, BREAK, belief=belief)
    half = projection.stage_dates((Stage.HEADING,)).likely[0]
    assert half == pytest.approx(HALF_OUT + 2.0, abs=0.05)
    dates = window_dates(window_of(projection, "translocated"))
    assert dates.best_from.likely == pytest.approx(HALF_OUT + 4.36, abs=0.05)


def test_the_spread_of_grazing_comes_on_top_of_a_late_break(
    weeds: dict[str, Weed],
) -> None:
    """Emerged after 1 July: the weed's own widening times that of the grazing."""
    weed = weeds["barley_grass"]
    breaks = np.array([BREAK, np.datetime64("2026-07-05")])
    belief = Belief.prior(weed, 2, spread=[1.4, 0.75])
    projection = season.project(weed, STEADY, APRIL, breaks, belief=belief)
    expected = [1.4, 0.75 * weed.late_spread.value]
    assert projection.spread_factor[:, 0, 0].tolist() == pytest.approx(expected)


def test_what_cannot_be_told_changes_nothing_and_says_so(
    weeds: dict[str, Weed],
) -> None:
    """A gap in the weather since the break: no case is guessed."""
    daily = STEADY.copy()
    daily[:, 60] = np.nan
    found = effect_of(
        (grazed(How.HARD, 124),), plain(weeds["barley_grass"], daily), 270.0, NUMBERS
    )
    assert found.case is GrazingCase.UNKNOWN
    assert (found.shift, found.spread) == (0.0, 1.0)


def test_heading_beyond_the_weather_counts_as_near_as_it_may_be(
    weeds: dict[str, Weed],
) -> None:
    """The table ends on day 130, before half the heads are out: not *spelled*."""
    weed = weeds["barley_grass"]
    found = effect_of(
        (grazed(How.PATCHY, 124),), plain(weed, STEADY[:, :130]), 130.0, NUMBERS
    )
    assert found.case is GrazingCase.UNEVEN
