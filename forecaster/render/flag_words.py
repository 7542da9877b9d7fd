"""What quality control said against a value, in words and as plain values."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from forecaster.domain.quality.flags import Done, Flag, done, rule_of
from forecaster.domain.quality.thresholds import RANGES
from forecaster.render.plain_values import iso, number
from forecaster.render.words import KMH

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.quality.doubts import Doubt
    from forecaster.render.words import LocalClock

_WINDS: Final = {"wind_speed", "wind_gust"}
_SHARES: Final = {"cloud", "low_cloud"}
_NAMES: Final = {
    "air_temperature": "air",
    "relative_humidity": "humidity",
    "pressure": "pressure",
    "wind_speed": "wind",
    "wind_from": "wind from",
    "wind_gust": "gust",
    "rain": "rain",
    "rain_chance": "rain chance",
    "cloud": "cloud",
    "low_cloud": "low cloud",
    "radiation": "sunshine",
    "air_temperature_80m": "air at 80 m",
}


def refusal_words(doubt: Doubt, hour: np.datetime64, clock: LocalClock) -> str:
    """Which value was refused and why, said in the row of ``hour``.

    ``wind 1687 km/h refused: outside 0 to 162 km/h``.
    """
    name = _NAMES[doubt.quantity]
    at = "" if doubt.time == hour else f" at {clock.hour(doubt.time)}"
    if math.isnan(doubt.given):
        value = _value(doubt.quantity, doubt.value)
        return f"{name}{at} missing; {value}, drawn straight, counts for growth alone"
    why = ", ".join(_why(flag, doubt.quantity) for flag in doubt.refused_by)
    return f"{name} {_value(doubt.quantity, doubt.given)}{at} refused: {why}"


def _why(flag: Flag, quantity: str) -> str:
    if flag is not Flag.OUT_OF_RANGE:
        return rule_of(flag).words
    bounds = RANGES[quantity]
    scale, unit, digits = _printed(quantity)
    low, high = (f"{scale * bound:.{digits}f}" for bound in (bounds.low, bounds.high))
    return f"outside {low} to {high}{unit}"


def _value(quantity: str, value: float) -> str:
    scale, unit, digits = _printed(quantity)
    return f"{scale * value:.{digits}f}{unit}"


def _printed(quantity: str) -> tuple[float, str, int]:
    """Factor from our unit to the printed one, its name and digits."""
    if quantity in _WINDS:
        return KMH, " km/h", 0
    if quantity in _SHARES:
        return 100.0, " %", 0
    unit = RANGES[quantity].unit
    return 1.0, unit if unit == "°" else f" {unit}", 0 if unit in {"°", "%"} else 1


def flag_tree(doubt: Doubt) -> dict[str, Any]:
    """One flagged value as plain values, in the unit inside."""
    return {
        "time": iso(doubt.time),
        "quantity": doubt.quantity,
        "unit": RANGES[doubt.quantity].unit,
        "flags": [str(flag.name).lower() for flag in doubt.each],
        "done": _done(doubt).value,
        "given": number(doubt.given),
        "value": number(doubt.value),
    }


def _done(doubt: Doubt) -> Done:
    """What became of the value in the end."""
    became = {done(flag, doubt.quantity) for flag in doubt.each}
    if math.isnan(doubt.value):
        return Done.REMOVED
    order = (Done.FILLED, Done.CHANGED, Done.KEPT)
    return next(each for each in order if each in became)
