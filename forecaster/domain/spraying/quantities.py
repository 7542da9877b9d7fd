"""What an hour is measured by: one array per quantity, from the weather table."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from forecaster.domain.air import delta_t as psychrometry
from forecaster.domain.air import inversion, rain, wind
from forecaster.domain.air.sun import sun_clock
from forecaster.domain.spraying.limits import Limit, Quantity
from forecaster.domain.weather import HOUR, Origin

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.domain.place import Place
    from forecaster.domain.weather import Bools, Floats, WeatherFrame

LOW_WIND_HEIGHT = 2.0
"""[m] the minimum wind is tested here; spraying is nearer the ground than 10 m."""
DIRECTION_UNSURE = 3.0
"""[m/s] below this, forecast direction is not scored by the global verification
standard (ECMWF/WMO surface verification specification; published, seen in excerpt),
so every side may be downwind."""
DRY_TRACE = 0.2
"""[mm/h] rain below this does not count: the Bureau of Meteorology's threshold of
measurable rain (published, seen in excerpt)."""


@dataclass(frozen=True, slots=True)
class Air:
    """The farm's air, measured once and shared by all its paddocks; (hours,) each."""

    frame: WeatherFrame
    measured: dict[Quantity, Floats] = field(repr=False)


@dataclass(frozen=True, slots=True)
class Exposure:
    """What lies around one paddock.

    ``exposed`` (360,): wind-from directions [whole °] that carry drift towards a
    sensitive area within its care distance. ``hollow``: frost hollow or valley floor.
    """

    exposed: Bools
    hollow: bool = False
    known: bool = True
    """False where nobody has said what lies around the paddock."""

    @property
    def anything_near(self) -> bool:
        """Whether any sensitive area is within its care distance."""
        return bool(self.exposed.any())


def measure(
    frame: WeatherFrame, place: Place, now: np.datetime64, *, hollow: bool = False
) -> Air:
    """Everything but the wind side, for each hour of ``frame``."""
    sun = sun_clock(frame.time, place.latitude, place.longitude)
    wet_bulb = psychrometry.wet_bulb(
        frame.air_temperature, frame.relative_humidity, frame.pressure
    )
    depression = psychrometry.delta_t(
        frame.air_temperature, frame.relative_humidity, frame.pressure
    )
    known_rain = np.nan_to_num(frame.rain)
    low_wind = wind.speed_at_height(frame.wind_speed, 10.0, LOW_WIND_HEIGHT)
    return Air(
        frame,
        {
            Quantity.WIND_10M: frame.wind_speed,
            Quantity.WIND_2M: low_wind,
            Quantity.GUST_10M: frame.wind_gust,
            Quantity.DELTA_T: depression,
            Quantity.WET_BULB: wet_bulb,
            Quantity.AIR_TEMPERATURE: frame.air_temperature,
            Quantity.RELATIVE_HUMIDITY: frame.relative_humidity,
            Quantity.LOWEST_TEMPERATURE_48H: lowest_before(frame.air_temperature, 48),
            Quantity.INVERSION_RISK: inversion.risk(
                inversion.hour_air(frame, sun, hollow=hollow)
            ),
            Quantity.SUN_ELEVATION: sun.elevation,
            Quantity.RAIN_LAST_2H: rain.rain_before(frame.rain, 2),
            Quantity.RAIN_LAST_24H: rain.rain_before(known_rain, 24),
            Quantity.RAIN_LAST_72H: rain.rain_before(known_rain, 72),
            Quantity.WEATHER_AGE: weather_age(frame, now),
        },
    )


def values(air: Air, limits: Sequence[Limit], exposure: Exposure) -> Floats:
    """The quantity of each limit, shape (limits, hours)."""
    return np.stack([_value(air, limit, exposure) for limit in limits])


def _value(air: Air, limit: Limit, exposure: Exposure) -> Floats:
    match limit.quantity:
        case Quantity.RAIN_FREE_HOURS:
            return rain_free_hours(air.frame.rain, limit.bound)
        case Quantity.RAIN_CHANCE_AHEAD:
            return rain.chance_ahead(air.frame.rain_chance, limit.horizon)[0]
        case Quantity.WIND_SIDE:
            return wind_side(air.frame, exposure)
        case Quantity.LIGHT_WIND_SIDE:
            return light_wind_side(air.frame, exposure)
        case measured:
            return air.measured[measured]


def rain_free_hours(amount: Floats, needed: float) -> Floats:
    """Dry hours after each hour [h]; 0 while it rains; NaN where it cannot be told.

    A dry run cut short by the end of what is known still counts once it is as long
    as ``needed``.
    """
    known = rain.dry_hours_ahead(amount, DRY_TRACE)
    hoped = rain.dry_hours_ahead(np.where(np.isnan(amount), 0.0, amount), DRY_TRACE)
    beyond = np.arange(amount.shape[-1], 0, -1) - 1.0
    open_ended = hoped >= beyond
    enough = known >= needed
    too_few = (hoped < needed) & ~open_ended
    ahead = np.where(enough, known, np.where(too_few, hoped, np.nan))
    return np.where(np.isnan(amount), np.nan, np.where(amount >= DRY_TRACE, 0.0, ahead))


def wind_side(frame: WeatherFrame, exposure: Exposure) -> Floats:
    """1 where the wind blows from the paddock towards a sensitive area, else 0."""
    if not exposure.known:
        return np.full(len(frame), np.nan)
    if not exposure.anything_near:
        return np.zeros(len(frame))
    return wind.exposure(frame.wind_from, exposure.exposed)


def light_wind_side(frame: WeatherFrame, exposure: Exposure) -> Floats:
    """1 where the wind is too light to trust its side and something is near."""
    if exposure.known and not exposure.anything_near:
        return np.zeros(len(frame))
    unsure = np.where(frame.wind_speed < DIRECTION_UNSURE, 1.0, 0.0)
    return np.where(np.isnan(frame.wind_speed), np.nan, unsure)


def lowest_before(temperature: Floats, hours: int) -> Floats:
    """Lowest known temperature of the ``hours`` before and of the hour itself."""
    filled = np.where(np.isnan(temperature), np.inf, temperature)
    padded = np.concatenate((np.full(hours, np.inf), filled))
    lowest = sliding_window_view(padded, hours + 1).min(axis=-1)
    return np.where(np.isinf(lowest), np.nan, lowest)


def weather_age(frame: WeatherFrame, now: np.datetime64) -> Floats:
    """Hours since the forecast was issued; 0 for hours that were observed."""
    age = (now - frame.provenance.issued) / HOUR
    seen = frame.origin != Origin.FORECAST
    return np.where(seen, 0.0, max(float(age), 0.0))
