"""Stage windows on steady seasons, by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.domain.growth import season
from forecaster.domain.growth.belief import Belief
from forecaster.domain.growth.stage_window import (
    StageWindow,
    chance_open,
    window_dates,
    window_of,
)

if TYPE_CHECKING:
    from forecaster.domain.growth.weed import Weed

APRIL = np.datetime64("2026-04-01")
BREAK = np.datetime64("2026-04-25")
STEADY = np.full((2, 275), 10.0)


def test_barley_grass_window_by_hand(weeds: dict[str, Weed]) -> None:
    """Half headed on day 145.8 (see test_season); the rest in tenths of °C d.

    F55 70 % +0.5244 × 60 = 31.5; F77 20 % 220 − 0.8416 × 60 = 169.5; F77 50 % 220.
    Contact: the later of F55 85 % (62.2) and F71 50 % (110); F75 50 % 170;
    F85 20 % 279.5; F85 50 % 330.
    """
    weed = weeds["barley_grass"]
    sure = Belief.prior(weed, 1, shift_sd=0.0)
    projection = season.project(weed, STEADY, APRIL, BREAK, belief=sure)
    expected = {
        "translocated": [0, 31.5, 169.5, 220],
        "contact": [110, 170, 279.5, 330],
    }
    for mode, thermal in expected.items():
        dates = window_dates(window_of(projection, mode))  # type: ignore[arg-type]
        found = [
            each.likely
            for each in (dates.open, dates.best_from, dates.best_until, dates.closed)
        ]
        days = [145.8 + each / 10 for each in thermal]
        assert found == pytest.approx(days, abs=0.05)


def test_capeweed_has_no_contact_window(weeds: dict[str, Weed]) -> None:
    """Asking for one is an error, not an empty answer."""
    projection = season.project(weeds["capeweed"], STEADY, APRIL, BREAK)
    with pytest.raises(KeyError, match="contact"):
        window_of(projection, "contact")


def test_too_wide_a_spread_leaves_no_window(weeds: dict[str, Weed]) -> None:
    """Where heads are so uneven that closing comes first, the window never opens."""
    weed = weeds["silver_grass"]
    uneven = replace(weed, spread=replace(weed.spread, value=400.0, high=400.0))
    window = window_of(season.project(uneven, STEADY, APRIL, BREAK), "contact")
    np.testing.assert_array_equal(window.open, window.closed)
    assert chance_open(window, np.arange(275.0)).max() == 0.0


def test_chance_open_counts_traces_and_nodes() -> None:
    """Two of four outcomes hold day 5 inside, by hand."""
    opened = np.array([[1.0, 5.0], [6.0, np.inf]])
    closed = np.array([[5.0, 9.0], [7.0, np.inf]])
    window = StageWindow(opened, opened, closed, closed)
    found = chance_open(window, [0.0, 1.0, 5.0, 6.5, 7.0, 9.0])
    assert found.tolist() == [0.0, 0.25, 0.25, 0.5, 0.25, 0.0]


def test_chance_open_is_unknown_where_it_cannot_be_told() -> None:
    """A closing lost in a gap is unknown only from the opening on."""
    opened = np.array([[3.0, 4.0]])
    closed = np.array([[8.0, np.nan]])
    window = StageWindow(opened, opened, closed, closed)
    found = chance_open(window, [2.0, 3.5, 4.0, 9.0])
    np.testing.assert_array_equal(found, [0.0, 0.5, np.nan, np.nan])
    lost = StageWindow(closed, closed, closed, closed)
    assert np.isnan(chance_open(lost, [0.0])).all()


def test_shapes_follow_the_breaks(weeds: dict[str, Weed]) -> None:
    """One break gives no paddock axis, several give one."""
    weed = weeds["brome_grass"]
    one = window_of(season.project(weed, STEADY, APRIL, BREAK), "contact")
    many = window_of(
        season.project(weed, STEADY, APRIL, np.repeat(BREAK, 3)), "contact"
    )
    assert one.open.shape == (2, season.NODES)
    assert many.open.shape == (3, 2, season.NODES)
    assert chance_open(one, [150.0]).shape == (1,)
    assert chance_open(many, [150.0, 160.0]).shape == (3, 2)
    assert window_dates(many).closed.late.shape == (3,)
