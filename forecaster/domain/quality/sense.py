"""Rules between quantities: gust and mean, calm and side, rain and dry air, sun."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.air.sun import elevation
from forecaster.domain.quality.flags import Flag
from forecaster.domain.quality.thresholds import (
    CALM,
    CLEAR_SKY,
    DRY_AIR,
    GUST_SLACK,
    NIGHT,
    NIGHT_RADIATION,
)
from forecaster.domain.weather import HOUR

if TYPE_CHECKING:
    from forecaster.domain.place import Place
    from forecaster.domain.quality.table import Table
    from forecaster.domain.weather import Bools, Times

PARTS = 4
"""Quarters of an hour; the sun must be down at each end of every one."""


def winds(table: Table) -> Table:
    """Gusts below the mean wind and the side of a calm go."""
    speed = table.values["wind_speed"]
    below = table.values["wind_gust"] < speed - GUST_SLACK.value
    table = table.remove("wind_gust", Flag.GUST_BELOW_MEAN, below)
    table = table.keep("wind_speed", Flag.GUST_BELOW_MEAN, below)
    sided = ~np.isnan(table.values["wind_from"])
    still = (speed < CALM.value) & sided
    return table.remove("wind_from", Flag.CALM_DIRECTION, still)


def rain(table: Table) -> Table:
    """Rain from dry air is marked, unless a cloud is known to be there."""
    clouded = table.values["cloud"] > CLEAR_SKY.value
    dry = table.values["relative_humidity"] < DRY_AIR.value
    odd = (table.values["rain"] > 0.0) & dry & ~clouded
    return table.keep("rain", Flag.DRY_AIR_RAIN, odd)


def night_sun(table: Table, dark: Bools) -> Table:
    """Radiation in full night goes."""
    shining = (table.values["radiation"] > NIGHT_RADIATION.value) & dark
    return table.remove("radiation", Flag.NIGHT_SUN, shining)


def full_night(time: Times, place: Place) -> Bools:
    """Hours (hours,) through which the sun stays below civil twilight."""
    within = np.arange(PARTS + 1) * (HOUR // PARTS)
    sun = elevation(time[:, None] + within, place.latitude, place.longitude)
    dark: Bools = np.all(sun < NIGHT.value, axis=1)
    return dark
