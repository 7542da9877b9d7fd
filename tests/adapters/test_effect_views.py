"""The effect of blocks and of the best day, on the demo farm and on made-up ones."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.domain.growth.effect import heading_season
from forecaster.domain.growth.stage import Stage
from forecaster.domain.outlook import EffectView
from forecaster.service.daily import outlook
from forecaster.service.effect_views import effect_view
from forecaster.service.explain_view import explain
from forecaster.service.wiring import chosen

if TYPE_CHECKING:
    from forecaster.domain.outlook import ActiveOutlook, Band
    from forecaster.service.farm_day import FarmDay


def actives(day: FarmDay) -> dict[tuple[str, str], ActiveOutlook]:
    """Every active of the demo by paddock."""
    return {
        (paddock.name, active.active): active
        for paddock in outlook(day, demo=True).paddocks
        for active in paddock.actives
    }


def in_order(band: Band | None) -> bool:
    """0 ≤ low ≤ likely ≤ high ≤ 1."""
    assert band is not None
    return 0.0 <= band.low <= band.likely <= band.high <= 1.0


def test_every_block_has_its_effect_and_none_beats_the_best_day(
    demo_day: FarmDay,
) -> None:
    """Silver grass: one effect a block in order, likely at most that of the best day.

    The best day is taken at noon and a block at its own middle, so a block may lead by
    what half a day is worth.
    """
    for (_, name), active in actives(demo_day).items():
        effect = active.effect
        assert effect is not None
        if not effect.published:
            continue
        assert name in {"glyphosate", "paraquat"}
        runs = active.blocks + active.look_first
        assert [each.at for each in effect.blocks] == [run.start for run in runs]
        assert effect.best is not None
        assert effect.best.prevented is not None
        for each in (*effect.blocks, effect.best):
            assert in_order(each.prevented)
            assert in_order(each.seedlings)
            assert each.prevented is not None
            assert each.prevented.likely <= effect.best.prevented.likely + 0.02


def test_only_the_weed_with_a_trial_is_told(demo_day: FarmDay) -> None:
    """Silver grass has a published trial; barley grass, brome, ryegrass have none."""
    found = actives(demo_day)
    for paddock, active in (("House", "glyphosate"), ("Creek Flat", "paraquat")):
        effect = found[paddock, active].effect
        assert effect is not None
        assert effect.published
    for paddock, active in (
        ("Woolshed", "paraquat"),
        ("Lone Gum", "glyphosate"),
        ("Vine Boundary", "glyphosate"),
    ):
        assert found[paddock, active].effect == EffectView(published=False)


def test_seedlings_next_year_take_the_far_ends_together(demo_day: FarmDay) -> None:
    """Least where most is prevented and least carried over, by 1 − (1 − c)k.

    Silver grass: c from 0 to 0.05, likely 0.01 (its control file). The other form of
    (1 − k)(1 − c) + c, so a slip in either shows.
    """
    effect = actives(demo_day)["House", "glyphosate"].effect
    assert effect is not None
    assert effect.best is not None
    prevented, seedlings = effect.best.prevented, effect.best.seedlings
    assert prevented is not None
    assert seedlings is not None
    assert seedlings.low == pytest.approx(1 - prevented.high)
    assert seedlings.likely == pytest.approx(1 - 0.99 * prevented.likely)
    assert seedlings.high == pytest.approx(1 - 0.95 * prevented.low)


def test_a_way_of_spraying_without_a_window_asks_for_no_effect(
    demo_day: FarmDay,
) -> None:
    """A contact active on capeweed has no window, and so no effect to tell."""
    paddock, _ = chosen(demo_day, "Stony Rise", None)
    projection = demo_day.growth.projection("capeweed", paddock)
    control = demo_day.farm.controls["capeweed"]
    season = demo_day.growth.season
    assert effect_view(projection, season, control, "contact", ()) is None
    without = effect_view(projection, season, None, "translocated", ())
    assert without == EffectView(published=False)


def test_an_unknown_season_leaves_every_effect_unknown(demo_day: FarmDay) -> None:
    """Unknown warmth at the break: no block and no best day has a number."""
    paddock, _ = chosen(demo_day, "House", "glyphosate")
    projection = demo_day.growth.projection("silver_grass", paddock)
    unknown = replace(
        projection,
        emergence=np.full_like(projection.emergence, np.nan),
        start=np.full_like(projection.start, np.nan),
    )
    blocks = actives(demo_day)["House", "glyphosate"].blocks
    assert blocks
    found = effect_view(
        unknown,
        demo_day.growth.season,
        demo_day.farm.controls["silver_grass"],
        "translocated",
        blocks,
    )
    assert found is not None
    assert found.published
    assert found.best is None
    assert all(each.prevented is None for each in found.blocks)
    assert all(each.seedlings is None for each in found.blocks)


def test_a_gap_after_the_block_takes_only_the_best_day(demo_day: FarmDay) -> None:
    """What is known is told; the best of days that are partly unknown is not."""
    paddock, _ = chosen(demo_day, "House", "glyphosate")
    projection = demo_day.growth.projection("silver_grass", paddock)
    season = demo_day.growth.season
    late = season.day_of(demo_day.weather.now) + 20.0
    gappy = replace(projection, gap=np.full_like(projection.gap, late))
    blocks = actives(demo_day)["House", "glyphosate"].blocks
    control = demo_day.farm.controls["silver_grass"]
    found = effect_view(gappy, season, control, "translocated", blocks)
    assert found is not None
    assert found.best is None
    assert all(in_order(each.prevented) for each in found.blocks)


def test_a_trace_that_breaks_off_once_its_own_seed_is_hard_leaves_no_best_day(
    demo_day: FarmDay,
) -> None:
    """Its dates are known, but not what a spray on the days after them would do."""
    paddock, _ = chosen(demo_day, "House", "glyphosate")
    projection = replace(
        demo_day.growth.projection("silver_grass", paddock), nodes=np.zeros(1)
    )
    hard = projection.stage_days((Stage.HARD_DOUGH,))[0].max(axis=-1)
    gap = projection.gap.copy()
    gap[0, hard.argmin()] = hard.min() + 0.1
    broken = replace(projection, gap=gap)
    assert heading_season(broken).max() > hard.min() + 0.1
    season, control = demo_day.growth.season, demo_day.farm.controls["silver_grass"]
    found = effect_view(broken, season, control, "translocated", ())
    assert found == EffectView(published=True)


def test_explain_lists_the_curve_or_says_that_there_is_none(demo_day: FarmDay) -> None:
    """Eight classes with their sources, or one sentence; carry-over in both."""
    told = explain(demo_day, *chosen(demo_day, "Back Road", "paraquat"))
    curve = [line for line in told.numbers if line.what.startswith("live seed")]
    assert len(curve) == 8
    assert [line.number.value for line in curve[1:4]] == [0.59, 0.81, 0.59]
    assert "Wagga Wagga" in told.trial_note
    silent = explain(demo_day, *chosen(demo_day, "Lone Gum", None))
    assert not [line for line in silent.numbers if line.what.startswith("live seed")]
    assert silent.numbers[-1].what == "seedlings next year from older seed"
    assert "No published trial of glyphosate" in silent.trial_note


def test_a_weed_without_a_control_file_is_explained_too(demo_day: FarmDay) -> None:
    """A weed of one's own need not have one."""
    bare = replace(demo_day, farm=replace(demo_day.farm, controls={}))
    told = explain(bare, *chosen(bare, "Back Road", "paraquat"))
    assert not [line for line in told.numbers if "seed" in line.what]
    assert "No published trial of paraquat" in told.trial_note
