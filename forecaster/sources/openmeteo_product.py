"""One Open-Meteo product: how it is asked for, and its answer made a table of hours."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from forecaster.domain.weather import Provenance
from forecaster.errors import PartialError
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
    marks_in_rows,
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
    thin,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

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
    """Without one of these an answer is no use."""
    fresh_for: int
    """[s]"""
    model: str = ""
    """Empty for the service's own mix."""
    steps: Steps = ()
    """Empty where the hours are not kept."""
    judged: Sequence[str] = ()
    """Further ones that no hour can be judged without; dates can be told."""

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
    dates_only: bool = False,
) -> Parsed:
    """The checked table of one product, cut at its horizon, hours in our rows.

    The 72 hours from ``start`` on (if not given, from the moment of asking) must be
    nearly whole. With ``dates_only`` what hours are judged by may be missing: then
    no hour that lacks any of it keeps what it could be called good by.

    Raises
    ------
    UnusableError
        If they are not, or the values cannot be weather.
    PartialError
        If only what hours are judged by is missing.
    """
    end = horizon(columns, (*product.required, *product.judged))
    time = hourly.time[:end]
    known, marks = believable(
        {name: values[..., :end] for name, values in columns.items()}, hourly.doubts
    )
    first = first_rows(time, request.made if start is None else start)
    refuse_thin(known, product.required, first, hourly.service)
    refuse_frozen(known, hourly.service)
    faults = thin(known, product.judged, first)
    if faults and not dates_only:
        raise PartialError(f"{hourly.service}: {'; '.join(faults)}")
    rows = in_rows(known, product.variables)
    if faults:
        rows = _unjudged(rows, product.judged)
    run = newest_run(request.made)
    source = f"{hourly.service} ({product.model or 'the mix of the service'})"
    frame = frame_of(
        time,
        rows,
        provenance=Provenance(source, LICENCE, run, (RUN_ASSUMED,)),
        native_step=native_steps(time, run, product.steps),
        marks=marks_in_rows(marks, product.variables),
    )
    warnings = hourly.doubts.lines() + _told(hourly, end, faults)
    return Parsed(frame=frame, cell=hourly.cell, warnings=warnings)


def _told(hourly: Hourly, end: int, faults: Sequence[str]) -> tuple[str, ...]:
    """What was cut off, and what is missing where only dates can be told."""
    lost = hourly.time.size - end
    told = []
    if lost:
        told.append(f"{hourly.service}: the last {lost} hours are empty, cut off")
    if faults:
        told.append(
            f"{hourly.service}: {'; '.join(faults)}. Its temperatures tell dates; "
            "hours without humidity, wind or rain are unknown"
        )
    return tuple(told)


def _unjudged(rows: Mapping[str, Floats], judged: Sequence[str]) -> dict[str, Floats]:
    """Rows in which an hour that lacks one quantity it is judged by lacks them all.

    Rain is kept where it is known: it is added up by the day.
    """
    shape = next(iter(rows.values())).shape
    lacks = np.zeros(shape, dtype=np.bool_)
    for name in judged:
        lacks |= np.isnan(rows[name]) if name in rows else np.ones(shape, np.bool_)
    return {
        name: np.where(lacks, np.nan, values)
        if name in judged and name != "rain"
        else values
        for name, values in rows.items()
    }
