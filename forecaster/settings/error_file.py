"""The file of errors that a farm's own hindcast measured, read and written."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Annotated

from pydantic import Field, field_validator, model_validator

from forecaster.domain.spraying.forecast_error import Errors, Measured
from forecaster.domain.spraying.limits import Quantity
from forecaster.errors import SettingsError
from forecaster.settings.document import (
    Moment,
    Number,
    Strict,
    Text,
    read_document,
    validate,
    within,
)
from forecaster.settings.quantity_units import STATED_UNITS

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.hindcast_report import Hindcast
    from forecaster.domain.place import Place

UNITS = {
    Quantity.WIND_10M: "km/h",
    Quantity.AIR_TEMPERATURE: "°C",
    Quantity.RELATIVE_HUMIDITY: "%",
}
"""Quantities a label bounds and a hindcast measures, and the unit of each here."""
LEAST_HOURS = 200
"""[h] of one age held against what came before its error counts. Assumed: some twenty
days of daylight, as neighbouring hours tell much the same."""
FARTHEST = 0.3
"""[°] from the farm at which its errors were measured. Assumed: as wide as a cell."""

Lead = Annotated[int, Field(strict=True, ge=0, le=30)]
Size = Annotated[Number, within(0, 100, above=True)]
Hours = Annotated[int, Field(strict=True, ge=LEAST_HOURS)]


class MeasuredEntry(Strict):
    """``[wind_10m]`` and the others: one column for each age."""

    unit: str
    lead_days: Annotated[list[Lead], Field(min_length=1)]
    root_mean_square: list[Size]
    hours: list[Hours]

    @field_validator("lead_days")
    @classmethod
    def _rising(cls, days: list[int]) -> list[int]:
        if sorted(set(days)) != days:
            raise ValueError("allowed are whole days, each later than the one before")
        return days

    @model_validator(mode="after")
    def _as_long(self) -> MeasuredEntry:
        if not len(self.lead_days) == len(self.root_mean_square) == len(self.hours):
            raise ValueError(
                "lead_days, root_mean_square and hours must be equally many"
            )
        return self


class ErrorFile(Strict):
    """The whole file."""

    first: Moment
    end: Moment
    latitude: Number
    longitude: Number
    observed: Text
    forecast: list[Text]
    wind_10m: MeasuredEntry | None = None
    air_temperature: MeasuredEntry | None = None
    relative_humidity: MeasuredEntry | None = None


def read_errors(path: Path, place: Place) -> Errors:
    """The errors measured at ``place``, in the units inside.

    Raises
    ------
    InputMissingError
        If there is no such file.
    SettingsError
        If it is wrong, or was measured elsewhere.
    """
    document = read_document(path)
    file = validate(document, ErrorFile)
    faults = []
    for key in ("latitude", "longitude"):
        here, there = getattr(place, key), getattr(file, key)
        if abs(here - there) > FARTHEST:
            message = (
                f"{key} = {there:g}, but the farm is at {here:g}: errors of another "
                "place; measure this farm's with forecaster hindcast --errors"
            )
            faults.append(document.fault((key,), message))
    for quantity, unit in UNITS.items():
        entry = getattr(file, quantity.value)
        if entry is not None and entry.unit != unit:
            message = f"unit {entry.unit!r}: allowed is {unit!r}"
            faults.append(document.fault((quantity.value, "unit"), message))
    if faults:
        raise SettingsError(faults)
    source = (
        f"{'; '.join(file.forecast)} against {file.observed}, {file.first:%Y-%m-%d} to "
        f"{file.end:%Y-%m-%d}"
    )
    return {
        quantity: _measured(entry, STATED_UNITS[quantity][unit], source)
        for quantity, unit in UNITS.items()
        if (entry := getattr(file, quantity.value)) is not None
    }


def _measured(entry: MeasuredEntry, factor: float, source: str) -> Measured:
    return Measured(
        tuple(float(day) for day in entry.lead_days),
        tuple(size * factor for size in entry.root_mean_square),
        tuple(entry.hours),
        source,
    )


def errors_text(found: Hindcast) -> str | None:
    """The file of what ``found`` measured; None where there are too few hours."""
    tables = [
        table
        for quantity, unit in UNITS.items()
        if (table := _table(found, quantity, unit))
    ]
    if not tables:
        return None
    head = [
        "# How far past forecasts were out at this farm; forecaster hindcast wrote it.",
        "# Named as weather.errors in the farm file, these errors count for chances.",
        f"first = {found.first}Z",
        f"end = {found.end}Z",
        f"latitude = {found.place.latitude:.4f}",
        f"longitude = {found.place.longitude:.4f}",
        f"observed = {_quoted(found.observed)}",
        f"forecast = [{', '.join(map(_quoted, found.forecast))}]",
    ]
    return "\n".join([*head, *(line for table in tables for line in table)]) + "\n"


def _table(found: Hindcast, quantity: Quantity, unit: str) -> list[str]:
    factor = STATED_UNITS[quantity][unit]
    told = [
        (score.lead, float(errors.rmse) / factor, int(errors.count))
        for score in found.leads
        if (errors := score.errors[quantity]).count >= LEAST_HOURS and errors.rmse > 0
    ]
    if not told:
        return []
    days, sizes, hours = zip(*told, strict=True)
    return [
        "",
        f"[{quantity.value}]",
        f'unit = "{unit}"',
        f"lead_days = {list(days)}",
        f"root_mean_square = [{', '.join(f'{size:.3f}' for size in sizes)}]",
        f"hours = {list(hours)}",
    ]


def _quoted(text: str) -> str:
    """A TOML basic string; what JSON escapes, TOML reads alike."""
    return json.dumps(text, ensure_ascii=False)
