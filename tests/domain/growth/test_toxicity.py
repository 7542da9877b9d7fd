"""Annual ryegrass toxicity: spray at the first heads and within ten days.

DPIRD Western Australia, annual ryegrass toxicity, March 2024 (published, seen in
excerpt): at or before first head emergence, no later than 10 days after.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.domain.growth import season
from forecaster.domain.growth.belief import Belief
from forecaster.domain.growth.stage import Stage
from forecaster.domain.growth.stage_window import (
    chance_open,
    window_dates,
    window_of,
)
from forecaster.domain.growth.toxicity import toxicity_window

if TYPE_CHECKING:
    from forecaster.domain.growth.weed import Weed

APRIL = np.datetime64("2026-04-01")
BREAK = np.datetime64("2026-04-25")
STEADY = np.full((2, 275), 10.0)


def test_it_opens_with_the_first_heads_and_shuts_in_ten_days(
    weeds: dict[str, Weed],
) -> None:
    """5 % of heads are out 1.645 × 75 = 123.4 °C d, 12.3 days, before half of them."""
    weed = weeds["annual_ryegrass"]
    assert weed.toxicity is not None
    projection = season.project(
        weed, STEADY, APRIL, BREAK, belief=Belief.prior(weed, 1, shift_sd=0.0)
    )
    half = float(projection.stage_dates((Stage.HEADING,)).likely[0])
    dates = window_dates(toxicity_window(projection, weed.toxicity))
    assert dates.open.likely == pytest.approx(half - 12.34, abs=0.05)
    assert dates.closed.likely - dates.open.likely == pytest.approx(10.0)
    assert dates.best_from.likely == dates.open.likely
    assert dates.best_until.likely == dates.closed.likely


@pytest.mark.parametrize("mode", ["translocated", "contact"])
def test_it_turns_the_usual_rule_round(weeds: dict[str, Weed], mode: str) -> None:
    """Its last day comes before the first day of either usual window."""
    weed = weeds["annual_ryegrass"]
    assert weed.toxicity is not None
    projection = season.project(weed, STEADY, APRIL, BREAK)
    toxic = toxicity_window(projection, weed.toxicity)
    usual = window_of(projection, mode)  # type: ignore[arg-type]
    assert (toxic.closed <= usual.open).all()


def test_it_is_unknown_or_not_reached_where_the_first_heads_are(
    weeds: dict[str, Weed],
) -> None:
    """A gap makes it unknown; weather that ends too soon, not reached."""
    weed = weeds["annual_ryegrass"]
    assert weed.toxicity is not None
    daily = STEADY.copy()
    daily[:, 60] = np.nan
    lost = toxicity_window(season.project(weed, daily, APRIL, BREAK), weed.toxicity)
    assert np.isnan(chance_open(lost, [150.0])).all()
    short = season.project(weed, STEADY[:, :100], APRIL, BREAK)
    assert np.isposinf(toxicity_window(short, weed.toxicity).closed).all()


def test_only_annual_ryegrass_has_it(weeds: dict[str, Weed]) -> None:
    """The other weeds carry no such table."""
    assert [name for name, weed in weeds.items() if weed.toxicity] == [
        "annual_ryegrass"
    ]


def test_many_paddocks_have_their_own(weeds: dict[str, Weed]) -> None:
    """One window for each break."""
    weed = weeds["annual_ryegrass"]
    assert weed.toxicity is not None
    breaks = np.array([BREAK, np.datetime64("2026-05-20")])
    both = toxicity_window(season.project(weed, STEADY, APRIL, breaks), weed.toxicity)
    assert both.open.shape == (2, 2, season.NODES)
    assert (both.open[1] > both.open[0]).all()
