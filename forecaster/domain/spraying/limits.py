"""Bounds that an hour is held against, and what each may do to it.

Three ranks. *Law or label* may turn an hour to hold, but only once a person has
typed the number from their own label; until then the hour is unknown. *Advice*
may only turn it to look first, unless the farm chose to hold on it. *Data* says
when there is too little to judge by.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import IntEnum, StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from forecaster.domain.sourced import Sourced


class Verdict(IntEnum):
    """What may be done in an hour, worst first."""

    HOLD = 0
    UNKNOWN = 1
    LOOK_FIRST = 2
    GOOD = 3


class Rank(StrEnum):
    """Where a limit draws its force from."""

    LAW = "law or label"
    ADVICE = "advice"
    DATA = "data"


class Side(StrEnum):
    """Which side of the bound is fit."""

    MIN = "min"
    """Fit at or above the bound."""
    MAX = "max"
    """Fit at or below the bound."""
    BELOW = "below"
    """Fit strictly below the bound."""


class Quantity(StrEnum):
    """What can be measured of an hour; :mod:`.quantities` says how."""

    WIND_10M = "wind_10m"
    WIND_2M = "wind_2m"
    GUST_10M = "gust_10m"
    WIND_SIDE = "wind_side"
    LIGHT_WIND_SIDE = "light_wind_side"
    DELTA_T = "delta_t"
    WET_BULB = "wet_bulb"
    AIR_TEMPERATURE = "air_temperature"
    RELATIVE_HUMIDITY = "relative_humidity"
    LOWEST_TEMPERATURE_48H = "lowest_temperature_48h"
    INVERSION_RISK = "inversion_risk"
    SUN_ELEVATION = "sun_elevation"
    RAIN_FREE_HOURS = "rain_free_hours"
    RAIN_CHANCE_AHEAD = "rain_chance_ahead"
    RAIN_LAST_2H = "rain_last_2h"
    RAIN_LAST_24H = "rain_last_24h"
    RAIN_LAST_72H = "rain_last_72h"
    WEATHER_AGE = "weather_age"
    STEP_WIDTH = "step_width"


@dataclass(frozen=True, slots=True)
class Limit:
    """One bound on one quantity.

    ``bound`` is in the quantity's own unit (m/s, K, °C, %, mm, h, °). ``stated`` is
    the number as its source prints it. ``error`` is the size of a typical error of
    the quantity in the same unit, used only to say which limit is the tightest.
    ``on_missing`` is what an hour becomes where the quantity is not known: *good*
    passes the limit over, *look first* leaves it to a person at the gate.
    """

    id: str
    quantity: Quantity
    side: Side
    bound: float
    stated: Sourced
    rank: Rank
    words: str
    error: float
    confirmed: bool = True
    holds: bool = False
    on_missing: Verdict = Verdict.UNKNOWN
    horizon: float = 0.0
    """Hours ahead the quantity looks, where it looks ahead."""

    @property
    def of_label(self) -> bool:
        """Whether it is law or a label number someone has confirmed."""
        return self.rank is Rank.LAW and self.confirmed

    @property
    def on_failure(self) -> Verdict:
        """What an hour outside this limit becomes."""
        if self.rank is Rank.DATA or not self.confirmed:
            return Verdict.UNKNOWN
        if self.rank is Rank.LAW or self.holds:
            return Verdict.HOLD
        return Verdict.LOOK_FIRST

    @property
    def on_pass(self) -> Verdict:
        """The best an hour inside this limit can be."""
        return Verdict.GOOD if self.confirmed else Verdict.UNKNOWN

    def tightened(self, amount: float) -> Limit:
        """The same limit moved ``amount`` (≥ 0) to the strict side."""
        sign = 1.0 if self.side is Side.MIN else -1.0
        return replace(self, bound=self.bound + sign * amount)
