"""Open-Meteo archive: one past year of ERA5 hours, made into days for the traces.

Days are cut here, from hours, on the whole-hour local solar days the season counts
in. The service's own daily block would be cut at midnight GMT, half past nine in the
morning in Adelaide, and split the night's minimum over two days.

================  ======================  ====  ================
theirs            ours                    unit  valid
================  ======================  ====  ================
temperature_2m    tmax, tmin of the day   °C    at t
precipitation     rain of the day         mm    sum, t - 1 h to t
================  ======================  ====  ================

One call a year keeps a call's weight near 5 instead of hundreds. Source: Open-Meteo,
"Historical Weather API", which advises ERA5 alone for long comparisons (published).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from forecaster.domain.weather import HOUR
from forecaster.errors import RefusedError, UnusableError
from forecaster.sources.days_table import (
    DAY_RAIN,
    DayOrigin,
    DaysTable,
    days_of_hours,
)
from forecaster.sources.openmeteo import (
    FREE,
    Access,
    Valid,
    Variable,
    horizon,
    hourly_of,
    in_rows,
)
from forecaster.sources.openmeteo_product import Product
from forecaster.sources.request import Parsed, Request
from forecaster.sources.season import solar_offset
from forecaster.sources.service_values import believable, refuse_frozen, refuse_thin

if TYPE_CHECKING:
    from forecaster.domain.place import Place
    from forecaster.domain.weather import Floats

HOST: Final = "https://archive-api.open-meteo.com"
PATH: Final = "/v1/archive"
MODEL: Final = "era5_seamless"
FIRST_YEAR: Final = 1940
SETTLED: Final = 90
"""[d] after which a year no longer changes. Assumed."""
FRESH_FOR: Final = 12 * 3600
FRESH_WHEN_SETTLED: Final = 10 * 365 * 86_400
VARIABLES: Final = (
    Variable("temperature_2m", "air_temperature", "°C"),
    Variable("precipitation", "rain", "mm", Valid.HOUR_BEFORE),
)
REQUIRED: Final = ("air_temperature", "rain")
PRODUCT: Final = Product("archive", HOST, PATH, VARIABLES, REQUIRED, FRESH_FOR, MODEL)

_DAY = np.timedelta64(1, "D")
_HOURS = 24


def request(
    place: Place,
    made: np.datetime64,
    *,
    year: int,
    access: Access = FREE,
) -> Request:
    """The request for the local days of one year, as far as it has gone.

    Raises
    ------
    RefusedError
        If the year is before 1940 or has not begun.
    """
    today = made.astype("datetime64[D]")
    last = (today - 2 * _DAY).astype("datetime64[Y]").astype(int) + 1970
    if not FIRST_YEAR <= year <= last:
        raise RefusedError(
            f"Open-Meteo archive: the year {year} is not between {FIRST_YEAR} and now"
        )
    start = np.datetime64(f"{year}-01-01") - _DAY
    end = min(np.datetime64(f"{year + 1}-01-01"), today - _DAY)
    settled = today - end > SETTLED * _DAY
    product = replace(
        PRODUCT,
        name=f"{PRODUCT.name} {year}",
        fresh_for=FRESH_WHEN_SETTLED if settled else FRESH_FOR,
    )
    days = {"start_date": str(start), "end_date": str(end)}
    return product.asked(place, made, access, days)


def parse(body: bytes, request: Request) -> Parsed:
    """The days an answer holds.

    Raises
    ------
    UnusableError
        If it is not the year asked for in GMT at this place, in the units asked for.
    RefusedError
        If it is an error document.
    """
    hourly = hourly_of(body, request)
    year = int(request.product.split()[-1])
    if hourly.time[0] != np.datetime64(f"{year}-01-01", "s") - _DAY:
        raise UnusableError(
            f"{hourly.service}: the hours begin at {hourly.time[0]}Z, asked for {year}"
        )
    columns = hourly.columns(VARIABLES)
    end = horizon(columns, REQUIRED)
    known, _ = believable(
        {name: values[:end] for name, values in columns.items()}, hourly.doubts
    )
    refuse_thin(known, REQUIRED, np.ones(end, dtype=np.bool_), hourly.service)
    refuse_frozen(known, hourly.service)
    rows = in_rows(known, VARIABLES)
    days = _days(rows["air_temperature"], rows["rain"], request.place, year)
    flood = DAY_RAIN.outside(days.rain)
    hourly.doubts.add(f"rain of a day outside {DAY_RAIN} dropped", flood)
    days = replace(days, rain=np.where(flood, np.nan, days.rain))
    days = days.said_to_be_from(DayOrigin.ARCHIVE)
    return Parsed(days=days, cell=hourly.cell, warnings=hourly.doubts.lines())


def _days(temperature: Floats, rain: Floats, place: Place, year: int) -> DaysTable:
    """Extremes and sums of the local solar days of ``year`` that have begun."""
    first = np.datetime64(f"{year}-01-01", "D")
    length = int((np.datetime64(f"{year + 1}-01-01", "D") - first) / _DAY)
    skipped = _HOURS - int(solar_offset(place) / HOUR)
    count = min(max(temperature.size - skipped, 0) // _HOURS, length)
    if count == 0:
        raise UnusableError(f"Open-Meteo archive: no whole day of {year}")
    span = slice(skipped, skipped + count * _HOURS)
    return days_of_hours(
        first,
        temperature[span].reshape(count, _HOURS),
        rain[span].reshape(count, _HOURS),
    )
