"""What the blocks of an active would prevent, against the best day of the season."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.control import by_class, levels, seedlings_next_year
from forecaster.domain.growth.effect import (
    Prevented,
    best_of,
    heading_season,
    prevented_on,
)
from forecaster.domain.outlook import Band, DayEffect, EffectView

if TYPE_CHECKING:
    from forecaster.domain.growth.control import WeedControl
    from forecaster.domain.growth.season import Projection
    from forecaster.domain.growth.weed import Mode
    from forecaster.domain.outlook import BlockView
    from forecaster.domain.sourced import Sourced
    from forecaster.domain.weather import Floats
    from forecaster.sources.season import Season


def effect_view(
    projection: Projection,
    season: Season,
    control: WeedControl | None,
    mode: Mode,
    blocks: tuple[BlockView, ...],
) -> EffectView | None:
    """The effect of each block and of the season's best day.

    None: the weed has no window for this mode, so no effect is asked for. Without a
    published trial the view is there and says so.
    """
    if mode not in projection.weed.windows:
        return None
    if control is None or mode not in control.trials:
        return EffectView(published=False)
    shares = levels(by_class(control.trials[mode], projection.weed))
    moments = [block.start + (block.end - block.start) / 2 for block in blocks]
    days = np.array([season.day_of(moment) for moment in moments])
    of_blocks = prevented_on(projection, shares, days)
    return EffectView(
        published=True,
        best=_best(projection, season, shares, control.carry_over),
        blocks=tuple(
            _day_effect(block.start, _pick(of_blocks, place), control.carry_over)
            for place, block in enumerate(blocks)
        ),
    )


def _best(
    projection: Projection, season: Season, shares: Floats, carry_over: Sourced
) -> DayEffect | None:
    days = heading_season(projection)
    if days.size == 0:
        return None
    best = best_of(days, prevented_on(projection, shares, days))
    if np.isnan(best.day):
        return None
    return _day_effect(season.moment_of(float(best.day)), best.prevented, carry_over)


def _pick(prevented: Prevented, place: int) -> Prevented:
    return Prevented(*(each[place] for each in prevented))


def _day_effect(
    moment: np.datetime64, prevented: Prevented, carry_over: Sourced
) -> DayEffect:
    """Most seedlings come back where least is prevented and most is carried over."""
    carried = np.array([carry_over.high, carry_over.value, carry_over.low])
    few_to_most = seedlings_next_year(np.array(prevented), carried)[::-1]
    return DayEffect(moment, _band(np.array(prevented)), _band(few_to_most))


def _band(values: Floats) -> Band | None:
    """Low, likely and high; None where any is unknown."""
    low, likely, high = values.tolist()
    return None if np.isnan(values).any() else Band(low, likely, high)
