"""Promises that must hold for any weather: found false, a neighbour is drifted on."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from forecaster.domain.place import Place
from forecaster.domain.spraying import blocks
from forecaster.domain.spraying.hours import Judgement, judge
from forecaster.domain.spraying.limits import Limit, Quantity, Verdict
from forecaster.domain.spraying.quantities import Exposure, measure, values
from forecaster.domain.weather import (
    Floats,
    Origin,
    Provenance,
    WeatherFrame,
    empty_columns,
)
from forecaster.settings.actives import Label, label_limits, load_actives
from forecaster.settings.limits import load_limits
from forecaster.settings.shipped import config_folder

PLACE = Place(-37.6, 142.3, 420.0, "Australia/Melbourne")
START = np.datetime64("2026-10-11T00:00", "s")
HOUR = np.timedelta64(3600, "s")
EXPOSED = np.zeros(360, dtype=bool)
EXPOSED[150:270] = True
EXPOSURE = Exposure(EXPOSED)
ACTIVE = load_actives(config_folder() / "actives")["glyphosate"]
LABEL = Label(
    "glyphosate", True, "a test", None, "a test",
    {"wind_min_kmh": 3.0, "wind_max_kmh": 20.0, "rain_free_hours": 6.0,
     "inversion_restraint": 2.0},
    ("barley_grass",),
)  # fmt: skip
LIMITS = (
    *label_limits(ACTIVE, LABEL),
    *load_limits(config_folder() / "limits")["translocated"],
)
LONGEST_LOOK_BACK = 72
LONGEST_LOOK_AHEAD = 6


def weather(seed: int, hours: int = 120, holes: float = 0.0) -> WeatherFrame:
    """Any weather at all, mild enough on the whole for some hours to be good."""
    rng = np.random.default_rng(seed)
    columns = empty_columns(hours)
    clock = np.arange(hours) % 24
    day = np.clip(np.sin((clock + 4) / 24 * 2 * np.pi), -1, 1)  # noon in the east
    columns["air_temperature"] = 13 + 6 * day + rng.normal(0, 1.5, hours)
    columns["relative_humidity"] = np.clip(
        62 - 18 * day + rng.normal(0, 8, hours), 5, 100
    )
    columns["pressure"] = np.full(hours, 965.0)
    columns["wind_speed"] = np.abs(rng.normal(3.6, 1.2, hours))
    columns["wind_from"] = rng.uniform(0, 360, hours)
    columns["wind_gust"] = columns["wind_speed"] * 1.3
    columns["rain"] = np.where(rng.random(hours) < 0.015, rng.gamma(1, 2, hours), 0.0)
    columns["cloud"] = rng.random(hours)
    columns["low_cloud"] = columns["cloud"] * rng.random(hours)
    columns["radiation"] = np.clip(700 * day, 0, None)
    columns["air_temperature_80m"] = columns["air_temperature"] - 1.2 * np.sign(day)
    columns["rain_chance"] = rng.uniform(0, 15, hours)
    for name in columns:
        columns[name] = np.where(rng.random(hours) < holes, np.nan, columns[name])
    return WeatherFrame(
        time=START + np.arange(hours) * HOUR,
        **columns,
        origin=np.full(hours, Origin.FORECAST, np.uint8),
        provenance=Provenance("a test", "none", START),
        marks={},
    )


def judged(frame: WeatherFrame, limits: tuple[Limit, ...] = LIMITS) -> Judgement:
    """Every hour of ``frame`` against ``limits``."""
    air = measure(frame, PLACE, START)
    return judge(frame.time, values(air, limits, EXPOSURE), limits)


def with_columns(frame: WeatherFrame, columns: dict[str, Floats]) -> WeatherFrame:
    """The table with some of its columns put in place of its own."""
    return replace(frame, **columns)  # type: ignore[arg-type]  # names are columns


seeds = st.integers(0, 10_000)


def test_the_weather_of_these_tests_has_good_hours() -> None:
    """Otherwise the promises below would hold for want of anything to break."""
    good = sum(
        int((judged(weather(seed)).verdict == Verdict.GOOD).sum()) for seed in range(20)
    )
    assert good > 50


@settings(max_examples=60, deadline=None)
@given(seed=seeds, hour=st.integers(0, 119), fall=st.floats(0.01, 30))
def test_adding_rain_never_adds_a_good_hour(seed: int, hour: int, fall: float) -> None:
    """More rain in any hour leaves every hour as good as it was, or worse."""
    dry = weather(seed)
    wetter = dry.rain.copy()
    wetter[hour] += fall
    before, after = judged(dry), judged(replace(dry, rain=wetter))
    good_before = before.verdict == Verdict.GOOD
    good_after = after.verdict == Verdict.GOOD
    assert not (good_after & ~good_before).any()


@settings(max_examples=60, deadline=None)
@given(
    seed=seeds,
    which=st.integers(0, len(LIMITS) - 1),
    amount=st.floats(0.0, 5.0),
)
def test_tightening_a_limit_never_lengthens_a_block(
    seed: int, which: int, amount: float
) -> None:
    """Each block under the tighter limit lies inside one under the looser."""
    frame = weather(seed)
    tighter = tuple(
        limit.tightened(amount) if number == which else limit
        for number, limit in enumerate(LIMITS)
    )
    loose = blocks.find(judged(frame))
    for block in blocks.find(judged(frame, tighter)):
        assert any(b.first <= block.first and block.end <= b.end for b in loose)


@settings(max_examples=60, deadline=None)
@given(flags=st.lists(st.booleans(), max_size=80))
def test_blocks_are_disjoint_maximal_and_cover_exactly(flags: list[bool]) -> None:
    """Painting the blocks gives the flags back, and no two blocks touch."""
    found = blocks.of(np.array(flags, dtype=bool))
    painted = [False] * len(flags)
    for block in found:
        assert block.hours >= 1
        for row in range(block.first, block.end):
            assert not painted[row]
            painted[row] = True
    assert painted == flags
    assert all(a.end < b.first for a, b in pairwise(found))


@settings(max_examples=40, deadline=None)
@given(seed=seeds, cut=st.integers(0, 120), holes=st.sampled_from([0.0, 0.02]))
def test_splitting_a_run_changes_no_decision(seed: int, cut: int, holes: float) -> None:
    """Judged in two pieces that keep what an hour looks back and ahead on.

    Without that context an hour may become unknown or worse, never better.
    """
    whole = weather(seed, holes=holes)
    everything = judged(whole)
    back = max(cut - LONGEST_LOOK_BACK, 0)
    later = judged(whole.between(whole.time[back], whole.time[-1] + HOUR))
    np.testing.assert_array_equal(later.verdict[cut - back :], everything.verdict[cut:])
    earlier = judged(
        whole.between(whole.time[0], START + (cut + LONGEST_LOOK_AHEAD) * HOUR)
    )
    np.testing.assert_array_equal(earlier.verdict[:cut], everything.verdict[:cut])
    if cut < len(whole):
        bare = judged(whole.between(START + cut * HOUR, START + 120 * HOUR))
        good = bare.verdict == Verdict.GOOD
        assert (everything.verdict[cut:][good] == Verdict.GOOD).all()


NEEDED = ("air_temperature", "relative_humidity", "wind_speed", "wind_from", "rain")


@settings(max_examples=40, deadline=None)
@given(seed=seeds, name=st.sampled_from(NEEDED))
def test_a_missing_value_never_makes_an_hour_good(seed: int, name: str) -> None:
    """Blanking one quantity everywhere leaves no good hour at all."""
    frame = weather(seed)
    blank = with_columns(frame, {name: np.full(len(frame), np.nan)})
    assert not (judged(blank).verdict == Verdict.GOOD).any()


@settings(max_examples=40, deadline=None)
@given(seed=seeds, holes=st.floats(0.01, 0.5))
def test_gaps_never_add_a_good_hour(seed: int, holes: float) -> None:
    """Knowing less, in any quantity, never turns an hour good."""
    frame = weather(seed)
    rng = np.random.default_rng(seed + 1)
    lost = {
        name: np.where(rng.random(len(frame)) < holes, np.nan, getattr(frame, name))
        for name in ("air_temperature", "wind_speed", "rain", "cloud", "low_cloud",
                     "radiation", "air_temperature_80m")
    }  # fmt: skip
    before = judged(frame).verdict == Verdict.GOOD
    after = judged(with_columns(frame, lost)).verdict == Verdict.GOOD
    assert not (after & ~before).any()


@settings(max_examples=30, deadline=None)
@given(seed=seeds)
def test_an_unconfirmed_label_number_never_gives_a_good_hour(seed: int) -> None:
    """With any one label number unconfirmed no hour of any week is good."""
    frame = weather(seed)
    own = [n for n, limit in enumerate(LIMITS) if limit.id.startswith("glyphosate.")]
    for number in own:
        limits = tuple(
            replace(limit, confirmed=False) if n == number else limit
            for n, limit in enumerate(LIMITS)
        )
        assert not (judged(frame, limits).verdict == Verdict.GOOD).any()


def test_advice_alone_never_holds_an_hour() -> None:
    """However bad the hour, limits of the rank advice leave it at look first."""
    advice = tuple(
        limit for limit in LIMITS
        if limit.rank.value == "advice" and limit.quantity is not Quantity.WEATHER_AGE
    )  # fmt: skip
    for seed in range(10):
        storm = weather(seed)
        storm = replace(storm, wind_speed=storm.wind_speed + 20, rain=storm.rain + 5)
        assert (judged(storm, advice).verdict > Verdict.HOLD).all()
