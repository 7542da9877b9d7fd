"""Temperature, humidity and dew point: two say what the third must be."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.air.humidity import relative_humidity
from forecaster.domain.quality.flags import Flag
from forecaster.domain.quality.thresholds import (
    DEW_POINT_SLACK,
    HUMIDITY_APART,
    HUMIDITY_FAR_APART,
)

if TYPE_CHECKING:
    from forecaster.domain.quality.table import Table
    from forecaster.domain.weather import Bools

FULL = 100.0
"""[%] Saturated air."""


def agreeing(table: Table) -> Table:
    """Humidity that does not fit temperature and dew point is replaced or goes.

    Without a dew point nothing can be said.
    """
    if "dew_point" not in table.values:
        return table
    air = table.values["air_temperature"]
    above = table.values["dew_point"] > air + DEW_POINT_SLACK.value
    table = table.remove("dew_point", Flag.DEW_POINT_ABOVE_AIR, above)
    worked_out = np.minimum(relative_humidity(air, table.values["dew_point"]), FULL)
    apart = np.abs(table.values["relative_humidity"] - worked_out)
    far = apart > HUMIDITY_FAR_APART.value
    near = (apart > HUMIDITY_APART.value) & ~far
    table = table.change("relative_humidity", Flag.REWORKED, near, worked_out)
    return table.remove("relative_humidity", Flag.DISAGREES, far)


def with_temperature(table: Table) -> Table:
    """Moisture goes where the temperature was removed."""
    removed = np.isnan(table.values["air_temperature"]) & (
        table.marks["air_temperature"].bits != 0
    )
    for name in ("relative_humidity", "dew_point"):
        if name in table.values:
            gone: Bools = removed & ~np.isnan(table.values[name])
            table = table.remove(name, Flag.WITH_TEMPERATURE, gone)
    return table
