"""The report on a farm's weather."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.quality.doubts import doubts
from forecaster.domain.weather import HOUR
from forecaster.domain.weather_report import Fan, WeatherReport
from forecaster.service.stretches import of_hours
from forecaster.sources.season import DAY

if TYPE_CHECKING:
    from forecaster.service.farm_day import FarmDay
    from forecaster.sources.season import Season

COLDEST, HOTTEST = -60.0, 70.0
"""[°C] wide enough that a response between them is the temperature itself."""
FAN_DAYS = 42
POINTS = (0.1, 0.5, 0.9)


def weather_report(day: FarmDay) -> WeatherReport:
    """Which stretch came from where, and the fan of temperature ahead."""
    weather, season = day.weather, day.growth.season
    temperature, filled = season.daily(COLDEST, HOTTEST)
    age = float((weather.aged_at - weather.frame.provenance.issued) / HOUR)
    return WeatherReport(
        farm=day.farm.name,
        place=weather.place,
        now=weather.now,
        invented=weather.invented,
        stretches=weather.stretches or (of_hours("hours", weather.frame, age),),
        traces=temperature.shape[0],
        filled=filled,
        warnings=weather.warnings,
        notes=weather.notes,
        fan=_fan(season, temperature + COLDEST, weather.now),
        flagged=doubts(weather.frame),
    )


def _fan(
    season: Season, temperature: np.typing.NDArray[np.float64], now: np.datetime64
) -> Fan:
    today = int(np.floor(season.day_of(now)))
    ahead = temperature[:, today : today + FAN_DAYS]
    low, middle, high = np.quantile(ahead, POINTS, axis=0, method="hazen")
    days = season.first_day + (today + np.arange(ahead.shape[1])) * DAY
    return Fan(days, low, middle, high)
