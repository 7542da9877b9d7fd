"""Expected effect: against integrals over the heads, and the published numbers."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.domain.growth import control, effect, heads, season
from forecaster.domain.growth.belief import Belief
from forecaster.domain.growth.stage import Stage
from forecaster.settings.controls import load_controls
from forecaster.settings.shipped import config_folder

if TYPE_CHECKING:
    from forecaster.domain.growth.control import WeedControl
    from forecaster.domain.growth.season import Projection
    from forecaster.domain.growth.weed import Mode, Weed
    from forecaster.domain.sourced import Sourced
    from forecaster.domain.weather import Floats

APRIL = np.datetime64("2026-04-01")
DAYS = 275
PER_DAY = 12.0
LEYS = {
    "translocated": {"heading": 0.84, "flowering": 0.83, "watery": 0.28},
    "contact": {"heading": 0.59, "flowering": 0.81, "watery": 0.59},
}
"""Leys, Cullis & Plater 1991, Australian Journal of Agricultural Research
42(8):1405–1415, abstract: control at heading, anthesis and early grain filling."""


@pytest.fixture(scope="module")
def silver(weeds: dict[str, Weed]) -> WeedControl:
    """What we ship on silver grass."""
    return load_controls(config_folder() / "control", weeds)["silver_grass"]


def with_value(number: Sourced, value: float) -> Sourced:
    """The same number with another value."""
    return replace(number, value=value, low=min(number.low, value))


def even_season(
    weed: Weed,
    *,
    shift_sd: float | None = None,
    nodes: Floats | None = None,
    traces: int = 1,
    gap: int | None = None,
) -> Projection:
    """A season of equal days; each trace is a little warmer than the one before."""
    warmth = PER_DAY + 0.5 * np.arange(traces)
    daily = np.repeat(warmth[:, None], DAYS, axis=1)
    if gap is not None:
        daily[0, gap] = np.nan
    return season.project(
        weed,
        daily,
        APRIL,
        APRIL,
        belief=Belief.prior(weed, 1, shift_sd=shift_sd),
        nodes=season.equal_nodes() if nodes is None else nodes,
    )


def day_at(projection: Projection, thermal_time: float) -> float:
    """The day of one trace on which a thermal time since emergence is reached."""
    wanted = np.full((1, 1, 1, 1), thermal_time)
    return float(projection.days_at(wanted)[0, 0, 0, 0])


def levels_of(trial: WeedControl, mode: Mode, weed: Weed) -> Floats:
    """Low, middle and high control of each class."""
    return control.levels(control.by_class(trial.trials[mode], weed))


@pytest.mark.parametrize("mode", ["translocated", "contact"])
@pytest.mark.parametrize("stage", ["heading", "flowering", "watery"])
def test_the_trial_comes_out_where_all_heads_stand_at_its_stage(
    weeds: dict[str, Weed], silver: WeedControl, mode: Mode, stage: str
) -> None:
    """Even heads in the middle of a class give the published number and its range.

    Silver grass flowers as it heads, so no head of it stands at heading alone; the
    clock of barley grass, which keeps the two apart, carries the numbers here.
    """
    weed = weeds["barley_grass"]
    even = replace(weed, spread=with_value(weed.spread, 1.0))
    projection = even_season(even, nodes=np.zeros(1))
    at = Stage[stage.upper()]
    following = heads.STAGES[heads.STAGES.index(at) + 1]
    middle = (even.position(at) + even.position(following)) / 2
    found = effect.prevented_on(
        projection, levels_of(silver, mode, even), [day_at(projection, middle)]
    )
    published = LEYS[mode][stage]
    assert found.likely[0] == pytest.approx(published, abs=1e-6)
    assert found.low[0] <= published - 0.05
    assert found.high[0] >= published + 0.05


@pytest.mark.parametrize("mode", ["translocated", "contact"])
def test_the_sum_over_classes_is_the_integral_over_heads(
    weeds: dict[str, Weed], silver: WeedControl, mode: Mode
) -> None:
    """SciPy integrates the control of single heads over their normal spread.

    A head that lies ε SDs late is at the last stage whose own thermal time, spread
    and error of that outcome it has reached.
    """
    from scipy.integrate import quad

    weed = weeds["silver_grass"]
    levels = levels_of(silver, mode, weed)
    nodes = np.array([-1.2, 0.0, 0.7])
    projection = even_season(weed, nodes=nodes)
    sd = weed.spread.value
    for thermal_time in (780.0, 850.0, 905.0, 1000.0):
        day = day_at(projection, thermal_time)
        found = effect.outcomes(projection, levels, [day])[:, 0, 0]
        for place in range(nodes.size):
            edges = [
                (thermal_time - projection.half_past(stage)[0, 0, place]) / sd
                for stage in heads.STAGES
            ]

            def density(late: float, row: int, edges: list[float] = edges) -> float:
                reached = sum(late <= edge for edge in edges)
                weight = math.exp(-late * late / 2) / math.sqrt(2 * math.pi)
                return float(levels[row, reached]) * weight

            for row in range(3):
                breaks = sorted({edge for edge in edges if -9 < edge < 9})
                expected, _ = quad(
                    density, -9, 9, args=(row,), points=breaks, limit=200
                )
                assert found[row, place] == pytest.approx(expected, abs=1e-6)


def test_the_likely_effect_is_that_of_heads_drawn_at_random(
    weeds: dict[str, Weed], silver: WeedControl
) -> None:
    """A million heads drawn at random (NumPy, seed 4) agree within 0.2 %."""
    weed = weeds["silver_grass"]
    levels = levels_of(silver, "translocated", weed)
    projection = even_season(weed, nodes=np.zeros(1))
    thermal_time = 900.0
    late = np.random.default_rng(4).normal(0.0, weed.spread.value, 1_000_000)
    edges = np.array([weed.position(stage) for stage in heads.STAGES])
    classes = np.searchsorted(edges, thermal_time - late, side="right")
    found = effect.prevented_on(projection, levels, [day_at(projection, thermal_time)])
    assert found.likely[0] == pytest.approx(levels[1][classes].mean(), abs=0.002)


def test_a_wider_trial_gives_a_wider_range(
    weeds: dict[str, Weed], silver: WeedControl
) -> None:
    """Ranges nest: within 0 to 1, around the likely effect, and inside a wider one."""
    weed = weeds["silver_grass"]
    projection = even_season(weed, traces=5)
    days = np.arange(60.0, DAYS)
    narrow = levels_of(silver, "contact", weed)
    wide = narrow + np.array([[-0.05], [0.0], [0.05]])
    inner = effect.prevented_on(projection, narrow, days)
    outer = effect.prevented_on(projection, np.clip(wide, 0.0, 1.0), days)
    assert (outer.low <= inner.low + 1e-12).all()
    assert (inner.low <= inner.likely).all()
    assert (inner.likely <= inner.high).all()
    assert (inner.high <= outer.high + 1e-12).all()
    assert inner.low.min() >= 0.0
    assert inner.high.max() <= 0.91 + 1e-12


def test_a_known_heading_date_narrows_the_range(
    weeds: dict[str, Weed], silver: WeedControl
) -> None:
    """A heading date good to 20 °C d instead of 115 leaves a narrower range."""
    weed = weeds["silver_grass"]
    levels = levels_of(silver, "translocated", weed)
    width = []
    for shift_sd in (None, 20.0):
        projection = even_season(weed, shift_sd=shift_sd)
        days = effect.heading_season(projection)
        best = effect.best_of(days, effect.prevented_on(projection, levels, days))
        width.append(float(best.prevented.high - best.prevented.low))
    assert width[1] < width[0]


def test_a_better_known_later_stage_does_not_overtake(
    weeds: dict[str, Weed], silver: WeedControl
) -> None:
    """No outcome leaves the bounds of the classes, however the errors go together."""
    weed = weeds["barley_grass"]
    levels = levels_of(silver, "translocated", weed)
    belief = Belief(
        np.array([[0.0, 0.0, 1.0]]),
        np.array([[[90.0**2, -30.0, 0.0], [-30.0, 0.5, 0.0], [0.0, 0.0, 0.0]]]),
    )
    projection = replace(even_season(weed), belief=belief)
    found = effect.outcomes(projection, levels, np.arange(60.0, DAYS))
    assert (found >= levels.min(axis=1)[:, None, None, None] - 1e-12).all()
    assert (found <= levels.max(axis=1)[:, None, None, None] + 1e-12).all()


def test_the_best_day_of_even_heads_is_in_the_best_class(
    weeds: dict[str, Weed], silver: WeedControl
) -> None:
    """Glyphosate by the trial: from heading on, before the grain begins to fill.

    Even heads, no error: the day must lie between the days of heading and watery, and
    the effect is that of the class.
    """
    weed = weeds["silver_grass"]
    even = replace(weed, spread=with_value(weed.spread, 1.0))
    projection = even_season(even, nodes=np.zeros(1))
    days = effect.heading_season(projection)
    levels = levels_of(silver, "translocated", even)
    best = effect.best_of(days, effect.prevented_on(projection, levels, days))
    assert day_at(projection, even.position(Stage.HEADING)) < best.day
    assert best.day < day_at(projection, even.position(Stage.WATERY))
    assert best.prevented.likely == pytest.approx(0.83, abs=1e-6)


def test_the_first_of_equal_days_is_best() -> None:
    """Two days alike: the earlier; each with its own low and high."""
    prevented = effect.Prevented(
        np.array([0.1, 0.2, 0.3]), np.array([0.4, 0.6, 0.6]), np.array([0.7, 0.8, 0.9])
    )
    best = effect.best_of(np.array([5.5, 6.5, 7.5]), prevented)
    assert float(best.day) == 6.5
    assert [float(each) for each in best.prevented] == [0.2, 0.6, 0.8]


def test_a_gap_in_the_weather_leaves_the_effect_unknown(
    weeds: dict[str, Weed], silver: WeedControl
) -> None:
    """Known up to the gap, unknown after it, and no best day."""
    weed = weeds["silver_grass"]
    levels = levels_of(silver, "contact", weed)
    projection = even_season(weed, traces=3, gap=100)
    found = effect.prevented_on(projection, levels, [99.5, 120.5])
    for each in found:
        assert np.isnan(each).tolist() == [False, True]
    assert effect.heading_season(projection).size == 0
    days = np.array([99.5, 120.5])
    best = effect.best_of(days, found)
    assert np.isnan(best.day)
    assert all(np.isnan(each) for each in best.prevented)


def test_no_day_asked_gives_no_effect(
    weeds: dict[str, Weed], silver: WeedControl
) -> None:
    """A week without a block is not a fault."""
    weed = weeds["silver_grass"]
    levels = levels_of(silver, "contact", weed)
    found = effect.prevented_on(even_season(weed), levels, np.empty(0))
    assert [each.shape for each in found] == [(0,)] * 3


def test_weather_that_ends_before_the_seed_is_hard_has_no_best_day(
    weeds: dict[str, Weed],
) -> None:
    """The best day may lie beyond it."""
    weed = weeds["silver_grass"]
    short = season.project(weed, np.full((1, 145), PER_DAY), APRIL, APRIL)
    assert np.isfinite(short.stage_dates((Stage.HEADING,)).early).all()
    assert effect.heading_season(short).size == 0


def test_each_paddock_has_its_own_effect(
    weeds: dict[str, Weed], silver: WeedControl
) -> None:
    """Two breaks at once give what each gives alone."""
    weed = weeds["silver_grass"]
    levels = levels_of(silver, "translocated", weed)
    daily = np.full((2, DAYS), PER_DAY)
    breaks = np.array(["2026-04-01", "2026-05-01"], dtype="datetime64[D]")
    both = season.project(weed, daily, APRIL, breaks)
    days = np.arange(80.5, 200.5)
    found = effect.prevented_on(both, levels, days)
    assert found.likely.shape == (days.size, 2)
    for place, begun in enumerate(breaks):
        alone = season.project(weed, daily, APRIL, begun)
        for mine, own in zip(
            found, effect.prevented_on(alone, levels, days), strict=True
        ):
            np.testing.assert_allclose(mine[:, place], own, atol=1e-12)
    best = effect.best_of(days, found)
    assert best.day.shape == (2,)
    assert best.day[0] < best.day[1]
