"""Open-Meteo forecast: the hours ahead and a few days back, the service's own mix.

The mix reads ECMWF IFS first. The answer names neither model nor run. The service's
wet bulb is not asked for: it is a one-line fit without pressure.

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

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from forecaster.domain.weather import Provenance
from forecaster.errors import RefusedError
from forecaster.sources.openmeteo import (
    FREE,
    ICON,
    IFS,
    LICENCE,
    Access,
    Hourly,
    Steps,
    Valid,
    Variable,
    asked,
    horizon,
    hourly_of,
    in_rows,
    models_of,
    native_steps,
    newest_run,
)
from forecaster.sources.request import Parsed, Request
from forecaster.sources.service_values import (
    believable,
    first_rows,
    frame_of,
    refuse_frozen,
    refuse_other_time,
    refuse_thin,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy as np

    from forecaster.domain.place import Place
    from forecaster.domain.weather import Floats

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
REQUIRED: Final = ("air_temperature", "relative_humidity", "wind_speed", "rain")
STEPS: Final[dict[str, Steps]] = {"": IFS, "ecmwf_ifs": IFS, "icon_global": ICON}
"""Steps of each model that may be named; "" is the service's own mix."""
RUN_UNKNOWN: Final = (
    "the service does not name the run; the newest that was surely served is assumed"
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
    return asked(
        place,
        made,
        product="forecast",
        url=access.host(HOST) + PATH,
        access=access,
        parameters={
            "hourly": ",".join(each.theirs for each in VARIABLES),
            "past_days": str(past_days),
            "forecast_days": str(forecast_days),
            **({"models": ",".join(models)} if models else {}),
        },
        fresh_for=FRESH_FOR,
    )


def parse(body: bytes, request: Request) -> Parsed:
    """The forecast an answer holds.

    Raises
    ------
    UnusableError
        If it is not hours in GMT for this place and now, in the units asked for.
    RefusedError
        If it is an error document.
    """
    hourly = hourly_of(body, request)
    refuse_other_time(hourly.time, request.made, hourly.service)
    models = models_of(request)
    ending = hourly.model_ending(VARIABLES[0], models)
    model = ending[1:] or "".join(models[:1])
    product = Product(VARIABLES, REQUIRED, STEPS.get(model, IFS), model)
    return forecast_of(hourly, hourly.columns(VARIABLES, ending), request, product)


@dataclass(frozen=True, slots=True)
class Product:
    """What a product asks for, and of which model."""

    variables: Sequence[Variable]
    required: Sequence[str]
    steps: Steps
    model: str


def forecast_of(
    hourly: Hourly,
    columns: Mapping[str, Floats],
    request: Request,
    product: Product,
    *,
    start: np.datetime64 | None = None,
) -> Parsed:
    """The checked table of one product, cut at its horizon, hours in our rows.

    The 72 hours from ``start`` on (if not given, from the moment of asking) must be
    nearly whole.

    Raises
    ------
    UnusableError
        If they are not, or the values cannot be weather.
    """
    end = horizon(columns, product.required)
    time = hourly.time[:end]
    known = believable(
        {name: values[..., :end] for name, values in columns.items()}, hourly.doubts
    )
    first = first_rows(time, request.made if start is None else start)
    refuse_thin(known, product.required, first, hourly.service)
    refuse_frozen(known, hourly.service)
    run = newest_run(request.made)
    source = f"{hourly.service} ({product.model or 'the mix of the service'})"
    frame = frame_of(
        time,
        in_rows(known, product.variables),
        provenance=Provenance(source, LICENCE, run, (RUN_UNKNOWN,)),
        native_step=native_steps(time, run, product.steps),
    )
    lost = hourly.time.size - end
    warnings = hourly.doubts.lines()
    if lost:
        warnings += (f"{hourly.service}: the last {lost} hours are empty, cut off",)
    return Parsed(frame=frame, cell=hourly.cell, warnings=warnings)
