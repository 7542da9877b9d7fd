"""One Open-Meteo product: how it is asked for, and its answer made a table of hours."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from forecaster.domain.weather import Provenance
from forecaster.sources.canonical_url import Parameters, canonical_url
from forecaster.sources.contact import user_agent
from forecaster.sources.openmeteo import (
    LICENCE,
    SOURCE,
    Access,
    Hourly,
    Steps,
    Variable,
    decimals,
    horizon,
    in_rows,
    native_steps,
    newest_run,
)
from forecaster.sources.request import Parsed, Request
from forecaster.sources.service_values import (
    believable,
    first_rows,
    frame_of,
    refuse_frozen,
    refuse_thin,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy as np

    from forecaster.domain.place import Place
    from forecaster.domain.weather import Floats

RUN_ASSUMED: Final = "run assumed: the newest that was surely served then"


@dataclass(frozen=True, slots=True)
class Product:
    """What a product asks for, where, and of which model."""

    name: str
    host: str
    """The free one."""
    path: str
    variables: Sequence[Variable]
    required: Sequence[str]
    fresh_for: int
    """[s]"""
    model: str = ""
    """Empty for the service's own mix."""
    steps: Steps = ()
    """Empty where the hours are not kept."""

    def asked(
        self,
        place: Place,
        made: np.datetime64,
        access: Access,
        parameters: Parameters,
    ) -> Request:
        """The canonical request: GMT, °C, m/s and mm, the key never in the URL."""
        return Request(
            source=SOURCE,
            product=self.name,
            url=canonical_url(
                access.host(self.host) + self.path,
                {
                    "latitude": decimals(place.latitude),
                    "longitude": decimals(place.longitude),
                    "elevation": f"{place.elevation:.0f}",
                    "temperature_unit": "celsius",
                    "wind_speed_unit": "ms",
                    "precipitation_unit": "mm",
                    "timezone": "GMT",
                    "hourly": [each.theirs for each in self.variables],
                    "models": self.model or None,
                    **parameters,
                },
            ),
            place=place,
            made=made,
            fresh_for=self.fresh_for,
            secrets={"apikey": access.key} if access.key else {},
            headers=(
                user_agent(access.contact, "Open-Meteo") if access.contact else {}
            ),
        )


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
        provenance=Provenance(source, LICENCE, run, (RUN_ASSUMED,)),
        native_step=native_steps(time, run, product.steps),
    )
    lost = hourly.time.size - end
    warnings = hourly.doubts.lines()
    if lost:
        warnings += (f"{hourly.service}: the last {lost} hours are empty, cut off",)
    return Parsed(frame=frame, cell=hourly.cell, warnings=warnings)
