"""Single values that cannot be right: set to missing, clipped or flagged, counted."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.sources.ranges import RANGES, SENSOR_ZERO

if TYPE_CHECKING:
    from forecaster.domain.weather import Floats
    from forecaster.sources.reports import Reports

OUT_OF_RANGE = "out of range"
ABOVE_FULL = "between 100 and 102 %"
NIGHT_ZERO = "sensor zero below 0"
GUST_BELOW_MEAN = "gust below the mean wind"
DEW_POINT_ABOVE_AIR = "dew point above the air temperature"
DISAGREE = "humidity and dew point disagree by more than 3 %"

SET_MISSING = "set to missing"

_FULL = 100.0
"""[%] Saturated air."""

_DEW_POINT_SLACK = 0.3
"""[K] Two sensors in saturated air may differ by this much (assumed)."""

_HUMIDITY_SLACK = 3.0
"""[%] (assumed)"""

_ROUNDING = 1e-6
"""Slack for values that were equal before a unit conversion."""


def within_range(reports: Reports) -> Reports:
    """Values no instrument can have measured become missing."""
    for name in tuple(reports.values):
        if name == "radiation":
            reports = _night_zero(reports)
        values = reports.values[name]
        outside = RANGES[name].outside(values)
        reason = f"{OUT_OF_RANGE} {RANGES[name]}"
        reports.note(reason, name, SET_MISSING, outside)
        reports = reports.put(name, np.where(outside, np.nan, values))
    return _full_humidity(reports)


def consistent(reports: Reports) -> Reports:
    """Gusts below the mean wind and dew points above the air become missing."""
    values = reports.values
    if {"wind_gust", "wind_speed"} <= values.keys():
        below = values["wind_gust"] < values["wind_speed"] - _ROUNDING
        reports.note(GUST_BELOW_MEAN, "wind_gust", SET_MISSING, below)
        reports = reports.put("wind_gust", np.where(below, np.nan, values["wind_gust"]))
    if {"dew_point", "air_temperature"} <= values.keys():
        above = values["dew_point"] > values["air_temperature"] + _DEW_POINT_SLACK
        reports.note(DEW_POINT_ABOVE_AIR, "dew_point", SET_MISSING, above)
        reports = reports.put("dew_point", np.where(above, np.nan, values["dew_point"]))
    if {"wind_from", "wind_speed"} <= values.keys():
        # A calm has no side; vanes park at 0 or at their last direction.
        calm = values["wind_speed"] == 0.0
        reports = reports.put("wind_from", np.where(calm, np.nan, values["wind_from"]))
    return reports


def flag_disagreement(reports: Reports, from_dew_point: Floats) -> None:
    """Count the rows whose two humidities differ; both stay."""
    apart = np.abs(reports.values["relative_humidity"] - from_dew_point)
    reports.note(DISAGREE, "relative_humidity", "flagged only", apart > _HUMIDITY_SLACK)


def _night_zero(reports: Reports) -> Reports:
    values = reports.values["radiation"]
    low = (values < 0.0) & (values >= SENSOR_ZERO)
    reports.note(NIGHT_ZERO, "radiation", "set to 0", low)
    return reports.put("radiation", np.where(low, 0.0, values))


def _full_humidity(reports: Reports) -> Reports:
    values = reports.values.get("relative_humidity")
    if values is None:
        return reports
    full = values > _FULL
    reports.note(ABOVE_FULL, "relative_humidity", "clipped to 100", full)
    return reports.put("relative_humidity", np.minimum(values, _FULL))
