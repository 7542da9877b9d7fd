"""Pieces of the Outlook: stages, windows, blocks, bars and the next step."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.heads import STAGES
from forecaster.domain.growth.season import stages_now
from forecaster.domain.growth.stage import Stage
from forecaster.domain.growth.stage_window import window_dates
from forecaster.domain.outlook import (
    ActiveOutlook,
    Days,
    StageView,
    WindowView,
)
from forecaster.domain.planning.next_step import Standing, next_step
from forecaster.domain.planning.windows import Status, status_of, still_open
from forecaster.domain.planning.withholding import NOT_TYPED
from forecaster.domain.spraying.limits import Verdict
from forecaster.service.block_views import bars_of, block_views
from forecaster.service.chance import chances_of
from forecaster.service.choice_facts import against_active, typed_facts
from forecaster.service.effect_views import effect_view
from forecaster.service.judging import judge_paddock
from forecaster.service.likely import finite, likely
from forecaster.service.paddock_window import paddock_window, timed_for_toxicity
from forecaster.service.week_views import hour_runs
from forecaster.settings.actives import label_limits

if TYPE_CHECKING:
    from forecaster.domain.growth.quantiles import Range
    from forecaster.domain.growth.season import Projection
    from forecaster.domain.growth.weed import Weed
    from forecaster.domain.planning.withholding import Withholding
    from forecaster.service.farm_day import FarmDay
    from forecaster.settings.actives import Active, Label
    from forecaster.settings.farm import Farm, Paddock
    from forecaster.sources.season import Season

NOT_OUT = "heads not out yet"
DAYS_AHEAD = 14
"""Days for which the chance that a window is open is told."""
HALF = 0.5


def stage_view(
    projection: Projection, season: Season, now: np.datetime64
) -> StageView | None:
    """Where the heads stand now, or None where that cannot be told."""
    past = stages_now(projection, season.day_of(now)).past
    if bool(np.isnan(past.likely).any()):
        return None
    reached = [_furthest(past.early), _furthest(past.likely), _furthest(past.late)]
    headed = projection.stage_dates((Stage.HEADING,))
    return StageView(
        early=reached[0],
        likely=reached[1],
        late=reached[2],
        words=tuple(_words(projection.weed, stage) for stage in reached),  # type: ignore[arg-type]  # three of three
        half_headed=likely(_first(headed), season),
        patchy=bool(projection.patchy),
    )


def _furthest(shares: np.typing.NDArray[np.float64]) -> Stage | None:
    """The last stage that half of the heads have reached."""
    reached = [
        stage for stage, share in zip(STAGES, shares, strict=True) if share >= HALF
    ]
    return reached[-1] if reached else None


def _words(weed: Weed, stage: Stage | None) -> str:
    return NOT_OUT if stage is None else weed.stage_words[stage]


def active_outlook(
    day: FarmDay,
    paddock: Paddock,
    active: Active,
    projection: Projection,
    *,
    uneven: bool = False,
) -> ActiveOutlook:
    """One active on the paddock's target weed."""
    farm, air = day.farm, day.air
    judgement = judge_paddock(farm, air, paddock, active, paddock.target)
    stage_window = _StageWindow.of(day, projection, active, paddock)
    chances = chances_of(air, paddock, judgement, farm.errors)
    good, looks = (
        block_views(judgement, air, verdict, stage_window.view, chances)
        for verdict in (Verdict.GOOD, Verdict.LOOK_FIRST)
    )
    against = against_active(day, typed_facts(day, paddock), active.id)
    standing = _standing(farm, paddock, active, stage_window)
    standing = replace(
        standing,
        uneven=uneven and not timed_for_toxicity(paddock, projection.weed),
        against=against is not None,
    )
    step, block = next_step(standing, good, looks)
    return ActiveOutlook(
        active=active.id,
        mode=active.mode,
        status=stage_window.status,
        window=stage_window.view,
        days_to_close=stage_window.to_close,
        chance_open_now=stage_window.open_now,
        chance_open=stage_window.chances,
        blocks=good,
        look_first=looks,
        bars=bars_of(judgement, air.daylight),
        hours=int(air.daylight.sum()),
        step=step,
        step_block=block,
        effect=effect_view(
            projection,
            day.growth.season,
            farm.controls.get(paddock.target),
            active.mode,
            good + looks,
        ),
        toxicity=timed_for_toxicity(paddock, projection.weed),
        week=hour_runs(judgement, air.daylight),
        withholding=_withholding(farm.labels.get(active.id)),
        against=against,
    )


def _standing(
    farm: Farm, paddock: Paddock, active: Active, window: _StageWindow
) -> Standing:
    """What is known of the window, the label and what lies around."""
    label = farm.labels.get(active.id)
    return Standing(
        status=window.status,
        has_window=window.view is not None,
        confirmed=label is not None
        and all(limit.confirmed for limit in label_limits(active, label)),
        on_label=label is not None and paddock.target in label.weeds,
        surveyed=paddock.surveyed,
    )


def _withholding(label: Label | None) -> Withholding:
    return NOT_TYPED if label is None else label.withholding


@dataclass(frozen=True, slots=True)
class _StageWindow:
    """The stage window as the outlook tells it; without one, all is unknown."""

    view: WindowView | None = None
    status: Status = Status.UNKNOWN
    to_close: Days | None = None
    open_now: float = float("nan")
    chances: tuple[tuple[np.datetime64, float], ...] = ()

    @classmethod
    def of(
        cls, farm_day: FarmDay, projection: Projection, active: Active, paddock: Paddock
    ) -> _StageWindow:
        window = paddock_window(paddock, projection, active.mode)
        if window is None:
            return cls()
        season = farm_day.growth.season
        day = season.day_of(farm_day.weather.now)
        standing = status_of(window, day, sprayed=paddock.sprayed is not None)
        dates = window_dates(window)
        edges = (dates.open, dates.best_from, dates.best_until, dates.closed)
        noons = np.floor(day) + 0.5 + np.arange(DAYS_AHEAD)
        chances = zip(noons.tolist(), still_open(window, noons).tolist(), strict=True)
        return cls(
            view=WindowView(*(likely(edge, season) for edge in edges)),
            status=standing.status,
            to_close=Days(*(finite(edge) for edge in standing.days_to_close)),
            open_now=standing.open_now,
            chances=tuple((season.moment_of(noon), share) for noon, share in chances),
        )


def _first(edges: Range) -> Range:
    return type(edges)(*(edge[..., 0] for edge in edges))
