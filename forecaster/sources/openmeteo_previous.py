"""Open-Meteo previous runs: what was forecast for each hour 1 to 7 days before it.

Day 0 (no ending) is the newest forecast of the hour and serves as what came;
``_previous_day1`` … ``_previous_day7`` are what was forecast so many days before.

======================  =================  ====  ================
theirs                  ours               unit  valid
======================  =================  ====  ================
temperature_2m          air_temperature    °C    at t
dew_point_2m            (tests humidity)   °C    at t
relative_humidity_2m    relative_humidity  %     at t
surface_pressure        pressure           hPa   at t
wind_speed_10m          wind_speed         m/s   at t
wind_direction_10m      wind_from          °     at t
precipitation           rain               mm    sum, t - 1 h to t
======================  =================  ====  ================

Gusts are not in the service's list. Holes occur: they stay NaN, and a day without a
temperature and a wind is left out. Source: Open-Meteo, "Previous Runs API" (published).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from forecaster.domain.weather import Provenance
from forecaster.errors import RefusedError
from forecaster.sources.openmeteo import (
    FREE,
    IFS,
    LICENCE,
    RUN_EVERY,
    Access,
    Hourly,
    Valid,
    Variable,
    current_hours,
    horizon,
    in_rows,
    marks_in_rows,
)
from forecaster.sources.openmeteo_forecast import PATH
from forecaster.sources.openmeteo_product import Product, forecast_of
from forecaster.sources.request import Parsed, Request
from forecaster.sources.service_values import (
    believable,
    frame_of,
    refuse_frozen,
)

if TYPE_CHECKING:
    from forecaster.domain.place import Place
    from forecaster.domain.weather import WeatherFrame

HOST: Final = "https://previous-runs-api.open-meteo.com"
FRESH_FOR: Final = 12 * 3600
"""[s] Assumed."""
LEADS: Final = range(1, 8)
"""Days before."""
VARIABLES: Final = (
    Variable("temperature_2m", "air_temperature", "°C"),
    Variable("dew_point_2m", "dew_point", "°C"),
    Variable("relative_humidity_2m", "relative_humidity", "%"),
    Variable("surface_pressure", "pressure", "hPa"),
    Variable("wind_speed_10m", "wind_speed", "m/s"),
    Variable("wind_direction_10m", "wind_from", "°"),
    Variable("precipitation", "rain", "mm", Valid.HOUR_BEFORE),
)
REQUIRED: Final = ("air_temperature", "wind_speed")
PRODUCT: Final = Product(
    "previous runs", HOST, PATH, VARIABLES, REQUIRED, FRESH_FOR, steps=IFS
)

_DAY_HOURS = 24


def request(
    place: Place,
    made: np.datetime64,
    *,
    past_days: int = 14,
    access: Access = FREE,
) -> Request:
    """The request for the last ``past_days`` (1–92) and all seven days before each.

    Raises
    ------
    RefusedError
        If the days are out of range.
    """
    if not 1 <= past_days <= 92:  # noqa: PLR2004 published bound
        raise RefusedError(f"Open-Meteo previous runs: {past_days} days back; 1 to 92")
    names = [each.theirs for each in VARIABLES]
    names += [f"{name}_previous_day{day}" for day in LEADS for name in names[:]]
    return PRODUCT.asked(
        place,
        made,
        access,
        {"forecast_days": 1, "hourly": names, "past_days": past_days},
    )


def parse(body: bytes, request: Request) -> Parsed:
    """Day 0 as ``frame``, the days before in ``leads``, all on the same hours.

    Raises
    ------
    UnusableError
        If it is not hours in GMT for this place and now, in the units asked for.
    RefusedError
        If it is an error document.
    """
    hourly = current_hours(body, request)
    columns = hourly.columns(VARIABLES)
    parsed = forecast_of(hourly, columns, request, PRODUCT, start=hourly.time[0])
    end = horizon(columns, REQUIRED)
    leads = {day: _lead(hourly, day, end, request) for day in LEADS}
    return Parsed(
        frame=parsed.frame,
        leads={day: frame for day, frame in leads.items() if frame is not None},
        cell=hourly.cell,
        warnings=hourly.doubts.lines(),
    )


def _lead(hourly: Hourly, day: int, end: int, request: Request) -> WeatherFrame | None:
    """What was forecast ``day`` days before; None without temperature and wind."""
    columns = {
        name: values[:end]
        for name, values in hourly.columns(VARIABLES, f"_previous_day{day}").items()
    }
    if any(horizon(columns, [name]) == 0 for name in REQUIRED):
        return None
    known, marks = believable(columns, hourly.doubts)
    refuse_frozen(known, hourly.service)
    oldest = float(day * _DAY_HOURS + RUN_EVERY)
    step = next(step for reach, step in IFS if oldest <= reach)
    return frame_of(
        hourly.time[:end],
        in_rows(known, VARIABLES),
        provenance=Provenance(
            f"{hourly.service}, {day} days before",
            LICENCE,
            request.made - np.timedelta64(day, "D"),
        ),
        native_step=np.full(end, float(step)),
        marks=marks_in_rows(marks, VARIABLES),
    )
