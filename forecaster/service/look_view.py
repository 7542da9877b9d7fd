"""What a look changed, and whether it found the heads uneven."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.heads import STAGES
from forecaster.domain.growth.quantiles import Range
from forecaster.domain.growth.season import stages_now
from forecaster.domain.outlook import LookView, UnevenView
from forecaster.domain.planning.uneven import choices
from forecaster.service.likely import likely

if TYPE_CHECKING:
    from forecaster.domain.growth.season import Projection
    from forecaster.domain.outlook import Likely
    from forecaster.service.farm_day import FarmDay
    from forecaster.settings.farm import Paddock

RECENT = np.timedelta64(3, "D")
"""A look older than this is asked for again before a spray. Assumed: about what the
floor of config/looks.toml is worth at heading."""
LIKELY_UNEVEN = 0.5
"""Heads are called uneven from this chance on. Assumed: a second look costs less than
a spray that misses half of them."""


def look_view(
    day: FarmDay, paddock: Paddock, projection: Projection
) -> LookView | None:
    """What the latest look at a paddock's target changed."""
    growth = day.growth
    scouted = growth.scouting.of(paddock, paddock.target)
    if scouted is None:
        return None
    before = replace(
        projection, belief=growth.scouting.believed(scouted.before_latest())
    )
    after = projection.stage_dates()
    ahead = after.likely > growth.season.day_of(day.weather.now)
    next_one = int(np.argmax(ahead)) if ahead.any() else len(STAGES) - 1
    latest = scouted.looks[-1]

    def dates(of: Range) -> Likely:
        return likely(Range(*(edge[next_one] for edge in of)), growth.season)

    return LookView(
        moment=latest.moment,
        heads=latest.heads,
        small=latest.heads < growth.scouting.numbers.enough.value,
        recent=bool(day.weather.now - latest.moment <= RECENT),
        stage_words=projection.weed.stage_words[STAGES[next_one]],
        before=dates(before.stage_dates()),
        after=dates(after),
        surprising=scouted.surprising,
    )


def is_uneven(chance: float) -> bool:
    """Whether heads were likely found too uneven to spray on their mean.

    ``chance`` is that of :meth:`Scouting.chance_uneven`; NaN is not.
    """
    return bool(chance >= LIKELY_UNEVEN)


def uneven_view(
    day: FarmDay, paddock: Paddock, projection: Projection
) -> UnevenView | None:
    """How uneven a paddock's heads were found, if they were."""
    growth = day.growth
    scouted = growth.scouting.of(paddock, paddock.target)
    if scouted is None:
        return None
    chance = growth.scouting.chance_uneven(scouted)
    if not is_uneven(chance):
        return None
    now = growth.season.day_of(day.weather.now)
    modes = {day.farm.actives[active].mode for active in paddock.actives}
    usable = "translocated" in modes & set(projection.weed.windows)
    return UnevenView(
        factor=float(scouted.estimate.mean[2]),
        chance=chance,
        choices=choices(float(stages_now(projection, now).at[0]), translocated=usable),
    )
