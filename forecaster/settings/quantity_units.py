"""The unit each quantity has inside, and the units a file may state it in."""

from __future__ import annotations

from forecaster.domain.spraying.limits import Quantity

KMH = 1 / 3.6
"""[m/s] in one kilometre an hour."""

STATED_UNITS: dict[Quantity, dict[str, float]] = {
    Quantity.WIND_10M: {"km/h": KMH, "m/s": 1.0},
    Quantity.WIND_2M: {"km/h": KMH, "m/s": 1.0},
    Quantity.GUST_10M: {"km/h": KMH, "m/s": 1.0},
    Quantity.WIND_SIDE: {"yes/no": 1.0},
    Quantity.LIGHT_WIND_SIDE: {"yes/no": 1.0},
    Quantity.DELTA_T: {"K": 1.0},
    Quantity.WET_BULB: {"°C": 1.0},
    Quantity.AIR_TEMPERATURE: {"°C": 1.0},
    Quantity.RELATIVE_HUMIDITY: {"%": 1.0},
    Quantity.LOWEST_TEMPERATURE_48H: {"°C": 1.0},
    Quantity.INVERSION_RISK: {"level": 1.0},
    Quantity.SUN_ELEVATION: {"°": 1.0},
    Quantity.RAIN_FREE_HOURS: {"h": 1.0},
    Quantity.RAIN_CHANCE_AHEAD: {"%": 1.0},
    Quantity.RAIN_LAST_2H: {"mm": 1.0},
    Quantity.RAIN_LAST_24H: {"mm": 1.0},
    Quantity.RAIN_LAST_72H: {"mm": 1.0},
    Quantity.WEATHER_AGE: {"h": 1.0},
}
"""Factor from each unit a file may use to the unit inside."""


def inside(quantity: Quantity, value: float, unit: str) -> float:
    """``value`` in the unit the domain uses.

    Raises
    ------
    ValueError
        If ``quantity`` is not stated in ``unit``.
    """
    units = STATED_UNITS[quantity]
    if unit not in units:
        allowed = " or ".join(units)
        raise ValueError(f"{quantity} is stated in {allowed}, not {unit!r}")
    return value * units[unit]
