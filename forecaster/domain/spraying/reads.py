"""Which values of which hours a limit's quantity is worked out from."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from forecaster.domain.spraying.limits import Quantity

if TYPE_CHECKING:
    from forecaster.domain.spraying.limits import Limit

_MOIST_AIR = ("air_temperature", "relative_humidity", "pressure")
_COLUMNS: Final[dict[Quantity, tuple[str, ...]]] = {
    Quantity.WIND_10M: ("wind_speed",),
    Quantity.WIND_2M: ("wind_speed",),
    Quantity.GUST_10M: ("wind_gust",),
    Quantity.WIND_SIDE: ("wind_from",),
    Quantity.LIGHT_WIND_SIDE: ("wind_speed",),
    Quantity.DELTA_T: _MOIST_AIR,
    Quantity.WET_BULB: _MOIST_AIR,
    Quantity.AIR_TEMPERATURE: ("air_temperature",),
    Quantity.RELATIVE_HUMIDITY: ("relative_humidity",),
    Quantity.LOWEST_TEMPERATURE_48H: ("air_temperature",),
    # Everything else it looks at may be missing.
    Quantity.INVERSION_RISK: ("wind_speed",),
    Quantity.SUN_ELEVATION: (),
    Quantity.RAIN_FREE_HOURS: ("rain",),
    Quantity.RAIN_CHANCE_AHEAD: ("rain_chance",),
    Quantity.RAIN_LAST_2H: ("rain",),
    Quantity.RAIN_LAST_24H: ("rain",),
    Quantity.RAIN_LAST_72H: ("rain",),
    Quantity.WEATHER_AGE: (),
    Quantity.STEP_WIDTH: (),
}
_BEFORE: Final = {
    Quantity.RAIN_LAST_2H: 2,
    Quantity.RAIN_LAST_24H: 24,
    Quantity.RAIN_LAST_72H: 72,
    Quantity.LOWEST_TEMPERATURE_48H: 48,
}


@dataclass(frozen=True, slots=True)
class Reads:
    """Columns of the weather table, and the hours before and after the judged one."""

    columns: tuple[str, ...]
    before: int = 0
    after: int = 0


def reads(limit: Limit) -> Reads:
    """What makes the quantity of ``limit`` unknown where it is missing."""
    quantity = limit.quantity
    after = 0.0
    if quantity is Quantity.RAIN_FREE_HOURS:
        after = limit.bound
    elif quantity is Quantity.RAIN_CHANCE_AHEAD:
        after = limit.horizon
    return Reads(_COLUMNS[quantity], _BEFORE.get(quantity, 0), math.ceil(after))
