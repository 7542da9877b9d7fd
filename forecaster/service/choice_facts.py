"""What the decision table asks, gathered for one paddock."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.choice.decide import against
from forecaster.domain.choice.facts import ActiveHere, Facts, Heads, WeedHere
from forecaster.domain.choice.rows import Answer
from forecaster.domain.growth.heads import STAGES
from forecaster.domain.growth.season import stages_now
from forecaster.domain.growth.stage import Stage
from forecaster.domain.outlook import Against
from forecaster.domain.planning.windows import Status, status_of
from forecaster.service.feed_view import feed_short
from forecaster.service.likely import finite
from forecaster.service.look_view import is_uneven
from forecaster.service.moments import local_day
from forecaster.service.paddock_window import paddock_window, timed_for_toxicity
from forecaster.service.stock_view import today
from forecaster.settings.actives import label_limits

if TYPE_CHECKING:
    from collections.abc import Mapping

    from forecaster.domain.choice.facts import Sward
    from forecaster.domain.growth.season import Projection
    from forecaster.service.farm_day import FarmDay
    from forecaster.settings.actives import Active
    from forecaster.settings.farm import Paddock

Chances = tuple[float, float]
LONG_LIVED = 0.1
"""[share] of next year's seedlings from older seed from which its seed is called
long-lived. Assumed."""
MONTH = np.timedelta64(2_629_746, "s")  # a twelfth of the Gregorian year


def typed_facts(day: FarmDay, paddock: Paddock) -> Facts:
    """What is known without the weather: what was typed of labels, sward and stock.

    Whether feed runs short is what is typed of the paddock, else what the budget says.
    """
    farm = day.farm
    weed = farm.weeds[paddock.target]
    control = farm.controls.get(paddock.target)
    typed = paddock.typed
    return Facts(
        hectares=paddock.hectares,
        target=paddock.target,
        weeds=tuple(
            WeedHere(each, farm.weeds[each].name, None, None) for each in paddock.weeds
        ),
        actives=tuple(
            _active(day, paddock, farm.actives[each]) for each in paddock.actives
        ),
        sward=_aged(typed.sward, typed.sown, today(day)),
        uneven=None,
        toxicity=timed_for_toxicity(paddock, weed),
        feed_short=feed_short(day.feed, paddock)
        if typed.feed_short is None
        else typed.feed_short,
        priority_stock=typed.priority_stock,
        sheep=typed.sheep,
        long_lived=control is not None and control.carry_over.value >= LONG_LIVED,
        accepts_late=typed.accepts_late,
    )


def against_active(day: FarmDay, facts: Facts, active: str) -> Against | None:
    """The first row that a typed fact of a paddock turns against an active.

    ``facts`` are the paddock's :func:`typed_facts`; what hangs on heads, windows or
    labels the outlook's own steps tell.
    """
    found = against(day.farm.choice, facts, active)
    if found is None or found.row.answer is not Answer.LEAVE:
        return None
    return Against(found.row.id, found.row.advice)


def facts_of(
    day: FarmDay, paddock: Paddock, blocks: Mapping[str, Chances | None]
) -> Facts:
    """Everything the table asks; ``blocks`` holds the chance of one by active."""
    bare = typed_facts(day, paddock)
    growth = day.growth
    projection = growth.projection(paddock.target, paddock)
    scouted = growth.scouting.of(paddock, paddock.target)
    return replace(
        bare,
        weeds=tuple(_weed(day, paddock, each) for each in paddock.weeds),
        actives=tuple(
            replace(
                each,
                status=_status(day, paddock, projection, each),
                block=blocks.get(each.id),
            )
            for each in bare.actives
        ),
        uneven=None
        if scouted is None
        else is_uneven(growth.scouting.chance_uneven(scouted)),
    )


def _weed(day: FarmDay, paddock: Paddock, weed: str) -> WeedHere:
    projection = day.growth.projection(weed, paddock)
    now = day.growth.season.day_of(day.weather.now)
    headed = finite(projection.stage_dates((Stage.HEADING,)).likely[..., 0])
    shares = stages_now(projection, now).at
    return WeedHere(
        weed,
        projection.weed.name,
        None if bool(np.isnan(shares).any()) else _heads(shares),
        None if headed is None else headed - now,
    )


def _heads(shares: np.typing.NDArray[np.float64]) -> Heads:
    """Shares not out and at each stage, gathered as the table names them."""
    at = dict(zip((None, *STAGES), shares.tolist(), strict=True))
    return Heads(
        not_out=at[None],
        out=at[Stage.HEADING] + at[Stage.FLOWERING],
        milk=at[Stage.WATERY] + at[Stage.MILK] + at[Stage.LATE_MILK],
        dough=at[Stage.SOFT_DOUGH],
        hard=at[Stage.HARD_DOUGH],
    )


def _active(day: FarmDay, paddock: Paddock, active: Active) -> ActiveHere:
    farm = day.farm
    label = farm.labels.get(active.id)
    spring = local_day(day.weather.now, day.weather.place.zone).year
    return ActiveHere(
        id=active.id,
        mode=active.mode,
        controls=active.mode in farm.weeds[paddock.target].windows,
        label=label is not None
        and all(limit.confirmed for limit in label_limits(active, label)),
        on_label=label is not None and paddock.target in label.weeds,
        resists=paddock.typed.resists.get(active.id),
        springs=paddock.springs.running(active.id, spring),
        status=Status.UNKNOWN,
        block=None,
    )


def _status(
    day: FarmDay, paddock: Paddock, projection: Projection, active: ActiveHere
) -> Status:
    """Of the window itself: a sprayed paddock's counts on."""
    window = paddock_window(paddock, projection, active.mode)
    if window is None:
        return Status.UNKNOWN
    now = day.growth.season.day_of(day.weather.now)
    return status_of(window, now).status


def _aged(sward: Sward, sown: np.datetime64 | None, today: np.datetime64) -> Sward:
    if sown is None:
        return sward
    age = (today - sown) / MONTH
    return replace(sward, age_months=max(float(age), 0.0))
