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
    Quantity.STEP_WIDTH: {"h": 1.0},
}
"""Factor from each unit a file may use to the unit inside."""

SENSIBLE: dict[Quantity, tuple[float, float]] = {
    Quantity.WIND_10M: (0, 20),
    Quantity.WIND_2M: (0, 20),
    Quantity.GUST_10M: (0, 30),
    Quantity.DELTA_T: (0, 30),
    Quantity.WET_BULB: (-10, 40),
    Quantity.AIR_TEMPERATURE: (-10, 50),
    Quantity.RELATIVE_HUMIDITY: (0, 100),
    Quantity.LOWEST_TEMPERATURE_48H: (-20, 30),
    Quantity.INVERSION_RISK: (0, 2),
    Quantity.SUN_ELEVATION: (-20, 90),
    Quantity.RAIN_FREE_HOURS: (0, 168),
    Quantity.RAIN_CHANCE_AHEAD: (0, 100),
    Quantity.RAIN_LAST_2H: (0, 100),
    Quantity.RAIN_LAST_24H: (0, 300),
    Quantity.RAIN_LAST_72H: (0, 500),
    Quantity.WEATHER_AGE: (0, 168),
    Quantity.STEP_WIDTH: (1, 24),
}
"""Lowest and highest bound, in the unit inside, that is not a slip of the finger.
Assumed. A quantity that is only yes or no is not here: it has no bound to move."""


def sensible(quantity: Quantity, bound: float, unit: str) -> str | None:
    """What bound is allowed instead, or None if ``bound`` will do."""
    if unit == "yes/no":
        return f"{quantity} is yes or no; type hold = true instead"
    factor = STATED_UNITS[quantity][unit]
    lowest, highest = (each / factor for each in SENSIBLE[quantity])
    if lowest <= bound <= highest:
        return None
    return f"allowed is {lowest:g} to {highest:g} {unit}"


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
