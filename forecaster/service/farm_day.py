"""One farm at one moment: all that a paddock's outlook is worked from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.service.feed_view import FarmFeed
from forecaster.service.growing import Growth, grow
from forecaster.service.judging import WeekAir, week_air
from forecaster.service.moments import local_day

if TYPE_CHECKING:
    from forecaster.domain.growth.look import Look
    from forecaster.service.weather import FarmWeather
    from forecaster.settings.farm import Farm


@dataclass(frozen=True, slots=True)
class FarmDay:
    """A farm, its weather, the air of its week and the growth of its weeds."""

    farm: Farm
    weather: FarmWeather
    air: WeekAir
    growth: Growth
    feed: FarmFeed | None = None
    """None: the budget lacks a number."""

    @classmethod
    def of(
        cls, farm: Farm, weather: FarmWeather, looks: tuple[Look, ...] = ()
    ) -> FarmDay:
        """Measure the air and add up the season once for all paddocks."""
        today = local_day(weather.now, weather.place.zone)
        return cls(
            farm,
            weather,
            week_air(weather),
            grow(farm, weather, looks),
            FarmFeed.of(farm, np.datetime64(today, "D")),
        )
