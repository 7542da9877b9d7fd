"""Open-Meteo ensemble: one model's members, the control first.

A name without an ending is the control; ``_member01``, ``_member02`` … follow, two
digits, none left out.

======================  =================  ====  ====================
theirs                  ours               unit  valid
======================  =================  ====  ====================
temperature_2m          air_temperature    °C    at t
relative_humidity_2m    relative_humidity  %     at t
wind_speed_10m          wind_speed         m/s   at t
wind_direction_10m      wind_from          °     at t
wind_gusts_10m          wind_gust          m/s   maximum, t - 1 h to t
precipitation           rain               mm    sum, t - 1 h to t
======================  =================  ====  ====================

Source: Open-Meteo, "Ensemble API" and the server's source (published).
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

import numpy as np

from forecaster.errors import UnusableError
from forecaster.sources.openmeteo import (
    FREE,
    Access,
    Hourly,
    Steps,
    Valid,
    Variable,
    current_hours,
)
from forecaster.sources.openmeteo_forecast import JUDGED, REQUIRED
from forecaster.sources.openmeteo_product import Product, forecast_of

if TYPE_CHECKING:
    from forecaster.domain.place import Place
    from forecaster.domain.weather import Floats
    from forecaster.sources.request import Parsed, Request

HOST: Final = "https://ensemble-api.open-meteo.com"
PATH: Final = "/v1/ensemble"
FRESH_FOR: Final = 6 * 3600
"""[s] Assumed: the interval between runs."""
MODEL: Final = "ecmwf_ifs025_ensemble"
"""51 members, 15 days (published: Open-Meteo, "Ensemble API")."""
DAYS: Final = 15
STEPS: Final[Steps] = ((144, 3), (np.inf, 6))
"""3 h as Open-Meteo publishes; 6 h beyond 144 h is from memory of ECMWF's open data."""
VARIABLES: Final = (
    Variable("temperature_2m", "air_temperature", "°C"),
    Variable("relative_humidity_2m", "relative_humidity", "%"),
    Variable("wind_speed_10m", "wind_speed", "m/s"),
    Variable("wind_direction_10m", "wind_from", "°"),
    Variable("wind_gusts_10m", "wind_gust", "m/s", Valid.HOUR_BEFORE),
    Variable("precipitation", "rain", "mm", Valid.HOUR_BEFORE),
)

PRODUCT: Final = Product(
    "ensemble", HOST, PATH, VARIABLES, (*REQUIRED, *JUDGED), FRESH_FOR, MODEL, STEPS
)


def request(
    place: Place,
    made: np.datetime64,
    *,
    access: Access = FREE,
) -> Request:
    """The request for all members of the one model."""
    return PRODUCT.asked(place, made, access, {"forecast_days": DAYS})


def parse(body: bytes, request: Request) -> Parsed:
    """The members an answer holds, (members, hours).

    Raises
    ------
    UnusableError
        If it is not hours in GMT for this place and now, in the units asked for, or
        a member is left out.
    RefusedError
        If it is an error document.
    """
    hourly = current_hours(body, request)
    endings = ["", *_member_endings(hourly)]
    columns: dict[str, Floats] = {}
    for variable in VARIABLES:
        members = [
            hourly.column(variable, variable.theirs + ending) for ending in endings
        ]
        if any(each is not None for each in members):
            missing = np.full(hourly.time.size, np.nan)
            columns[variable.ours] = np.array(
                [missing if each is None else each for each in members]
            )
    return forecast_of(hourly, columns, request, PRODUCT)


def _member_endings(hourly: Hourly) -> list[str]:
    """``_member01`` … of the temperature, which every member has."""
    pattern = re.compile(re.escape(VARIABLES[0].theirs) + r"(_member\d\d)")
    found = sorted(
        match[1] for name in hourly.values if (match := pattern.fullmatch(name))
    )
    expected = [f"_member{number:02d}" for number in range(1, len(found) + 1)]
    if not found or found != expected:
        raise UnusableError(
            f"{hourly.service}: the members are {', '.join(found) or 'none'}; they "
            "must count from _member01 on without a gap"
        )
    return found
