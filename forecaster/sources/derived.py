"""Quantities a foreign table lacks, worked out from those it has, through MetPy."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.marks import Marks
from forecaster.domain.quality.flags import Done, Flag

if TYPE_CHECKING:
    from forecaster.domain.weather import Floats
    from forecaster.sources.csv_mapping import Columns
    from forecaster.sources.reports import Reports

OUR_HEIGHT = 10.0
"""[m] above the ground, where a weather table keeps wind."""

FROM_DEW_POINT = "missing, worked out from the dew point"

_FULL = 100.0


def humidity(reports: Reports) -> Reports:
    """Humidity from the dew point where it is missing.

    Where the two were found too far apart it stays missing.
    """
    if not {"dew_point", "air_temperature"} <= reports.values.keys():
        return reports
    from metpy.calc import relative_humidity_from_dewpoint
    from metpy.units import units

    ratio = relative_humidity_from_dewpoint(
        units.Quantity(reports.values["air_temperature"], "degC"),
        units.Quantity(reports.values["dew_point"], "degC"),
    )
    worked_out = np.minimum(np.asarray(ratio.to("percent").magnitude), _FULL)
    given = reports.values.get("relative_humidity")
    if given is None:
        return reports.put("relative_humidity", worked_out)
    marks = reports.marks.get("relative_humidity") or Marks.none(given.shape)
    apart = (marks.bits & np.uint16(Flag.DISAGREES)) != 0
    filled = np.isnan(given) & ~np.isnan(worked_out) & ~apart
    if not filled.any():
        return reports
    reports.note(FROM_DEW_POINT, "relative_humidity", Done.FILLED, filled)
    reports = reports.put("relative_humidity", np.where(filled, worked_out, given))
    marks = marks.add(Flag.WORKED_OUT, filled)
    return replace(reports, marks={**reports.marks, "relative_humidity": marks})


def station_pressure(reports: Reports, columns: Columns, elevation: float) -> Reports:
    """Pressure at the site instead of sea level (standard atmosphere between)."""
    mapped = columns.pressure
    if mapped is None or mapped.at == "station":
        return reports
    from metpy.calc import add_height_to_pressure
    from metpy.units import units

    at_site = add_height_to_pressure(
        units.Quantity(reports.values["pressure"], "hPa"),
        units.Quantity(elevation, "m"),
    )
    return reports.put("pressure", np.asarray(at_site.to("hPa").magnitude))


def wind_from_components(reports: Reports) -> Reports:
    """Speed and side of a wind given by its parts towards east and north."""
    if "wind_east" not in reports.values:
        return reports
    from metpy.calc import wind_direction, wind_speed
    from metpy.units import units

    values, column = dict(reports.values), dict(reports.column)
    parts = [
        units.Quantity(values.pop(name), "m/s") for name in ("wind_east", "wind_north")
    ]
    both = f"{column.pop('wind_east')} and {column.pop('wind_north')}"
    values["wind_speed"] = np.asarray(wind_speed(*parts).magnitude)
    side = wind_direction(*parts, convention="from").to("degree")
    values["wind_from"] = np.asarray(side.magnitude)
    column |= {"wind_speed": both, "wind_from": both}
    return replace(reports, values=values, column=column)


def wind_at_ten_metres(reports: Reports, height: float) -> Reports:
    """Mean wind and gust measured at ``height`` [m], at 10 m by the log profile."""
    if height == OUR_HEIGHT:
        return reports
    from forecaster.domain.air.wind import speed_at_height

    for name in ("wind_speed", "wind_gust"):
        if name in reports.values:
            values: Floats = speed_at_height(reports.values[name], height, OUR_HEIGHT)
            reports = reports.put(name, values)
    return reports
