"""Open-Meteo profile: air near the ground and 80 m up, from one model, for inversions.

The service's mix takes the two heights from two models, whose difference means
nothing; so one model is named. For ICON the server moves both temperatures alike from
the model's ground to the height asked for (its source, ``isElevationCorrectable``), so
their difference is the model's own. Of GFS it moves only the 2 m one.

================  ===================  ====  =====
theirs            ours                 unit  valid
================  ===================  ====  =====
temperature_2m    air_temperature      °C    at t
temperature_80m   air_temperature_80m  °C    at t
================  ===================  ====  =====

Source: Open-Meteo, "DWD ICON API" and "Weather Forecast API" (published).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from forecaster.sources.openmeteo import FREE, ICON, Access, Variable, current_hours
from forecaster.sources.openmeteo_forecast import FRESH_FOR, HOST, PATH
from forecaster.sources.openmeteo_product import Product, forecast_of

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.place import Place
    from forecaster.sources.request import Parsed, Request

MODEL: Final = "icon_global"
DAYS: Final = 8
"""The model reaches 7.5 days (published)."""
VARIABLES: Final = (
    Variable("temperature_2m", "air_temperature", "°C"),
    Variable("temperature_80m", "air_temperature_80m", "°C"),
)
REQUIRED: Final = ("air_temperature", "air_temperature_80m")

PRODUCT: Final = Product(
    "profile", HOST, PATH, VARIABLES, REQUIRED, FRESH_FOR, MODEL, ICON
)


def request(
    place: Place,
    made: np.datetime64,
    *,
    access: Access = FREE,
) -> Request:
    """The request for both heights from ICON alone."""
    return PRODUCT.asked(place, made, access, {"forecast_days": DAYS})


def parse(body: bytes, request: Request) -> Parsed:
    """The two temperatures an answer holds.

    Raises
    ------
    UnusableError
        If it is not hours in GMT for this place and now, in the units asked for.
    RefusedError
        If it is an error document.
    """
    hourly = current_hours(body, request)
    return forecast_of(hourly, hourly.columns(VARIABLES), request, PRODUCT)
