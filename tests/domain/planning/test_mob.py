"""The arithmetic of a mob, against a published feed budget and by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from forecaster.domain.planning.mob import (
    Fit,
    Rates,
    days_at_rate,
    days_before,
    days_of_feed,
    stocking,
)
from forecaster.domain.planning.stock_off import Band, Stay

RATES = Rates(30.0, 40.0)


def day(text: str) -> np.datetime64:
    """A date of 2026."""
    return np.datetime64(f"2026-{text}", "D")


def test_a_published_feed_budget_comes_out_backwards() -> None:
    """Australian industry manual on sheep, feed-budget tool 8.4 (seen in excerpt).

    1,700 − 1,500 kg/ha plus 42 days × 40 kg/ha is 1,880 kg/ha; a ewe eats 2.9 kg with
    15 % waste, 140 kg in 42 days, so 13.4 ewes/ha are fed for the 42 days (536 ewes on
    40 ha). Printed to three figures: a tenth of a ewe is a day and a half.
    """
    ewes = 536 / 40
    days = days_of_feed(1700, 1500, 40, ewes, 2.9 * 1.15)
    assert days == pytest.approx(42, abs=1.5)
    assert stocking(536, 40, RATES).rate == pytest.approx(13.4)


# feed, leave, growth, rate, intake, days: by hand.
FEED = [
    (1500, 800, 0, 35, 1.0, 20.0),
    (1500, 800, 25, 35, 1.0, 70.0),
    (1500, 800, 0, 35, 1.4, 700 / 49),
    (1500, 800, 35, 35, 1.0, math.inf),
    (1500, 800, 60, 35, 1.0, math.inf),
    (800, 800, 0, 35, 1.0, 0.0),
    (700, 800, 0, 35, 1.0, 0.0),
    (700, 800, 60, 35, 1.0, 0.0),
]


@pytest.mark.parametrize(("feed", "leave", "growth", "rate", "intake", "days"), FEED)
def test_days_of_feed_by_hand(
    *, feed: float, leave: float, growth: float, rate: float, intake: float, days: float
) -> None:
    """Never negative; growth may outpace the mob."""
    assert days_of_feed(feed, leave, growth, rate, intake) == pytest.approx(days)


@pytest.mark.parametrize("missing", range(5))
def test_what_is_missing_stays_missing(missing: int) -> None:
    """NaN in any place, even where less is there than is to be left."""
    for values in ([1500.0, 800.0, 10.0, 35.0, 1.0], [700.0, 800.0, 90.0, 35.0, 1.0]):
        values[missing] = math.nan
        assert math.isnan(float(days_of_feed(*values)))


@given(
    feed=st.floats(0, 5000),
    leave=st.floats(0, 5000),
    growth=st.floats(0, 150),
    rate=st.floats(1, 500),
)
def test_feed_lasts_until_what_is_left_is_there(
    feed: float, leave: float, growth: float, rate: float
) -> None:
    """Eating for those days leaves what was asked for; more growth never shortens."""
    days = float(days_of_feed(feed, leave, growth, rate, 1.0))
    assert days >= 0
    if feed >= leave and math.isfinite(days):
        left = feed + days * (growth - rate)
        assert left == pytest.approx(leave, rel=1e-6, abs=1e-6 * (1 + days * rate))
    assert days_of_feed(feed, leave, growth + 1, rate, 1.0) >= days


def test_many_paddocks_at_once() -> None:
    """Arrays of any shape."""
    found = days_of_feed([[1500], [700]], 800, [0, 25], 35, 1.0)
    assert found.tolist() == [[20, 70], [0, 0]]


# DSE, hectares, rate, how it fits, hectares held, share of days: by hand.
MOBS = [
    (1190, 34, 35.0, Fit.WITHIN, (29.75, 39.6667), (1.0, 1.0)),
    (1020, 34, 30.0, Fit.WITHIN, (25.5, 34.0), (1.0, 1.0)),
    (1360, 34, 40.0, Fit.WITHIN, (34.0, 45.3333), (1.0, 1.0)),
    (1700, 34, 50.0, Fit.MANY, (42.5, 56.6667), (1.0, 1.0)),
    (480, 48, 10.0, Fit.FEW, (12.0, 16.0), (0.25, 1 / 3)),
]


@pytest.mark.parametrize(("dse", "hectares", "rate", "fit", "holds", "share"), MOBS)
def test_how_a_mob_stocks_a_paddock(
    *,
    dse: float,
    hectares: float,
    rate: float,
    fit: Fit,
    holds: tuple[float, float],
    share: tuple[float, float],
) -> None:
    """30–40 DSE/ha: WeedSmart, grazing strategies (published, seen in excerpt)."""
    found = stocking(dse, hectares, RATES)
    assert found.rate == pytest.approx(rate)
    assert found.fit is fit
    assert found.holds == pytest.approx(holds, rel=1e-5)
    assert found.share == pytest.approx(share)


def test_days_before_a_band_never_fall_below_none() -> None:
    """3 to 10 October, counted on a calendar."""
    band = Band(day("10-03"), day("10-10"))
    assert days_before(band, day("09-20")) == (13, 20)
    assert days_before(band, day("10-05")) == (0, 5)
    assert days_before(band, day("10-12")) == (0, 0)


def test_days_at_the_rate_are_counted_over_all_mobs() -> None:
    """On 34 ha: 1 to 10 September 17.6 and from the 6th 35.3 DSE/ha; stop on the 8th.

    A third mob takes the 8th above 40. So the 6th and the 7th count.
    """
    stays = (
        Stay("A", 600.0, day("09-01"), day("09-10")),
        Stay("B", 600.0, day("09-06"), day("09-20")),
        Stay("C", 600.0, day("09-08"), day("09-08")),
    )
    assert days_at_rate(stays, 34.0, day("09-08"), RATES) == 2
    assert days_at_rate(stays, 34.0, day("09-30"), RATES) == 4
    assert days_at_rate(stays, 34.0, day("08-30"), RATES) == 0
    assert days_at_rate((), 34.0, day("09-30"), RATES) == 0
