"""What must hold of the growth model in any season."""

from __future__ import annotations

from functools import cache
from typing import get_args

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from forecaster.domain.growth import heads, season
from forecaster.domain.growth.belief import Belief
from forecaster.domain.growth.break_of_season import find_break
from forecaster.domain.growth.stage import Stage
from forecaster.domain.growth.stage_window import chance_open, window_dates, window_of
from forecaster.domain.growth.thermal_time import (
    daily_thermal_time,
    hourly_from_extremes,
    response,
)
from forecaster.domain.growth.weed import Mode, Weed
from forecaster.settings.shipped import config_folder
from forecaster.settings.weeds import load_weeds

APRIL = np.datetime64("2026-04-01")
DAYS = 275

quick = settings(max_examples=40, deadline=None)


@cache
def shipped() -> dict[str, Weed]:
    """The weeds we ship."""
    return load_weeds(config_folder() / "weeds")


weed_ids = st.sampled_from(
    ["annual_ryegrass", "barley_grass", "brome_grass", "capeweed", "silver_grass"]
)
temperatures = st.floats(-20, 50)


@st.composite
def seasons(draw: st.DrawFn) -> np.ndarray:
    """(traces, days) of thermal time, with cold days of zero."""
    seed = draw(st.integers(0, 2**32 - 1))
    level = draw(st.floats(-2, 20))
    swing = draw(st.floats(0, 10))
    days = np.random.default_rng(seed).normal(level, swing, (2, DAYS))
    return np.clip(days, 0.0, 26.0)


breaks = st.integers(0, 120).map(lambda day: APRIL + np.timedelta64(day, "D"))
shifts = st.floats(-300, 300)
sds = st.floats(0, 200)


@given(st.lists(temperatures, min_size=24, max_size=24), st.floats(0, 5))
@quick
def test_warmer_hours_never_count_less(hours: list[float], warmer: float) -> None:
    """Adding warmth to a day never lowers its thermal time, which is never negative."""
    day = np.array(hours)
    before = daily_thermal_time(day, 0.0, 26.0)
    after = daily_thermal_time(day + warmer, 0.0, 26.0)
    assert (after >= before).all()
    assert (before >= 0).all()
    assert (after <= 26.0).all()


@given(st.lists(temperatures, min_size=96, max_size=96), st.sampled_from([24, 48, 72]))
@quick
def test_thermal_time_adds_up_over_split_spans(hours: list[float], cut: int) -> None:
    """Two spans give the same days as the whole."""
    whole = daily_thermal_time(np.array(hours), 0.0, 26.0)
    parts = [
        daily_thermal_time(np.array(part), 0.0, 26.0)
        for part in (hours[:cut], hours[cut:])
    ]
    np.testing.assert_array_equal(whole, np.concatenate(parts))


@given(temperatures, st.floats(-5, 10), st.floats(0.5, 30))
@quick
def test_response_stays_between_its_ends(
    temperature: float, base: float, rise: float
) -> None:
    """The response lies between 0 and ceiling − base."""
    found = response(np.array(temperature), base, base + rise)
    assert 0.0 <= found <= (base + rise) - base


@given(
    st.lists(st.tuples(st.floats(-10, 20), st.floats(0, 25)), min_size=3, max_size=6),
    st.floats(8, 16),
)
@quick
def test_daily_curve_stays_within_the_extremes(
    days: list[tuple[float, float]], light: float
) -> None:
    """No hour is outside the coldest minimum and warmest maximum near it."""
    low = np.array([each[0] for each in days])
    high = low + np.array([each[1] for each in days])
    sunrise = np.full(low.size, 12 - light / 2)
    hourly = hourly_from_extremes(high, low, sunrise=sunrise, sunset=24 - sunrise)
    assert (hourly >= low.min() - 1e-9).all()
    assert (hourly <= high.max() + 1e-9).all()
    assert (hourly[:, 12] >= low - 1e-9).all()
    assert (hourly[:, 12] <= high + 1e-9).all()


@given(weed_ids, seasons(), breaks, shifts, sds)
@quick
def test_stages_come_in_order(
    weed: str, daily: np.ndarray, begun: np.datetime64, shift: float, sd: float
) -> None:
    """On every trace and node no stage comes before the one it follows."""
    belief = Belief.prior(shipped()[weed], 1, shift_mean=shift, shift_sd=sd)
    days = season.project(
        shipped()[weed], daily, APRIL, begun, belief=belief
    ).stage_days()
    assert (days[1:] >= days[:-1]).all()


@given(weed_ids, seasons(), breaks, st.integers(0, 2**32 - 1))
@quick
def test_a_warmer_season_is_never_later(
    weed: str, daily: np.ndarray, begun: np.datetime64, seed: int
) -> None:
    """More thermal time on any days from the break on never delays a stage."""
    extra = np.random.default_rng(seed).uniform(0, 5, daily.shape)
    before = season.project(shipped()[weed], daily, APRIL, begun).stage_days()
    after = season.project(shipped()[weed], daily + extra, APRIL, begun).stage_days()
    both = np.isfinite(before)
    # The sums differ in their last places, hence the hair's breadth.
    assert (after[both] <= before[both] + 1e-9).all()
    assert np.isfinite(after[both]).all()


@given(weed_ids, seasons(), breaks)
@quick
def test_an_earlier_break_is_never_later(
    weed: str, daily: np.ndarray, begun: np.datetime64
) -> None:
    """A paddock whose season broke a week before another's heads no later."""
    pair = np.array([begun, begun + np.timedelta64(7, "D")])
    days = season.project(shipped()[weed], daily, APRIL, pair).stage_days()
    assert (days[0] <= days[1] + 1e-9).all()


@given(weed_ids, seasons(), breaks, shifts, sds)
@quick
def test_window_edges_come_in_order(
    weed: str, daily: np.ndarray, begun: np.datetime64, shift: float, sd: float
) -> None:
    """Open ≤ best ≤ closed on every trace and node, and so at every quantile."""
    chosen = shipped()[weed]
    belief = Belief.prior(chosen, 1, shift_mean=shift, shift_sd=sd)
    projection = season.project(chosen, daily, APRIL, begun, belief=belief)
    for mode in chosen.windows:
        window = window_of(projection, mode)
        assert (window.open <= window.best_from).all()
        assert (window.best_from <= window.best_until).all()
        assert (window.best_until <= window.closed).all()
        dates = window_dates(window)
        assert dates.open.early <= dates.open.likely <= dates.open.late
        assert dates.open.likely <= dates.closed.likely


@given(weed_ids, seasons(), breaks, st.sampled_from(get_args(Mode)))
@quick
def test_chance_is_a_share_and_ends_at_zero(
    weed: str, daily: np.ndarray, begun: np.datetime64, mode: Mode
) -> None:
    """A chance lies in 0…1, is 0 before emergence and equals a count of outcomes."""
    if mode not in shipped()[weed].windows:
        return
    window = window_of(season.project(shipped()[weed], daily, APRIL, begun), mode)
    days = np.arange(DAYS + 1.0)
    chance = chance_open(window, days)
    assert ((chance >= 0) & (chance <= 1)).all()
    assert chance[0] == 0.0
    pairs = zip(window.open.ravel(), window.closed.ravel(), strict=True)
    inside = sum(1 for begin, end in pairs if begin <= 150.0 < end)
    assert chance[150] == inside / window.open.size


@given(weed_ids, st.lists(st.floats(0, 3000), min_size=2, max_size=20), shifts)
@quick
def test_shares_lie_in_0_to_1_and_never_fall(
    weed: str, thermal: list[float], shift: float
) -> None:
    """As thermal time goes on, no head goes back; later stages hold fewer heads."""
    now = np.sort(np.array(thermal))
    past = np.stack(
        [heads.share_past(shipped()[weed], stage, now, shift=shift) for stage in Stage]
    )
    assert ((past >= 0) & (past <= 1)).all()
    assert (np.diff(past, axis=1) >= 0).all()
    assert (np.diff(past, axis=0) <= 0).all()


@given(st.lists(st.floats(0, 20), min_size=60, max_size=60), st.integers(0, 59))
@quick
def test_more_rain_never_delays_the_break(falls: list[float], day: int) -> None:
    """Adding rain to a day never puts the break off; losing a figure never hastens."""
    rain = np.array(falls)
    more, less = rain.copy(), rain.copy()
    more[day] += 10.0
    less[day] = np.nan
    usual, sooner, later = (find_break(each, APRIL) for each in (rain, more, less))
    if usual is not None:
        assert sooner is not None
        assert sooner.day <= usual.day
    if later is not None:
        assert usual is not None
        assert usual.day <= later.day
