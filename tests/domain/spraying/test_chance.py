"""Chances in closed form and by counting."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from forecaster.domain.sourced import Mark, Sourced
from forecaster.domain.spraying.chance import (
    chance_by_error,
    chance_of,
    chance_of_members,
    dressing,
    mean_of_members,
    members_holding,
)
from forecaster.domain.spraying.forecast_error import Measured
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


def test_an_unknown_side_leaves_the_chance_unknown() -> None:
    """A yes-or-no limit nobody can judge; a broken one besides bars all the same."""
    values = np.array([[10 * KMH] * 2, [NAN, NAN], [0.0, 2.0]])
    judged = judge(times(2), values, [WIND_TOP, SIDE, RISK])
    found = chance_by_error(judged, np.ones(2))
    assert np.isnan(found[0])
    assert found[1] == 0.0


SURE = replace(WIND_TOP, error=1e-9)
"""A limit whose forecasts hardly err: members are only counted."""


def test_the_share_of_members_is_counted() -> None:
    """Six members: four inside, one too windy, one unknown: 4 of 5."""
    wind = np.array([10, 11, 12, 13, 25, NAN]) * KMH
    judged = judge(times(1), wind[:, None, None], [SURE])
    assert chance_of(judged, np.ones(1))[0] == pytest.approx(0.8)
    holds, known = members_holding(judged)
    assert holds[:, 0].tolist() == [True] * 4 + [False] * 2
    assert known[:, 0].tolist() == [True] * 5 + [False]


def test_a_member_that_breaks_one_limit_is_known_whatever_the_rest() -> None:
    """Too windy and no rain known: it does not hold, and that is certain."""
    values = np.array([[[25 * KMH], [NAN]]] * 5)
    judged = judge(times(1), values, [WIND_TOP, DRY])
    assert chance_of(judged, np.ones(1))[0] == 0.0


def test_too_few_members_tell_nothing() -> None:
    """Four known members are not enough."""
    wind = np.array([10, 11, 12, 13, NAN]) * KMH
    judged = judge(times(1), wind[:, None, None], [WIND_TOP])
    assert np.isnan(chance_of(judged, np.ones(1))[0])


def wind_members(wind: np.ndarray, limits: list[Limit]) -> np.ndarray:
    """Values (members, limits, hours) of winds (members, hours)."""
    return np.stack([wind] * len(limits), axis=1)


def test_dressed_members_are_a_mixture_of_normals() -> None:
    """Against scipy.stats.norm, member by member, with the variance they lack.

    Seven members, error of one forecast 6 km/h on day 3: d² = 6² − (1 + 1/7) s² with
    NumPy's own s².
    """
    limits = [WIND_LOW, WIND_TOP]
    wind = np.array([8.0, 11.0, 12.0, 14.0, 15.0, 17.0, 21.0])[:, None] * KMH
    judged = judge(times(1), wind_members(wind, limits), limits)
    lacking = (6 * KMH) ** 2 - (1 + 1 / 7) * np.var(wind, ddof=1)
    kernel = stats.norm(wind[:, 0], math.sqrt(lacking))
    expected = kernel.cdf(20 * KMH) - kernel.cdf(3 * KMH)
    day = np.array([3.0])
    assert chance_of_members(judged, day)[:, 0] == pytest.approx(expected, abs=1e-6)
    assert chance_of(judged, day)[0] == pytest.approx(expected.mean(), abs=1e-6)
    for found in dressing(judged, day):
        assert found[0] ** 2 == pytest.approx(lacking)


def test_dressing_is_what_random_errors_count() -> None:
    """Wind and rain dressed by drawing: the share inside within 4 standard errors."""
    rng = np.random.default_rng(5)
    limits = [WIND_LOW, WIND_TOP, DRY]
    wind, dry = np.array([9.0, 12, 14, 15, 18, 19]), np.array([2.0, 5, 6, 7, 9, 30])
    values = np.stack([wind * KMH, wind * KMH, dry], axis=1)[..., None]
    judged = judge(times(1), values, limits)
    errors = [float(each[0]) for each in dressing(judged, np.ones(1))]
    assert errors[2] == DRY.error  # nothing is taken off the timing of rain
    drawn = 200_000
    blown = wind * KMH + errors[0] * rng.standard_normal((drawn, 6))
    spared = dry + errors[2] * rng.standard_normal((drawn, 6))
    inside = (blown >= 3 * KMH) & (blown <= 20 * KMH) & (spared >= 6.0)
    within = 4 * inside.std() / math.sqrt(inside.size)
    assert chance_of(judged, np.ones(1))[0] == pytest.approx(inside.mean(), abs=within)


def test_members_that_differ_enough_are_counted_as_they_are() -> None:
    """Their own spread is over the error of one forecast: nothing is added."""
    wind = np.array([2.0, 4, 8, 12, 19, 24, 30])[:, None] * KMH
    limits = [WIND_LOW, WIND_TOP]
    judged = judge(times(1), wind_members(wind, limits), limits)
    assert chance_of(judged, np.ones(1))[0] == pytest.approx(4 / 7)
    assert [each[0] for each in dressing(judged, np.ones(1))] == [0.0, 0.0]


def test_a_member_at_the_very_bound_is_inside_undressed_too() -> None:
    """Twenty under a top of 20 holds, as everywhere; below 20 it does not."""
    wind = np.array([0.0, 20, 20, 20, 40])[:, None] * KMH
    below = replace(WIND_TOP, side=Side.BELOW)
    for top, share in ((WIND_TOP, 0.8), (below, 0.2)):
        judged = judge(times(1), wind[:, None, :], [top])
        assert chance_of(judged, np.ones(1))[0] == pytest.approx(share)


@pytest.mark.parametrize("forecast", [1.0, 3.0, 10.0, 19.0, 20.0, 24.0, 40.0])
def test_members_that_agree_say_what_one_forecast_says(forecast: float) -> None:
    """And with a second quantity never more: their chances multiply."""
    limits = [WIND_LOW, WIND_TOP, DRY]
    one = np.array([[forecast * KMH], [forecast * KMH], [8.0]])
    single, many = judge(times(1), one, limits), np.stack([one] * 6)
    day = np.array([4.0])
    alone = judge(times(1), many[:, :2], limits[:2])
    assert chance_of(alone, day) == pytest.approx(
        chance_by_error(judge(times(1), one[:2], limits[:2]), day)
    )
    both = chance_of(judge(times(1), many, limits), day)
    assert (both <= chance_by_error(single, day)).all()


def test_a_barred_member_has_no_chance_however_wide_the_error() -> None:
    """Half the members blow towards a garden: never more than the other half."""
    wind = np.full((10, 1), 10 * KMH)
    side = np.array([1.0] * 5 + [0.0] * 5)[:, None]
    judged = judge(times(1), np.stack([wind, side], axis=1), [WIND_TOP, SIDE])
    found = chance_of_members(judged, np.array([7.0]))
    assert (found[:5] == 0.0).all()
    assert chance_of(judged, np.array([7.0]))[0] <= 0.5


def test_an_unknown_age_leaves_the_chance_of_members_unknown() -> None:
    """A run of no known start cannot be dressed."""
    judged = judge(times(1), np.full((6, 1, 1), 10 * KMH), [WIND_TOP])
    assert np.isnan(chance_of(judged, np.array([NAN]))).all()


def test_no_label_number_gives_members_no_chance() -> None:
    """A side alone is no label: as with one forecast."""
    judged = judge(times(1), np.zeros((6, 1, 1)), [SIDE])
    assert np.isnan(chance_of_members(judged, np.ones(1))).all()
    assert np.isnan(chance_of(judged, np.ones(1))).all()


HOURS, MEMBERS = 20_000, 51
TRUE_ERROR = 6.0
"""[km/h] of :data:`WIND_TOP` on day 3."""


def too_narrow(spread: float, seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Middle, members and truth [m/s]: members of ``spread``, truth of 6 km/h about it.

    What was forecast is known, so the true chance of each hour is a normal integral.
    """
    rng = np.random.default_rng(seed)
    middle = rng.uniform(0.0, 30.0, HOURS)
    members = middle + spread * rng.standard_normal((MEMBERS, HOURS))
    truth = middle + TRUE_ERROR * rng.standard_normal(HOURS)
    return middle * KMH, members * KMH, truth * KMH


@pytest.mark.parametrize("spread", [0.5, 2.0, 4.0])
def test_dressing_mends_members_that_are_too_sure(spread: float) -> None:
    """Brier score and reliability from those of the raw share to those of the truth.

    The best any chance can do is the score of the true one (scipy.stats.norm); of what
    the raw share loses to it at least nine tenths are won back, and Murphy's
    reliability falls to under a tenth.
    """
    middle, members, truth = too_narrow(spread, 3)
    limits = [WIND_LOW, WIND_TOP]
    judged = judge(times(HOURS), wind_members(members, limits), limits)
    raw = members_holding(judged)[0].mean(axis=0)
    dressed = chance_of(judged, np.full(HOURS, 3.0))
    law = stats.norm(middle, TRUE_ERROR * KMH)
    best = law.cdf(20 * KMH) - law.cdf(3 * KMH)
    came = ((truth >= 3 * KMH) & (truth <= 20 * KMH)) * 1.0

    def brier(said: np.ndarray) -> float:
        return float(np.mean((said - came) ** 2))

    def unreliable(said: np.ndarray) -> float:
        bins = np.minimum((said * 10).astype(int), 9)
        rows = [bins == each for each in range(10)]
        return sum(
            float(row.mean() * (said[row].mean() - came[row].mean()) ** 2)
            for row in rows
            if row.any()
        )

    assert brier(raw) > brier(dressed)
    assert brier(dressed) - brier(best) < 0.1 * (brier(raw) - brier(best))
    assert unreliable(dressed) < 0.1 * unreliable(raw)
    assert np.abs(dressed - best).mean() < 0.25 * np.abs(raw - best).mean()


def test_dressing_members_that_are_wide_enough_costs_next_to_nothing() -> None:
    """Spread as wide as the error: chances within 0.02 of the true ones on average."""
    middle, members, _ = too_narrow(TRUE_ERROR, 4)
    limits = [WIND_LOW, WIND_TOP]
    judged = judge(times(HOURS), wind_members(members, limits), limits)
    law = stats.norm(middle, TRUE_ERROR * KMH)
    best = law.cdf(20 * KMH) - law.cdf(3 * KMH)
    dressed = chance_of(judged, np.full(HOURS, 3.0))
    raw = members_holding(judged)[0].mean(axis=0)
    assert abs((dressed - best).mean()) < 0.02
    assert np.abs(dressed - best).mean() < np.abs(raw - best).mean()


def test_measured_errors_take_the_place_of_assumed_ones() -> None:
    """Half the error measured: Φ(10/3) − Φ(−7/3) by scipy, 6 km/h were assumed."""
    measured = {
        Quantity.WIND_10M: Measured((1.0, 3.0), (2.5 * KMH, 3 * KMH), (900, 900), "x")
    }
    limits = [WIND_LOW, WIND_TOP]
    judged = judge(times(1), np.full((2, 1), 10 * KMH), limits)
    found = chance_by_error(judged, np.array([3.0]), measured)[0]
    expected = stats.norm.cdf(10 / 3) - stats.norm.cdf(-7 / 3)
    assert found == pytest.approx(expected, abs=1e-6)
    many = judge(times(1), np.full((6, 2, 1), 10 * KMH), limits)
    assert chance_of(many, np.array([3.0]), measured)[0] == pytest.approx(found)


def test_mean_of_members_leaves_the_unknown_out() -> None:
    """By hand: 0.5 over five of six, and nothing of four."""
    chance = np.array([[0.5, NAN]] * 4 + [[0.5, 1.0], [NAN, NAN]])
    found = mean_of_members(chance)
    assert found[0] == 0.5
    assert np.isnan(found[1])
