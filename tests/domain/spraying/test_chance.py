"""Chances in closed form and by counting."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from forecaster.domain.sourced import Mark, Sourced
from forecaster.domain.spraying.chance import (
    chance_by_error,
    members_holding,
    share_of_members,
)
from forecaster.domain.spraying.hours import judge
from forecaster.domain.spraying.limits import Limit, Quantity, Rank, Side, Verdict

NAN = math.nan
KMH = 1 / 3.6
NUMBER = Sourced(1, "1", 1, 1, "a test", "a page", Mark.USER)


def limit(quantity: Quantity, side: Side, bound: float, error: float) -> Limit:
    """A confirmed label number."""
    return Limit(quantity.value, quantity, side, bound, NUMBER, Rank.LAW, "w", error)


WIND_TOP = limit(Quantity.WIND_10M, Side.MAX, 20 * KMH, 5 * KMH)
WIND_LOW = replace(limit(Quantity.WIND_10M, Side.MIN, 3 * KMH, 5 * KMH), id="wind_low")
DRY = limit(Quantity.RAIN_FREE_HOURS, Side.MIN, 6.0, 3.0)
SIDE = limit(Quantity.WIND_SIDE, Side.BELOW, 1.0, 1.0)
RISK = limit(Quantity.INVERSION_RISK, Side.MAX, 1.0, 1.0)
ADVICE = replace(WIND_TOP, id="advice", bound=1.0, rank=Rank.ADVICE)


def times(hours: int) -> np.ndarray:
    """Hours from an arbitrary start."""
    return np.arange(hours).astype("datetime64[h]").astype("datetime64[s]")


@pytest.mark.parametrize(
    ("forecast", "lead", "expected"),
    [
        # Forecast 10 and 5 km/h between 3 and 20 with an error of 6 km/h, day 3:
        # Φ(10/6) − Φ(−7/6) = 0.952 − 0.122, and Φ(15/6) − Φ(−2/6) = 0.994 − 0.369.
        (10.0, 3.0, 0.8305),
        (5.0, 3.0, 0.6243),
        # The same on day 1 with 5 km/h: Φ(2) − Φ(−1.4) = 0.97725 − 0.08076.
        (10.0, 1.0, 0.89649),
        # Before day 1 the error is that of day 1.
        (10.0, 0.0, 0.89649),
        # Far too windy: Φ(−6) is nought to eight places.
        (50.0, 1.0, 0.0),
    ],
)
def test_wind_between_two_limits_is_a_normal_integral(
    forecast: float, lead: float, expected: float
) -> None:
    """Closed form by math.erf, worked by hand in the comment beside each row."""
    values = np.array([[forecast * KMH], [forecast * KMH]])
    judged = judge(times(1), values, [WIND_LOW, WIND_TOP])
    found = chance_by_error(judged, np.array([lead]))[0]
    assert found == pytest.approx(expected, abs=2e-4)


def test_the_worst_quantity_gives_the_hour_s_chance() -> None:
    """Wind is sure, two hours of slack in the rain are Φ(2/3) = 0.7475."""
    values = np.array([[10 * KMH], [8.0]])
    judged = judge(times(1), values, [replace(WIND_TOP, error=0.01), DRY])
    found = chance_by_error(judged, np.array([1.0]))
    assert found[0] == pytest.approx(0.5 * math.erfc(-2 / 3 / math.sqrt(2)), abs=1e-4)


def test_a_barred_side_or_a_high_risk_leaves_no_chance() -> None:
    """Yes-or-no limits that hold are certain; those that pass change nothing."""
    values = np.array([[10 * KMH] * 4, [0.0, 1.0, 0.0, 0.0], [0.0, 0.0, 2.0, 1.0]])
    judged = judge(times(4), values, [WIND_TOP, SIDE, RISK])
    found = chance_by_error(judged, np.ones(4))
    assert found[1] == found[2] == 0.0
    assert found[0] == found[3] > 0.9


def test_advice_and_unconfirmed_numbers_have_no_part_in_it() -> None:
    """With nothing confirmed there is no chance to tell."""
    values = np.array([[10 * KMH], [10 * KMH]])
    judged = judge(times(1), values, [ADVICE, replace(WIND_TOP, confirmed=False)])
    assert np.isnan(chance_by_error(judged, np.ones(1))).all()
    alone = judge(times(1), values, [ADVICE, WIND_TOP])
    only = judge(times(1), values[:1], [WIND_TOP])
    assert chance_by_error(alone, np.ones(1)) == chance_by_error(only, np.ones(1))


def test_a_missing_label_quantity_leaves_the_chance_unknown() -> None:
    """Unless the limit is passed over where it is missing."""
    judged = judge(times(1), np.array([[NAN]]), [WIND_TOP])
    assert np.isnan(chance_by_error(judged, np.ones(1))).all()
    rain = replace(
        limit(Quantity.RAIN_CHANCE_AHEAD, Side.BELOW, 50.0, 15.0),
        on_missing=Verdict.GOOD,
    )
    passed = judge(times(1), np.array([[NAN], [10 * KMH]]), [rain, WIND_TOP])
    only = judge(times(1), np.array([[10 * KMH]]), [WIND_TOP])
    assert chance_by_error(passed, np.ones(1)) == chance_by_error(only, np.ones(1))


def test_chance_falls_as_the_forecast_ages() -> None:
    """Inside the limits, more error means less chance; never more."""
    values = np.full((1, 10), 12 * KMH)
    judged = judge(times(10), values, [WIND_TOP])
    found = chance_by_error(judged, np.arange(10.0))
    assert (np.diff(found) <= 0).all()
    assert found[-1] < found[0]


def test_the_share_of_members_is_counted() -> None:
    """Six members: four inside, one too windy, one unknown: 4 of 5."""
    wind = np.array([10, 11, 12, 13, 25, NAN]) * KMH
    judged = judge(times(1), wind[:, None, None], [WIND_TOP])
    assert share_of_members(judged)[0] == pytest.approx(0.8)
    holds, known = members_holding(judged)
    assert holds[:, 0].tolist() == [True] * 4 + [False] * 2
    assert known[:, 0].tolist() == [True] * 5 + [False]


def test_a_member_that_breaks_one_limit_is_known_whatever_the_rest() -> None:
    """Too windy and no rain known: it does not hold, and that is certain."""
    values = np.array([[[25 * KMH], [NAN]]] * 5)
    judged = judge(times(1), values, [WIND_TOP, DRY])
    assert share_of_members(judged)[0] == 0.0


def test_too_few_members_tell_nothing() -> None:
    """Four known members are not enough."""
    wind = np.array([10, 11, 12, 13, NAN]) * KMH
    judged = judge(times(1), wind[:, None, None], [WIND_TOP])
    assert np.isnan(share_of_members(judged)[0])
