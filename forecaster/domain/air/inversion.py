"""Risk of a surface temperature inversion, hour by hour.

Built only on published class tables, clock windows, wind, cloud and warming. It is a
cautious screen, not a finding: a forecast can raise the risk, never clear an inversion,
which has to be judged at the site.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Protocol

import numpy as np

from forecaster.domain.air.class_tables import CLEAR_NIGHT, NEUTRAL, Ceiling
from forecaster.domain.air.humidity import dew_point
from forecaster.domain.air.night import (
    NIGHT_EDGE,
    WINDY,
    risen_since_minimum,
    windy_night,
)
from forecaster.domain.air.stability import net_radiation_index, turner_class
from forecaster.domain.air.sun import hours_between
from forecaster.domain.weather import HOUR

if TYPE_CHECKING:
    from forecaster.domain.air.sun import SunClock
    from forecaster.domain.weather import Bools, Floats

LOW, MODERATE, HIGH = 0.0, 1.0, 2.0

STILL: Final = 3.0 / 3.6
"""[m/s] 3 km/h at 10 m; below it the air counts as calm. Source: Canola Council of
Canada, page on inversions; published, seen in excerpt."""

LIGHT: Final = 6.0 / 3.6
"""[m/s] 6 km/h at 10 m; below it fog and dew form and morning warming may not have
mixed the air. Source: assumed."""

OVERCAST: Final = 7.0 / 8.0
"""[share] of low cloud that counts as an overcast. Source: assumed, for the published
'continuous low heavy overcast'."""

STEADY_RAIN: Final = 0.2
"""[mm/h] Source: assumed, for the published 'continuous drizzle or rain'."""

HEATED: Final = 175.0
"""[W/m²] Below this the sun does not make the air unstable. Source: EPA-454/R-99-005
table 6-7; published, seen in excerpt."""

WARMED: Final = 6.0
"""[K] Rise from the night's minimum that ends an inversion. Source: Summer Weed Control
Best Practice Guide (2016); published, seen in excerpt."""

MIXED_GRADIENT: Final = -0.98
"""[°C/100 m] Dry-adiabatic: fully mixed air. Source: physics of dry air."""

WEAK_GRADIENT: Final = -0.5
"""[°C/100 m] Above this the air is stable, class E. Source: lapse rates by class, NOAA
Air Resources Laboratory; published, seen in excerpt."""

STRONG_GRADIENT: Final = 1.5
"""[°C/100 m] Above this class F. Source: as above."""

SHOULDER: Final = 2.0
"""[h] before sunset and after sunrise that still need care. Source: GRDC Spray
Application Manual (2025), for the evening; DPIRD Western Australia (2023), for the
morning; published, seen in excerpt."""

LATEST_MORNING: Final = 4.0
"""[h] after sunrise at which a low winter sun is no longer waited for. Source:
assumed."""

MORNING_SUN: Final = 20.0
"""[°] Elevation of the sun at which the morning is over. Source: a grains extension
page; published, seen in excerpt."""

FOG_DEPRESSION: Final = 1.0
"""[K] Air this close to its dew point has fog or dew. Source: leaf-wetness practice;
from memory."""

LAYER: Final = 78.0
"""[m] from 2 m to 80 m."""


@dataclass(frozen=True, slots=True)
class HourAir:
    """What the risk of each hour rests on; arrays that broadcast together.

    Times are to the least favourable end of the hour, so that an hour is judged as a
    night hour if any part of it is. NaN = unknown.
    """

    wind_speed: Floats
    """[m/s] at 10 m. The one input that must be known."""
    air_temperature: Floats
    """[°C] at screen height."""
    air_temperature_80m: Floats
    """[°C] about 80 m up."""
    dew_point: Floats
    """[°C]"""
    cloud: Floats
    """[share 0…1] total."""
    low_cloud: Floats
    """[share 0…1]"""
    radiation: Floats
    """[W/m²] global short-wave."""
    rain: Floats
    """[mm] in the hour."""
    elevation: Floats
    """[°] of the sun at the start of the hour."""
    hours_since_sunrise: Floats
    """[h] from the last sunrise to the start of the hour."""
    hours_since_sunset: Floats
    """[h] from the last sunset to the start of the hour."""
    hours_to_sunset: Floats
    """[h] from the end of the hour to the next sunset; negative if it sets within."""
    windy_night: Bools
    """Wind at or above 11 km/h in every hour since 1 h before sunset, all known."""
    risen: Floats
    """[K] above the lowest known temperature since the last sunset."""
    hollow: Bools
    """The ground is a valley floor or frost hollow."""


class HourlyWeather(Protocol):
    """The columns read here; a WeatherFrame has them. Hours on the last axis."""

    @property
    def wind_speed(self) -> Floats:
        """[m/s] at 10 m."""

    @property
    def air_temperature(self) -> Floats:
        """[°C] at screen height."""

    @property
    def air_temperature_80m(self) -> Floats:
        """[°C] about 80 m up."""

    @property
    def relative_humidity(self) -> Floats:
        """[%] over water."""

    @property
    def cloud(self) -> Floats:
        """[share 0…1] total."""

    @property
    def low_cloud(self) -> Floats:
        """[share 0…1] low cloud."""

    @property
    def radiation(self) -> Floats:
        """[W/m²] global short-wave."""

    @property
    def rain(self) -> Floats:
        """[mm] in the hour."""


def hour_air(
    weather: HourlyWeather, clock: SunClock, *, hollow: bool = False
) -> HourAir:
    """Gather what the inversion risk of each hour rests on.

    Parameters
    ----------
    weather : HourlyWeather
        (..., n) arrays, hours on the last axis.
    clock : SunClock
        Of the same n hours, one hour apart.
    hollow : bool
        Whether the ground is a valley floor or frost hollow.

    Returns
    -------
    HourAir
        For :func:`risk`.
    """
    return HourAir(
        wind_speed=weather.wind_speed,
        air_temperature=weather.air_temperature,
        air_temperature_80m=weather.air_temperature_80m,
        dew_point=dew_point(weather.air_temperature, weather.relative_humidity),
        cloud=weather.cloud,
        low_cloud=weather.low_cloud,
        radiation=weather.radiation,
        rain=weather.rain,
        elevation=clock.elevation,
        hours_since_sunrise=hours_between(clock.previous_sunrise, clock.time),
        hours_since_sunset=hours_between(clock.previous_sunset, clock.time),
        hours_to_sunset=hours_between(clock.time + HOUR, clock.next_sunset),
        windy_night=windy_night(weather.wind_speed, clock),
        risen=risen_since_minimum(weather.air_temperature, clock),
        hollow=np.asarray(hollow),
    )


@dataclass(frozen=True, slots=True)
class _Cues:
    """Yes or no for each hour; every comparison with an unknown is no."""

    gradient: Floats
    still: Bools
    light: Bools
    windy: Bools
    mixed: Bools
    """Wind, sun and lapse all say the air is turning over."""


def _cues(air: HourAir) -> _Cues:
    wind = air.wind_speed
    gradient = 100.0 * (air.air_temperature_80m - air.air_temperature) / LAYER
    windy = wind >= WINDY
    return _Cues(
        gradient=gradient,
        still=wind < STILL,
        light=wind < LIGHT,
        windy=windy,
        mixed=windy & (air.radiation >= HEATED) & (gradient <= MIXED_GRADIENT),
    )


def _night(air: HourAir, cues: _Cues) -> Floats:
    """1 h before sunset to 1 h after sunrise: high unless cloud and wind speak up."""
    low_overcast = air.low_cloud >= OVERCAST
    overcast = low_overcast | (air.rain >= STEADY_RAIN)
    cloudy = air.cloud > CLEAR_NIGHT
    windy = air.windy_night & cues.windy
    ceiling = np.where(low_overcast, Ceiling.LOW, Ceiling.HIGH)
    index = net_radiation_index(np.nan, air.cloud, ceiling, night=True)
    neutral = turner_class(air.wind_speed, index) <= NEUTRAL
    level = np.where(overcast | (windy & cloudy), MODERATE, HIGH)
    level = np.where(overcast & windy & cloudy & neutral, LOW, level)
    level = np.where(cues.gradient > STRONG_GRADIENT, level + 1.0, level)
    return np.where(cues.still, HIGH, level)


def _shoulder(air: HourAir, cues: _Cues, morning: Bools) -> Floats:
    """The hour or more before and after the night: moderate unless shown mixed."""
    warmed = morning & (air.risen >= WARMED) & ~cues.light
    level = np.where(cues.mixed | warmed, LOW, MODERATE)
    return np.where(cues.still | (cues.gradient > WEAK_GRADIENT), HIGH, level)


def _day(air: HourAir, cues: _Cues) -> Floats:
    """The rest of the day: low unless calm or the gradient is not a daytime one."""
    unproved = np.isnan(cues.gradient) & ~cues.windy & ~(air.radiation >= HEATED)
    doubtful = cues.still | (cues.gradient > WEAK_GRADIENT) | unproved
    level = np.where(doubtful, MODERATE, LOW)
    return np.where((cues.gradient > 0.0) & ~cues.windy, HIGH, level)


def risk(air: HourAir) -> Floats:
    """Risk that a surface inversion is present in each hour.

    Parameters
    ----------
    air : HourAir
        Built by :func:`hour_air`.

    Returns
    -------
    array of the broadcast shape
        0 low, 1 moderate, 2 high; NaN where the wind is unknown. An unknown sun clock
        counts as night.

    Notes
    -----
    What can only reassure (cloud, low cloud, rain, radiation, warming, a windy night)
    does nothing when missing. What can alarm (80 m temperature, dew point) is skipped
    when missing, and then a weakly lit day hour under 11 km/h is moderate. A clear
    night is never low. The rules and their sources are in docs/method/inversion.md.
    """
    cues = _cues(air)
    up = air.hours_since_sunrise < air.hours_since_sunset
    after, before = air.hours_since_sunrise, air.hours_to_sunset
    day = up & (after > NIGHT_EDGE) & (before > NIGHT_EDGE)
    low_sun = ~(air.elevation >= MORNING_SUN) & (after <= LATEST_MORNING)
    morning = (after <= SHOULDER) | low_sun
    evening = before <= SHOULDER
    shoulder = _shoulder(air, cues, morning & ~evening)
    by_day = np.where(morning | evening, shoulder, _day(air, cues))
    level = np.where(day, by_day, _night(air, cues))
    fog = (air.air_temperature - air.dew_point <= FOG_DEPRESSION) & cues.light
    pooled = air.hollow & ~cues.mixed
    level = np.minimum(level + fog + pooled, HIGH)
    return np.where(np.isnan(air.wind_speed), np.nan, level)
