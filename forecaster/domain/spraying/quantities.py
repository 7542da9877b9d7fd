"""What an hour is measured by: one array per quantity, from the weather table."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from forecaster.domain.air import delta_t as psychrometry
from forecaster.domain.air import inversion, rain, wind
from forecaster.domain.air.sun import sun_clock
from forecaster.domain.spraying.limits import Limit, Quantity
from forecaster.domain.weather import HOUR, Origin

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from forecaster.domain.place import Place
    from forecaster.domain.weather import Bools, Floats, WeatherFrame

LOW_WIND_HEIGHT = 2.0
"""[m] the minimum wind is tested here; spraying is nearer the ground than 10 m."""
DIRECTION_UNSURE = 3.0
"""[m/s] below this, forecast direction is not scored by the global verification
standard (ECMWF/WMO surface verification specification; published, seen in excerpt),
so every side may be downwind."""


@dataclass(frozen=True, slots=True)
class Air:
    """The farm's air, measured once and shared by all its paddocks.

    Each quantity has the shape of the table: (hours,) or (members, hours).
    """

    frame: WeatherFrame
    measured: dict[Quantity, Floats] = field(repr=False)
    hollow_risk: Floats = field(repr=False)
    """Inversion risk in a frost hollow or on a valley floor."""

    def inversion_risk(self, exposure: Exposure) -> Floats:
        """The risk over one paddock; 0 low, 1 moderate, 2 high."""
        if exposure.hollow:
            return self.hollow_risk
        return self.measured[Quantity.INVERSION_RISK]


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


def measure(frame: WeatherFrame, place: Place, now: np.datetime64) -> Air:
    """Everything but the wind side, for each hour of ``frame``."""
    shape = frame.air_temperature.shape
    sun = sun_clock(frame.time, place.latitude, place.longitude)
    depression = psychrometry.delta_t(
        frame.air_temperature, frame.relative_humidity, frame.pressure
    )
    hour_air = inversion.hour_air(frame, sun)
    low_wind = wind.speed_at_height(frame.wind_speed, 10.0, LOW_WIND_HEIGHT)
    return Air(
        frame,
        {
            Quantity.WIND_10M: frame.wind_speed,
            Quantity.WIND_2M: low_wind,
            Quantity.GUST_10M: frame.wind_gust,
            Quantity.DELTA_T: depression,
            Quantity.WET_BULB: frame.air_temperature - depression,
            Quantity.AIR_TEMPERATURE: frame.air_temperature,
            Quantity.RELATIVE_HUMIDITY: frame.relative_humidity,
            Quantity.INVERSION_RISK: inversion.risk(hour_air),
            Quantity.SUN_ELEVATION: np.broadcast_to(sun.elevation, shape),
            Quantity.RAIN_LAST_2H: rain.rain_before(frame.rain, 2),
            Quantity.WEATHER_AGE: np.broadcast_to(weather_age(frame, now), shape),
            Quantity.STEP_WIDTH: np.broadcast_to(frame.native_step, shape),
        },
        inversion.risk(replace(hour_air, hollow=np.asarray(True))),  # noqa: FBT003 a field
    )


def values(air: Air, limits: Sequence[Limit], exposure: Exposure) -> Floats:
    """The quantity of each limit, shape (…, limits, hours)."""
    return np.stack([_value(air, limit, exposure) for limit in limits], axis=-2)


def _value(air: Air, limit: Limit, exposure: Exposure) -> Floats:
    depends = _DEPENDENT.get(limit.quantity)
    if depends is None:
        return air.measured[limit.quantity]
    return depends(air, limit, exposure)


def rain_free_hours(amount: Floats, needed: float) -> Floats:
    """Dry hours after each hour [h]; 0 while it rains; NaN where it cannot be told.

    A dry run cut short by the end of what is known still counts once it is as long
    as ``needed``.
    """
    known = rain.dry_hours_ahead(amount)
    hoped = rain.dry_hours_ahead(np.where(np.isnan(amount), 0.0, amount))
    beyond = np.arange(amount.shape[-1], 0, -1) - 1.0
    open_ended = hoped >= beyond
    enough = known >= needed
    too_few = (hoped < needed) & ~open_ended
    ahead = np.where(enough, known, np.where(too_few, hoped, np.nan))
    return np.where(
        np.isnan(amount), np.nan, np.where(amount >= rain.TRACE, 0.0, ahead)
    )


def wind_side(frame: WeatherFrame, exposure: Exposure) -> Floats:
    """1 where the wind blows from the paddock towards a sensitive area, else 0."""
    if not exposure.known:
        return np.full(frame.wind_from.shape, np.nan)
    if not exposure.anything_near:
        return np.zeros(frame.wind_from.shape)
    return wind.exposure(frame.wind_from, exposure.exposed)


def light_wind_side(frame: WeatherFrame, exposure: Exposure) -> Floats:
    """1 where the wind is too light to trust its side and something is near."""
    if exposure.known and not exposure.anything_near:
        return np.zeros(frame.wind_speed.shape)
    unsure = np.where(frame.wind_speed < DIRECTION_UNSURE, 1.0, 0.0)
    return np.where(np.isnan(frame.wind_speed), np.nan, unsure)


def rain_in_last(amount: Floats, hours: int, bound: float) -> Floats:
    """Rain of the ``hours`` before each hour [mm].

    With hours missing it is known only where what did fall is over ``bound`` already;
    elsewhere NaN.
    """
    before = _windows(amount, hours)[..., :-1, :]
    fallen = np.nansum(before, axis=-1)
    told = ~np.isnan(before).any(axis=-1) | (fallen > bound)
    return np.where(told, fallen, np.nan)


def lowest_in_last(temperature: Floats, hours: int, bound: float) -> Floats:
    """Lowest temperature of the ``hours`` before each hour and of the hour itself [°C].

    With hours missing it is known only where it was under ``bound`` already;
    elsewhere NaN.
    """
    window = _windows(temperature, hours + 1)[..., 1:, :]
    missing = np.isnan(window)
    lowest = np.where(missing, np.inf, window).min(axis=-1)
    told = ~missing.any(axis=-1) | (lowest < bound)
    return np.where(told, lowest, np.nan)


def _windows(values: Floats, hours: int) -> Floats:
    """The ``hours`` up to, not with, each hour and the one after the last."""
    unknown = np.full((*values.shape[:-1], hours), np.nan)
    padded = np.concatenate((unknown, values), axis=-1)
    windows: Floats = sliding_window_view(padded, hours, axis=-1)
    return windows


def weather_age(frame: WeatherFrame, now: np.datetime64) -> Floats:
    """Hours since the forecast was issued; 0 for hours that were observed."""
    age = (now - frame.provenance.issued) / HOUR
    seen = frame.origin != Origin.FORECAST
    return np.where(seen, 0.0, np.maximum(age, 0.0))


_DEPENDENT: dict[Quantity, Callable[[Air, Limit, Exposure], Floats]] = {
    Quantity.INVERSION_RISK: lambda air, _, exposure: air.inversion_risk(exposure),
    Quantity.RAIN_FREE_HOURS: lambda air, limit, _: rain_free_hours(
        air.frame.rain, limit.bound
    ),
    Quantity.RAIN_CHANCE_AHEAD: lambda air, limit, _: rain.chance_ahead(
        air.frame.rain_chance, limit.horizon
    )[0],
    Quantity.RAIN_LAST_24H: lambda air, limit, _: rain_in_last(
        air.frame.rain, 24, limit.bound
    ),
    Quantity.RAIN_LAST_72H: lambda air, limit, _: rain_in_last(
        air.frame.rain, 72, limit.bound
    ),
    Quantity.LOWEST_TEMPERATURE_48H: lambda air, limit, _: lowest_in_last(
        air.frame.air_temperature, 48, limit.bound
    ),
    Quantity.WIND_SIDE: lambda air, _, exposure: wind_side(air.frame, exposure),
    Quantity.LIGHT_WIND_SIDE: lambda air, _, exposure: light_wind_side(
        air.frame, exposure
    ),
}
"""Quantities that depend on the limit's own bound or on the paddock."""
