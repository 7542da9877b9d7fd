"""Foreign units into ours, through the unit registry of MetPy."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from forecaster.domain.weather import Floats

COMPASS = "compass"
"""The unit of wind directions written as N, NNE, NE …"""

POINTS: dict[str, float] = {
    name: 22.5 * number
    for number, name in enumerate(
        "N NNE NE ENE E ESE SE SSE S SSW SW WSW W WNW NW NNW".split()  # noqa: SIM905 reads as the rose does
    )
}
"""[°] The sixteen points of the compass."""

OURS: dict[str, str] = {
    "air_temperature": "degC",
    "air_temperature_80m": "degC",
    "dew_point": "degC",
    "relative_humidity": "percent",
    "pressure": "hPa",
    "wind_speed": "m/s",
    "wind_east": "m/s",
    "wind_north": "m/s",
    "wind_gust": "m/s",
    "wind_from": "degree",
    "rain": "mm",
    "rain_chance": "percent",
    "cloud": "",
    "low_cloud": "",
    "radiation": "W/m^2",
}
"""The unit each quantity is kept in; cloud is a share."""

_SHAPE = re.compile(r"(?P<factor>\d+(?:\.\d+)?)?\s*(?P<name>[A-Za-zµ°%].*)?")
# Longer digits or chained powers could keep the registry busy for ever.
_TOO_MUCH = re.compile(r"\d\d|(?:\*\*|\^)[^/*^]*(?:\*\*|\^)|[^\w\s°%/*^.()+-]")
_HINTS = {
    "degree": "degree is an angle; temperatures are degC or degF",
    "f": "degrees Fahrenheit are degF",
    "c": "degrees Celsius are degC",
    "celsius": "degrees Celsius are degC",
    "fahrenheit": "degrees Fahrenheit are degF",
}


@dataclass(frozen=True, slots=True)
class Unit:
    """A foreign unit: ``factor`` times a unit of the registry ("0.2 mm" a tip)."""

    factor: float
    unit: Any

    def convert(self, values: Floats, quantity: str) -> Floats:
        """``values`` in the unit we keep ``quantity`` in. NaN stays NaN."""
        from metpy.units import units

        there = units.Quantity(values * self.factor, self.unit)
        ours = np.asarray(there.to(OURS[quantity]).magnitude, dtype=np.float64)
        # The way through kelvin leaves 32 °F at 6e-14 °C; nothing measures that.
        return np.round(ours, 9)


def unit_of(text: str, quantity: str) -> Unit:
    """The unit written as ``text``, if it can measure ``quantity``.

    Raises
    ------
    ValueError
        If it is not a unit, or one of something else.
    """
    from metpy.units import units

    found = _SHAPE.fullmatch(text.strip())
    if found is None or _TOO_MUCH.search(found["name"] or ""):
        raise ValueError(_unknown(text, quantity))
    name = found["name"] or ""
    try:
        unit = units.parse_units(name)
    except Exception:  # noqa: BLE001 the registry raises many kinds, the tokenizer more
        raise ValueError(_unknown(text, quantity)) from None
    ours = units.parse_units(OURS[quantity])
    angle = units.parse_units("radian")
    same = unit.dimensionality == ours.dimensionality
    if not same or _is_angle(unit, angle) != _is_angle(ours, angle):
        hint = _HINTS.get(str(unit), _HINTS.get(name.lower(), ""))
        raise ValueError(
            f"does not measure {quantity}; write it as a unit like "
            f"{OURS[quantity] or '0.1'}" + (f" ({hint})" if hint else "")
        )
    return Unit(float(found["factor"] or 1.0), unit)


def _is_angle(unit: Any, radian: Any) -> bool:
    return str(unit) in {"degree", str(radian)}


def _unknown(text: str, quantity: str) -> str:
    hint = _HINTS.get(text.strip().lower())
    return (
        f"is not a unit the registry knows; {hint}"
        if hint
        else f"is not a unit the registry knows; {quantity} is kept in "
        f"{OURS[quantity] or 'shares'}, others are converted: km/h, knot, degF, inch …"
    )
