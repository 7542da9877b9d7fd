"""Delta T: how far evaporation can cool a drop, from temperature, humidity, pressure.

Every function is over liquid water, below freezing too. Near and below freezing the
published references differ by whether the wet bulb carries ice or water, so air with
a wet bulb at or below :data:`FROST_AIR_WET_BULB` must never be judged good.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from forecaster.domain.air.humidity import (
    AIR_TEMPERATURE_RANGE,
    MAGNUS_FACTOR,
    MAGNUS_OFFSET,
    dew_point,
    relative_humidity,
    saturation,
    saturation_vapour_pressure,
    usable_humidity,
    within,
)

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from forecaster.domain.weather import Floats

__all__ = [
    "FROST_AIR_WET_BULB",
    "delta_t",
    "delta_t_from_dew_point",
    "dew_point",
    "relative_humidity",
    "saturation_vapour_pressure",
    "wet_bulb",
]

FROST_AIR_WET_BULB: Final = 1.0
"""[°C] At or below this wet bulb the references part by up to 0.7 K, some over ice,
some over water. Source: own choice from comparing two humid-air libraries; assumed."""

PRESSURE_RANGE: Final = (500.0, 1100.0)
"""[hPa] Outside it (a pressure in kPa or Pa, say) the wet bulb is NaN. Source: own
choice; assumed."""

WATER_TO_AIR: Final = 0.621945
"""[kg/kg] Molar mass of water over that of dry air. Source: ASHRAE 2017 ch. 1."""

_EVAPORATION: Final = (2501.0, 2.326)
"""[kJ/kg, kJ/(kg K)] Heat to evaporate water at t: 2501 − 2.326 t. Source: ASHRAE 2017
ch. 1 eq. 33, as read in PsychroLib 2.5.0."""

_HEAT_CAPACITY: Final = (1.006, 1.86)
"""[kJ/(kg K)] of dry air and of water vapour. Source: as above."""

_BLOCK: Final = 8192
"""Values worked at a time, so that every temporary stays in the processor's cache."""

_MAGNUS_STEPS: Final = 2
"""With the exact step after them they leave less than 3e-4 K over the whole accepted
range and 2e-5 K over −5 to 45 °C, 850 to 1050 hPa (tests/properties/test_air.py)."""

_MAGNUS_SCALE: Final = MAGNUS_FACTOR * MAGNUS_OFFSET
"""[K] The Magnus curve's only figure that the ratio of two pressures needs."""


class _MoistAir(NamedTuple):
    """What stays fixed while the wet bulb is sought."""

    temperature: Floats
    """[°C]"""
    pressure: Floats
    """[hPa]"""
    ratio: Floats
    """[kg/kg] humidity ratio."""
    heat: Floats
    """[kJ/(kg K)] to cool the air and its vapour by one kelvin."""


def _first_depression(gap: Floats, slope: Floats, pressure: Floats) -> Floats:
    """A start for the Newton steps, within 7 K in the driest heat, else about 1 K.

    ``gap`` is the missing vapour pressure. The linear psychrometer equation is solved
    with the saturation slope at the dry bulb, then again with a rough mean slope
    between dry and wet bulb, which a first-order fall of 3 % a kelvin gives.
    """
    psychrometer = 6.4e-4 * pressure
    first = gap / (slope + psychrometer)
    mean_slope = slope * (1.0 - first * (0.03 - 0.0003 * first))
    return gap / (mean_slope + psychrometer)


def _balance_step(
    depression: Floats, saturated: Floats, slope: Floats, moist: _MoistAir
) -> Floats:
    """One Newton step on the heat balance, given saturation at the wet bulb."""
    latent, latent_fall = _EVAPORATION
    dry_part = 1.0 / (moist.pressure - saturated)
    gained = WATER_TO_AIR * saturated * dry_part - moist.ratio
    evaporation = latent - latent_fall * (moist.temperature - depression)
    wet_slope = (WATER_TO_AIR * moist.pressure) * slope * (dry_part * dry_part)
    balance = moist.heat * depression - evaporation * gained
    rise = moist.heat - latent_fall * gained + evaporation * wet_slope
    return depression - balance / rise


def _solve(temperature: Floats, humidity: Floats, pressure: Floats) -> Floats:
    """Delta T [K] of one block; inputs already checked.

    Two Newton steps on a Magnus curve tied to the exact one at the dry bulb (half the
    cost, and exactly 0 in saturated air), then one on the exact curve.
    """
    dry_heat, vapour_heat = _HEAT_CAPACITY
    saturated, slope = saturation(temperature)
    vapour = saturated * (humidity * 0.01)
    ratio = WATER_TO_AIR * vapour * (1.0 / (pressure - vapour))
    heat = dry_heat + vapour_heat * ratio
    moist = _MoistAir(temperature, pressure, ratio, heat)
    depression = _first_depression(saturated - vapour, slope, pressure)
    span = temperature + MAGNUS_OFFSET
    for _ in range(_MAGNUS_STEPS):
        wet_span = 1.0 / (span - depression)
        wet = saturated * np.exp(-_MAGNUS_SCALE * depression * wet_span / span)
        wet_slope = wet * (_MAGNUS_SCALE * wet_span * wet_span)
        depression = _balance_step(depression, wet, wet_slope, moist)
    exact = saturation(temperature - depression)
    return np.maximum(_balance_step(depression, *exact, moist), 0.0)


def delta_t(
    air_temperature: ArrayLike, relative_humidity: ArrayLike, pressure: ArrayLike
) -> Floats:
    """Delta T, the wet-bulb depression of the air.

    The thermodynamic wet bulb over water: heat given up by the moist air in cooling to
    the wet bulb equals heat taken by the water that saturates it,
    (1.006 + 1.86 W)(t − t*) = (2501 − 2.326 t*)(Ws(t*) − W), which is ASHRAE 2017 ch. 1
    eq. 33 with its terms regrouped so that saturated air gives exactly 0.

    Parameters
    ----------
    air_temperature : array of any shape
        Dry bulb at screen height. [°C] −40 to 60.
    relative_humidity : array that broadcasts with it
        Over water. [%] 0 to 100; up to 101 counts as 100.
    pressure : array that broadcasts with it
        At the site, not reduced to sea level. [hPa] 500 to 1100.

    Returns
    -------
    array of the broadcast shape
        [K] Never negative. NaN where an input is NaN, infinite or out of range.

    Notes
    -----
    Within 0.05 K of a real-gas humid-air library where the wet bulb is above 1 °C.
    Ignores radiation and fan speed on a real wet-bulb thermometer, and salts in the
    drop.

    References
    ----------
    ASHRAE Handbook Fundamentals (2017) ch. 1 eq. 33. Mark: published, seen in excerpt.

    Examples
    --------
    ASHRAE's example 1: 40 °C dry, 20 °C wet, sea level, given as 14 %.

    >>> round(float(delta_t(40.0, 14.0, 1013.25)))
    20
    """
    temperature, humidity, station = np.broadcast_arrays(
        np.asarray(air_temperature, np.float64),
        np.asarray(relative_humidity, np.float64),
        np.asarray(pressure, np.float64),
    )
    result = np.empty(temperature.shape)
    flat = result.reshape(-1)
    columns = (temperature.reshape(-1), humidity.reshape(-1), station.reshape(-1))
    for start in range(0, flat.size, _BLOCK):
        block = slice(start, start + _BLOCK)
        dry, moist, air = (column[block] for column in columns)
        flat[block] = _solve(
            within(dry, AIR_TEMPERATURE_RANGE),
            usable_humidity(moist),
            within(air, PRESSURE_RANGE),
        )
    return result


def wet_bulb(
    air_temperature: ArrayLike, relative_humidity: ArrayLike, pressure: ArrayLike
) -> Floats:
    """Thermodynamic wet-bulb temperature over water [°C]; see :func:`delta_t`.

    Parameters
    ----------
    air_temperature, relative_humidity, pressure : arrays that broadcast together
        [°C], [%], [hPa]

    Returns
    -------
    array
        [°C] Never above the air temperature. NaN as in :func:`delta_t`.
    """
    depression = delta_t(air_temperature, relative_humidity, pressure)
    return np.asarray(air_temperature, np.float64) - depression


def delta_t_from_dew_point(
    air_temperature: ArrayLike, dew_point: ArrayLike, pressure: ArrayLike
) -> Floats:
    """Delta T from the dew point instead of the relative humidity.

    Parameters
    ----------
    air_temperature, dew_point, pressure : arrays that broadcast together
        [°C], [°C] over water, [hPa]

    Returns
    -------
    array
        [K] 0 where the dew point is above the air temperature by rounding (about
        0.15 K), NaN where it is further above, and as in :func:`delta_t`.
    """
    humidity = relative_humidity(air_temperature, dew_point)
    return delta_t(air_temperature, humidity, pressure)
