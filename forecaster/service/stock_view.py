"""Stock in one paddock: when they must leave, and what a mob does until then."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.grazing import GrazingCase
from forecaster.domain.growth.stage import Stage
from forecaster.domain.growth.stage_window import window_dates
from forecaster.domain.outlook import StockView
from forecaster.domain.planning.stock_off import (
    Heading,
    Spell,
    StockOff,
    StockStatus,
    stock_off,
)
from forecaster.service.moments import day_on
from forecaster.service.paddock_window import paddock_window

if TYPE_CHECKING:
    from forecaster.domain.growth.season import Projection
    from forecaster.domain.weather import Floats
    from forecaster.service.farm_day import FarmDay
    from forecaster.settings.farm import Paddock


def stock_view(
    day: FarmDay, paddock: Paddock, projection: Projection
) -> StockView | None:
    """What the outlook says of stock, or None where there is nothing to say."""
    if paddock.sprayed is not None:
        return None
    off = paddock_stock_off(day, paddock, projection)
    effect = day.growth.grazing_effect(projection.weed.id, paddock)
    silent = (
        off.status is StockStatus.NO_STOCK
        and not off.clashes
        and effect.case is GrazingCase.NONE
    )
    if silent and off.heading.likely is not None and today(day) >= off.heading.likely:
        return None
    dse = None if effect.grazed is None else effect.grazed.dse
    return StockView(off, effect, np.nan if dse is None else dse / paddock.hectares)


def paddock_stock_off(
    day: FarmDay, paddock: Paddock, projection: Projection
) -> StockOff:
    """When stock must leave ``paddock``, by its target's heading."""
    numbers = day.farm.grazing
    headed = projection.stage_dates((Stage.HEADING,))
    return stock_off(
        Heading(*(_date(day, edge[..., 0]) for edge in headed)),
        today(day),
        Spell(int(numbers.spell_shortest.value), int(numbers.spell_longest.value)),
        stock_on=stock_on(paddock, today(day)),
        stays=() if paddock.sprayed is not None else paddock.stays,
        spray_until=_spray_until(day, paddock, projection),
    )


def stock_on(paddock: Paddock, today: np.datetime64) -> bool:
    """Whether stock are known to be in ``paddock`` today."""
    still = any(each.end is None for each in paddock.grazed)
    return still or any(stay.covers(today) for stay in paddock.stays)


def today(day: FarmDay) -> np.datetime64:
    """The calendar day of the farm, ``datetime64[D]``."""
    weather = day.weather
    return day_on(weather.now, weather.place.zone)


def _spray_until(
    day: FarmDay, paddock: Paddock, projection: Projection
) -> np.datetime64 | None:
    """The last likely close over the actives of the paddock."""
    closes = [
        _date(day, window_dates(window).closed.likely)
        for active in paddock.actives
        if (
            window := paddock_window(paddock, projection, day.farm.actives[active].mode)
        )
    ]
    known = [each for each in closes if each is not None]
    return max(known) if known else None


def _date(day: FarmDay, edge: Floats) -> np.datetime64 | None:
    """The calendar day of a day number; None where it is not finite."""
    if not bool(np.isfinite(edge)):
        return None
    moment = day.growth.season.moment_of(float(edge))
    return day_on(moment, day.weather.place.zone)
