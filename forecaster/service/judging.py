"""Hours of the week in one paddock with one active."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.quality.filling import for_verdicts
from forecaster.domain.spraying.hours import Judgement, judge
from forecaster.domain.spraying.limits import Limit, Quantity
from forecaster.domain.spraying.quantities import Air, measure, values
from forecaster.domain.weather import HOUR
from forecaster.service.weather import hours_to_judge
from forecaster.settings.actives import label_limits
from forecaster.sources.season import solar_offset

if TYPE_CHECKING:
    from forecaster.domain.weather import Bools, Floats, Times
    from forecaster.service.weather import FarmWeather
    from forecaster.settings.actives import Active, Label
    from forecaster.settings.farm import Farm, Paddock

BEFORE = 96 * HOUR
"""Weather kept before now, for rain, frost and the night before."""


@dataclass(frozen=True, slots=True)
class WeekAir:
    """The air of the week and the rows judged."""

    air: Air
    rows: slice
    solar_offset: np.timedelta64
    """The local solar day ahead of UTC."""
    members: Air | None = None
    """(members, hours) where there is an ensemble."""

    @property
    def time(self) -> Times:
        """Hours judged, UTC."""
        return self.air.frame.time[self.rows]

    def quantity(self, quantity: Quantity) -> Floats:
        """A measured quantity on the hours judged."""
        return self.air.measured[quantity][self.rows]

    @property
    def daylight(self) -> Bools:
        """Hours that begin with the sun up."""
        lit: Bools = self.quantity(Quantity.SUN_ELEVATION) >= 0
        return lit


def week_air(weather: FarmWeather) -> WeekAir:
    """Measure the air around now and over the week ahead."""
    start, end = hours_to_judge(weather)
    frame = weather.frame.between(start - BEFORE, weather.frame.time[-1] + HOUR)
    frame = for_verdicts(frame)
    rows = slice(*np.searchsorted(frame.time, [start, end]).tolist())
    return WeekAir(
        air=measure(frame, weather.place, weather.aged_at),
        rows=rows,
        solar_offset=solar_offset(weather.place),
        members=None
        if weather.members is None
        else measure(weather.members, weather.place, weather.aged_at),
    )


def limits_for(farm: Farm, active: Active, weed: str) -> tuple[Limit, ...]:
    """Every limit that bears on one active on one weed.

    A weed that is not on the label leaves the label's numbers unconfirmed.
    """
    label = usable_label(farm, active.id, weed)
    own = label_limits(active, label)
    dry = [limit.bound for limit in own if limit.quantity is Quantity.RAIN_FREE_HOURS]
    horizon = dry[0] if dry else 0.0
    advice = (
        replace(limit, horizon=horizon)
        if limit.quantity is Quantity.RAIN_CHANCE_AHEAD
        else limit
        for limit in farm.limits[active.mode]
    )
    return (*own, *advice)


def usable_label(farm: Farm, active: str, weed: str) -> Label | None:
    """The typed label, unless the weed is not on it."""
    label = farm.labels.get(active)
    return label if label is not None and weed in label.weeds else None


def judge_paddock(
    farm: Farm, air: WeekAir, paddock: Paddock, active: Active, weed: str
) -> Judgement:
    """Each hour of the week in ``paddock``, against every limit."""
    limits = limits_for(farm, active, weed)
    everything = values(air.air, limits, paddock.exposure)
    return judge(air.time, everything[:, air.rows], limits)
