"""What all Open-Meteo products share: how to ask, and the shape of an answer.

Everything is asked and read in GMT. With a zone set, the service lays one fixed
offset, that of the moment of asking, over the whole series, so hours beyond a
change of clocks are wrong, and half-hour zones are cut to whole hours.

Shape, names and units: Open-Meteo, "Weather Forecast API" and the server's own
source (published).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from enum import Enum
from typing import TYPE_CHECKING, Any, Final
from urllib.parse import parse_qs, urlsplit

import numpy as np

from forecaster.domain.place import Place
from forecaster.domain.weather import HOUR
from forecaster.errors import UnusableError
from forecaster.sources.service_values import (
    Doubts,
    near,
    number,
    numbers,
    refuse_other_time,
)
from forecaster.sources.strict_json import decode, quoted

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from forecaster.domain.marks import Marks
    from forecaster.domain.weather import Floats, Times
    from forecaster.sources.request import Request

SOURCE = "openmeteo"
LICENCE = "Weather data by Open-Meteo.com (https://open-meteo.com/), CC BY 4.0"

LONGEST = 24 * 400
"""Hours in one answer; we never ask for more than a year and a day."""
RUN_EVERY = 6
"""[h] between runs of IFS and ICON (published: Open-Meteo, model pages)."""
RUN_DELAY = 9
"""[h] from the start of a run to when it is surely served. Assumed, on the late
side, so that a drawn-in hour is never taken for a native one."""

Steps = tuple[tuple[float, int], ...]
"""(lead time [h] up to which, step [h]), in order."""
IFS: Steps = ((90, 1), (144, 3), (np.inf, 6))
"""Published: Open-Meteo, ECMWF page."""
ICON: Steps = ((78, 1), (np.inf, 3))
"""Published: Open-Meteo, DWD page."""

_LABEL = re.compile(r"\d{4}-\d\d-\d\dT\d\d:00", re.ASCII)
_UNDEFINED = "undefined"


class Valid(Enum):
    """What a value under the label t is of."""

    INSTANT = "at t"
    HOUR_BEFORE = "sum, mean or maximum over t - 1 h to t: moves one row back"


@dataclass(frozen=True, slots=True)
class Variable:
    """One line of a variable map; ``scale`` × theirs = ours."""

    theirs: str
    ours: str
    unit: str
    valid: Valid = Valid.INSTANT
    scale: float = 1.0


@dataclass(frozen=True, slots=True)
class Access:
    """Where to ask and as whom; empty = the free host, no key, no contact."""

    base_url: str = ""
    key: str = field(default="", repr=False)
    contact: str = ""

    def host(self, free: str) -> str:
        """The scheme and host to ask; keys only work on the customers' hosts."""
        return self.base_url or (
            free.replace("//", "//customer-") if self.key else free
        )


FREE: Final = Access()
"""The free host, without key or contact."""


def decimals(degrees: float) -> str:
    """Degrees with four decimals, never a negative zero."""
    return f"{round(degrees, 4) + 0.0:.4f}"


def models_of(request: Request) -> list[str]:
    """The models a request names; empty for the service's own mix."""
    named = parse_qs(urlsplit(request.url).query).get("models", [])
    return [model for each in named for model in each.split(",")]


@dataclass(frozen=True, slots=True)
class Hourly:
    """The hourly block of an answer, times checked, columns still as sent."""

    service: str
    time: Times
    values: Mapping[str, Any]
    units: Mapping[str, Any]
    cell: Place
    doubts: Doubts

    def column(self, variable: Variable, key: str = "") -> Floats | None:
        """A variable in our unit under their label; None when it is absent.

        Raises
        ------
        UnusableError
            If the unit is another than asked for, or a value is no number.
        """
        key = key or variable.theirs
        if key not in self.values:
            return None
        floats = numbers(self.values[key], f"{self.service}: {quoted(key)}")
        unit = self.units.get(key)
        if unit == _UNDEFINED and bool(np.isnan(floats).all()):
            return None
        if unit != variable.unit:
            raise UnusableError(
                f"{self.service}: {key} is in {quoted(str(unit))}, asked for "
                f"{variable.unit}"
            )
        return floats * variable.scale

    def columns(
        self, variables: Sequence[Variable], ending: str = ""
    ) -> dict[str, Floats]:
        """All the variables there are under ``theirs + ending``, by our names."""
        found = {
            each.ours: self.column(each, each.theirs + ending) for each in variables
        }
        return {ours: values for ours, values in found.items() if values is not None}

    def model_ending(self, variable: Variable, models: Sequence[str]) -> str:
        """What follows each name for the first of ``models`` that answered.

        With several models each name ends in one; a model without data is left out,
        and when only one is left the endings vanish, so nobody knows which it is.

        Raises
        ------
        UnusableError
            If no model answered, or one that is not named.
        """
        if len(models) <= 1:
            return ""
        for model in models:
            if f"{variable.theirs}_{model}" in self.values:
                return f"_{model}"
        unnamed = variable.theirs in self.values
        raise UnusableError(
            f"{self.service}: of the models {', '.join(models)} "
            + ("one answered but is not named" if unnamed else "none answered")
        )


def hourly_of(body: bytes, request: Request) -> Hourly:
    """The hourly block of an answer for one place.

    Raises
    ------
    UnusableError
        If the shape, the clock, the place or the hours are not what was asked for.
    RefusedError
        If the answer is an error document.
    """
    service = f"Open-Meteo {request.product}"
    document = decode(body, service)
    latitude, longitude = near(
        document.get("latitude"), document.get("longitude"), request.place, service
    )
    offset, zone = document.get("utc_offset_seconds"), document.get("timezone")
    if type(offset) is not int or offset != 0 or zone not in ("GMT", "UTC"):
        raise UnusableError(
            f"{service}: the hours are in {zone!r:.40}, {offset!r:.20} s from UTC; "
            "asked for GMT"
        )
    values = _block(document, "hourly", service)
    units = _block(document, "hourly_units", service)
    if units.get("time") != "iso8601":
        raise UnusableError(f"{service}: times are in {units.get('time')!r:.40}")
    time = _hours(values.get("time"), service)
    for name, column in values.items():
        if not isinstance(column, list) or len(column) != time.size:
            size = len(column) if isinstance(column, list) else "no"
            raise UnusableError(
                f"{service}: {quoted(name)} has {size} values, the times are "
                f"{time.size}; all must be equal"
            )
    height = number(document.get("elevation"))
    return Hourly(
        service=service,
        time=time,
        values=values,
        units=units,
        cell=Place(latitude, longitude, height, request.place.zone),
        doubts=Doubts(service),
    )


def current_hours(body: bytes, request: Request) -> Hourly:
    """The hourly block of an answer about now.

    Raises
    ------
    UnusableError
        As :func:`hourly_of`, or if the hours are of another time.
    RefusedError
        If the answer is an error document.
    """
    hourly = hourly_of(body, request)
    refuse_other_time(hourly.time, request.made, hourly.service)
    return hourly


def _block(document: dict[str, Any], name: str, service: str) -> dict[str, Any]:
    block = document.get(name)
    if not isinstance(block, dict):
        raise UnusableError(f"{service}: the answer has no block {name!r}")
    return block


def _hours(labels: object, service: str) -> Times:
    """The times, which must be each one hour after the one before."""
    if not isinstance(labels, list) or not 0 < len(labels) <= LONGEST:
        raise UnusableError(f"{service}: no list of 1 to {LONGEST} times")
    first = labels[0]
    try:
        if not isinstance(first, str) or not _LABEL.fullmatch(first):
            raise ValueError(first)  # noqa: TRY301 the same fault as an impossible date
        start = np.datetime64(first, "s")
    except ValueError:
        raise UnusableError(f"{service}: time {first!r:.40} is no whole hour") from None
    time: Times = start + np.arange(len(labels)) * HOUR
    expected = np.datetime_as_string(time, unit="m").tolist()
    if labels != expected:
        at = next(i for i, each in enumerate(labels) if each != expected[i])
        raise UnusableError(
            f"{service}: time {at} is {labels[at]!r:.40}, an hour after the one before "
            f"is {expected[at]}; hours must be whole, in order, none twice or left out"
        )
    return time


def in_rows(
    columns: Mapping[str, Floats], variables: Sequence[Variable]
) -> dict[str, Floats]:
    """Columns on rows that begin at t: values of the hour before move one row back.

    The last row then has no sum, mean or maximum yet: NaN.
    """
    moved = dict(columns)
    for each in variables:
        if each.valid is Valid.HOUR_BEFORE and each.ours in moved:
            values = moved[each.ours]
            rows = np.full(values.shape, np.nan)
            rows[..., :-1] = values[..., 1:]
            moved[each.ours] = rows
    return moved


def marks_in_rows(
    marks: Mapping[str, Marks], variables: Sequence[Variable]
) -> dict[str, Marks]:
    """Marks moved as :func:`in_rows` moves their values."""
    moved = dict(marks)
    for each in variables:
        if each.valid is Valid.HOUR_BEFORE and each.ours in moved:
            hours = moved[each.ours].bits.shape[-1]
            moved[each.ours] = moved[each.ours].take(np.append(np.arange(1, hours), -1))
    return moved


def horizon(columns: Mapping[str, Floats], required: Sequence[str]) -> int:
    """Hours up to the last one that has any required value; later ones are null."""
    end = 0
    for name in required:
        if name in columns:
            hours = columns[name].reshape(-1, columns[name].shape[-1])
            at = np.flatnonzero(~np.isnan(hours).all(axis=0))
            end = max(end, int(at[-1]) + 1 if at.size else 0)
    return end


def newest_run(made: np.datetime64) -> np.datetime64:
    """Start of the newest run surely served when asked; the answer does not say it."""
    hours = int(made.astype("datetime64[h]").astype(np.int64)) - RUN_DELAY
    run: np.datetime64 = np.datetime64(hours - hours % RUN_EVERY, "h").astype("M8[s]")
    return run


def native_steps(time: Times, run: np.datetime64, steps: Steps) -> Floats:
    """The model's own step [h] at each hour of a table; 1 before the run."""
    lead = (time - run) / HOUR
    at = np.searchsorted([reach for reach, _ in steps], lead, side="right")
    native: Floats = np.array([float(step) for _, step in steps])[at]
    return native
