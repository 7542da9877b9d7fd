"""Which paddock and weed to look at next, and how many heads to count."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.look_value import LookValue, look_value
from forecaster.domain.look_advice import LookAdvice, SecondLook
from forecaster.domain.record.after_spray import Due
from forecaster.service.after_view import after_view

if TYPE_CHECKING:
    from forecaster.domain.growth.season import Projection
    from forecaster.domain.growth.weed import Mode
    from forecaster.service.farm_day import FarmDay
    from forecaster.settings.farm import Paddock

DAYS_AHEAD = 7
"""Days for which a better call counts. Assumed: the week of the outlook."""
LIKELY_WIDTH = 2.563
"""Standard deviations between the 10 % and 90 % points of a normal distribution."""


def look_advice(day: FarmDay) -> tuple[LookAdvice, ...]:
    """Every weed of every paddock, the look worth most first.

    Weeds that no active of their paddock has a window on are left out, and so are
    paddocks already sprayed.
    """
    found = [
        advice
        for paddock in day.farm.paddocks
        if paddock.sprayed is None
        for weed in paddock.weeds
        if (advice := _advice(day, paddock, weed)) is not None
    ]
    return tuple(sorted(found, key=lambda each: -each.hectares_spared))


def second_looks(day: FarmDay) -> tuple[SecondLook, ...]:
    """Paddocks whose second look is due, the one sprayed first in front."""
    found = [
        SecondLook(paddock.name, after)
        for paddock in day.farm.paddocks
        if (after := after_view(day, paddock)) is not None
        and Due.LOOK_AGAIN in after.due
    ]
    return tuple(sorted(found, key=lambda each: each.after.sprayed))


def _advice(day: FarmDay, paddock: Paddock, weed: str) -> LookAdvice | None:
    projection = day.growth.projection(weed, paddock)
    now = day.growth.season.day_of(day.weather.now)
    days = now + np.arange(DAYS_AHEAD + 1.0)
    floor = day.farm.look_numbers.floor.value
    modes: dict[Mode, LookValue] = {}
    for active in paddock.actives:
        mode = day.farm.actives[active].mode
        if mode in projection.weed.windows and mode not in modes:
            value = look_value(projection, mode, days, floor=floor)
            if value is not None:
                modes[mode] = value
    if not modes:
        return None
    mode, value = max(modes.items(), key=lambda each: each[1].gain)
    rate = _rate(projection, days)
    return LookAdvice(
        paddock=paddock.name,
        hectares=paddock.hectares,
        weed=weed,
        weed_name=projection.weed.name,
        mode=mode,
        stage_words=projection.weed.stage_words[value.stage],
        chance_open=value.chance_open,
        heads_needed=value.heads_needed,
        range_now=LIKELY_WIDTH * value.sd_now / rate,
        range_after=LIKELY_WIDTH * value.sd_after / rate,
        hectares_spared=paddock.hectares * value.gain,
    )


def _rate(projection: Projection, days: np.typing.NDArray[np.float64]) -> float:
    """Thermal time a day over the days ahead, on the likely trace, at least 1 °C d."""
    ends = np.median(projection.thermal_time(days[[0, -1]]), axis=(-2, -1))
    return max(float(ends[1] - ends[0]) / float(days[-1] - days[0]), 1.0)
