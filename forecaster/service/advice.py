"""Which active in one paddock, or none, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.advice import Advice, block_bounds
from forecaster.domain.choice.decide import decide
from forecaster.domain.weather import HOUR
from forecaster.service import views
from forecaster.service.choice_facts import facts_of
from forecaster.service.feed_view import costs
from forecaster.service.weather import hours_to_judge

if TYPE_CHECKING:
    from forecaster.domain.outlook import ActiveOutlook
    from forecaster.service.farm_day import FarmDay
    from forecaster.settings.farm import Paddock


def advice(day: FarmDay, paddock: Paddock, *, demo: bool = False) -> Advice:
    """Ask the decision table of one paddock.

    Same farm, weather and moment give the same advice.
    """
    farm = day.farm
    projection = day.growth.projection(paddock.target, paddock)
    actives = tuple(
        views.active_outlook(day, paddock, farm.actives[each], projection)
        for each in paddock.actives
    )
    blocks = {each.active: block_chance(day, paddock, each) for each in actives}
    choice = decide(farm.choice, facts_of(day, paddock, blocks))
    fired = choice.fired
    typed = paddock.typed
    return Advice(
        paddock=paddock.name,
        hectares=paddock.hectares,
        now=day.weather.now,
        zone=day.weather.place.zone,
        weed_name=projection.weed.name,
        weighed=tuple((farm.weeds[each.weed].name, each) for each in typed.weighed),
        picked=typed.picked,
        choice=choice,
        numbers=()
        if fired is None
        else tuple(farm.choice.numbers[name] for name in fired.row.numbers),
        actives=actives,
        sprayed=None
        if paddock.sprayed is None
        else np.datetime64(paddock.sprayed, "D"),
        costs=costs(farm, paddock, day.feed),
        currency=farm.prices.currency,
        cautions=tuple(
            line
            for each in paddock.actives
            for line in farm.actives[each].cautions
            if fired is not None and fired.active in {None, each}
        ),
        demo=demo,
    )


def block_chance(
    day: FarmDay, paddock: Paddock, active: ActiveOutlook
) -> tuple[float, float] | None:
    """Bounds of the chance of a block long enough before the likely close.

    None where the hours end before it, unless those known already hold a block.
    """
    close = None if active.window is None else active.window.closed.likely
    needed = paddock.hectares / day.farm.alerts.hectares_an_hour
    fit = [
        block.chance
        for block in active.blocks
        if block.in_window and (block.end - block.start) / HOUR >= needed
    ]
    low, high = block_bounds(tuple(fit))
    _, until = hours_to_judge(day.weather)
    if close is None or close > until:
        return (low, 1.0)
    return low, high
