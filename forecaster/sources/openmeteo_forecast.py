"""Open-Meteo forecast: the hours ahead and a few days back, the service's own mix.

The mix reads ECMWF IFS first. The answer names neither model nor run; the model status
(``openmeteo_status``) may. The service's wet bulb is not asked for: it is a one-line
fit without pressure.

==========================  ====================  =====  ====================
theirs                      ours                  unit   valid
==========================  ====================  =====  ====================
temperature_2m              air_temperature       °C     at t
dew_point_2m                (tests the humidity)  °C     at t
relative_humidity_2m        relative_humidity     %      at t
surface_pressure            pressure              hPa    at t
wind_speed_10m              wind_speed            m/s    at t
wind_direction_10m          wind_from             °      at t
wind_gusts_10m              wind_gust             m/s    maximum, t - 1 h to t
precipitation               rain                  mm     sum, t - 1 h to t
precipitation_probability   rain_chance           %      t - 1 h to t
cloud_cover, …_low          cloud, low_cloud      %      at t
shortwave_radiation         radiation             W/m²   mean, t - 1 h to t
==========================  ====================  =====  ====================

Source: Open-Meteo, "Weather Forecast API" (published).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from forecaster.errors import RefusedError
from forecaster.sources.openmeteo import (
    FREE,
    ICON,
    IFS,
    Access,
    Steps,
    Valid,
    Variable,
    current_hours,
    models_of,
)
from forecaster.sources.openmeteo_product import Product, forecast_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np

    from forecaster.domain.place import Place
    from forecaster.sources.request import Parsed, Request

HOST: Final = "https://api.open-meteo.com"
PATH: Final = "/v1/forecast"
FRESH_FOR: Final = 3600
"""[s] Assumed; the service sends no lifetime."""
VARIABLES: Final = (
    Variable("temperature_2m", "air_temperature", "°C"),
    Variable("dew_point_2m", "dew_point", "°C"),
    Variable("relative_humidity_2m", "relative_humidity", "%"),
    Variable("surface_pressure", "pressure", "hPa"),
    Variable("wind_speed_10m", "wind_speed", "m/s"),
    Variable("wind_direction_10m", "wind_from", "°"),
    Variable("wind_gusts_10m", "wind_gust", "m/s", Valid.HOUR_BEFORE),
    Variable("precipitation", "rain", "mm", Valid.HOUR_BEFORE),
    Variable("precipitation_probability", "rain_chance", "%", Valid.HOUR_BEFORE),
    Variable("cloud_cover", "cloud", "%", scale=0.01),
    Variable("cloud_cover_low", "low_cloud", "%", scale=0.01),
    Variable("shortwave_radiation", "radiation", "W/m²", Valid.HOUR_BEFORE),
)
REQUIRED: Final = ("air_temperature",)
JUDGED: Final = ("relative_humidity", "wind_speed", "rain")
DATES_ONLY: Final = "forecast for dates only"
"""Product of a request whose answer is read by :func:`parse_dates`."""
STEPS: Final[dict[str, Steps]] = {"": IFS, "ecmwf_ifs": IFS, "icon_global": ICON}
"""Steps of each model that may be named; "" is the service's own mix."""
PRODUCT: Final = Product(
    "forecast", HOST, PATH, VARIABLES, REQUIRED, FRESH_FOR, steps=IFS, judged=JUDGED
)


def request(
    place: Place,
    made: np.datetime64,
    *,
    access: Access = FREE,
    past_days: int = 2,
    forecast_days: int = 16,
    models: Sequence[str] = (),
) -> Request:
    """The request for ``past_days`` (0–92) back to ``forecast_days`` (1–16) ahead.

    Several models are alternatives: the first that has data is read, whole.

    Raises
    ------
    RefusedError
        If the days are out of range, or a model's steps are not known here.
    """
    if not (0 <= past_days <= 92 and 1 <= forecast_days <= 16):  # noqa: PLR2004 published bounds
        raise RefusedError(
            f"Open-Meteo forecast: {past_days} days back and {forecast_days} ahead; "
            "allowed are 0 to 92 and 1 to 16"
        )
    unknown = sorted(set(models) - STEPS.keys())
    if unknown:
        raise RefusedError(
            f"Open-Meteo forecast: the steps of {', '.join(unknown)} are not known"
        )
    days = {"past_days": past_days, "forecast_days": forecast_days}
    named = {"models": list(models)} if models else {}
    return PRODUCT.asked(place, made, access, {**days, **named})


def parse(body: bytes, request: Request) -> Parsed:
    """The forecast an answer holds, whole.

    Raises
    ------
    UnusableError
        If it is not hours in GMT for this place and now, in the units asked for.
    PartialError
        If only humidity, wind or rain is missing: :func:`parse_dates` can read it.
    RefusedError
        If it is an error document.
    """
    return _parsed(body, request, dates_only=False)


def parse_dates(body: bytes, request: Request) -> Parsed:
    """The forecast an answer holds, though humidity, wind or rain may be missing.

    Raises
    ------
    UnusableError, RefusedError
        As :func:`parse`.
    """
    return _parsed(body, request, dates_only=True)


def for_dates(request: Request) -> Request:
    """The same question, its answer kept apart from whole ones."""
    return replace(request, product=DATES_ONLY)


def _parsed(body: bytes, request: Request, *, dates_only: bool) -> Parsed:
    hourly = current_hours(body, request)
    models = models_of(request)
    ending = hourly.model_ending(VARIABLES[0], models)
    model = ending[1:] or "".join(models[:1])
    product = replace(PRODUCT, model=model, steps=STEPS.get(model, IFS))
    columns = hourly.columns(VARIABLES, ending)
    return forecast_of(hourly, columns, request, product, dates_only=dates_only)
