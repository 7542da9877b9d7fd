"""The mapping file: how a foreign table of weather is to be read."""

from __future__ import annotations

import re
from typing import Annotated, Literal, Self
from zoneinfo import ZoneInfo

from pydantic import AfterValidator, Field, model_validator

from forecaster.settings.document import Strict

PERIOD_QUANTITIES = ("wind_gust", "rain", "rain_chance", "radiation")
"""Sums, maxima and means over an hour; all others are instants."""

_OFFSET = re.compile(r"([+-])(\d\d):(\d\d)")
_DIRECTIVES = frozenset("YymdbBHIMSpfz%")
_FURTHEST_MISFIT_H = 4.0
_POLE = 90.0


def offset_seconds(zone: str) -> int | None:
    """East of UTC in seconds for ``UTC`` and ``-05:00``; else None."""
    if zone == "UTC":
        return 0
    found = _OFFSET.fullmatch(zone)
    if found is None:
        return None
    size = int(found[2]) * 3600 + int(found[3]) * 60
    return -size if found[1] == "-" else size


def _known_zone(zone: str) -> str:
    offset = offset_seconds(zone)
    if offset is not None and abs(offset) <= 14 * 3600:
        return zone
    try:
        ZoneInfo(zone)
    except (KeyError, ValueError, OSError):
        raise ValueError(
            'is not a zone; write "UTC", an offset like "+09:30", '
            'or a place like "Australia/Adelaide"'
        ) from None
    return zone


def _named_zone(zone: str) -> str:
    if offset_seconds(zone) not in {None, 0}:
        raise ValueError(
            "an offset has no summer time to print by; "
            'name a place like "Australia/Adelaide"'
        )
    return zone


def _known_encoding(name: str) -> str:
    try:
        "a".encode(name)
    except (LookupError, UnicodeError, ValueError):
        raise ValueError(
            'is not an encoding; common ones: "utf-8", "cp1252", "utf-16"'
        ) from None
    return name


def _complete_format(text: str) -> str:
    found = re.findall(r"%(.)", text)
    unknown = sorted(set(found) - _DIRECTIVES)
    if unknown:
        raise ValueError(f"%{unknown[0]} is not understood; use %Y %m %d %H %M %S …")
    needed = (("Y", "y"), ("m", "b", "B"), ("d",), ("H", "I"))
    if not all(any(one in found for one in either) for either in needed):
        raise ValueError("must hold a year, month, day and hour: %Y %m %d %H")
    if "I" in found and "p" not in found:
        raise ValueError("%I counts to 12 and needs %p (AM or PM) beside it")
    return text


def _checked(confirmed: bool) -> bool:  # noqa: FBT001 - pydantic passes the value
    if not confirmed:
        raise ValueError(
            "a proposed mapping is not read before a person has checked every "
            "line; then set confirmed = true"
        )
    return confirmed


Zone = Annotated[str, AfterValidator(_known_zone)]


class Table(Strict):
    """``[table]``: the file and how it is written."""

    file: str = Field(min_length=1)
    separator: str = Field(default=",", min_length=1, max_length=1)
    decimal: Literal[".", ","] = "."
    encoding: Annotated[str, AfterValidator(_known_encoding)] = "utf-8"
    skip_rows: int = Field(default=0, ge=0, le=1000)
    skip_below_header: int = Field(default=0, ge=0, le=1000)
    missing: tuple[str, ...] = ("", "NA")
    label: Literal["start", "end"]
    wind_height_m: float = Field(default=10.0, ge=1.0, le=100.0)
    typical_year: int | None = Field(default=None, ge=1900, le=2199)
    units_checked: bool = False
    only: dict[str, str | int] = Field(default_factory=dict)
    confirmed: Annotated[bool, AfterValidator(_checked)] = True

    @model_validator(mode="after")
    def _two_marks(self) -> Self:
        if self.separator == self.decimal:
            raise ValueError(
                f"separator and decimal are both {self.separator!r}; they must differ"
            )
        return self


class Time(Strict):
    """``[time]``: the columns of the time and what their clock is."""

    columns: tuple[str, ...] = Field(min_length=1)
    format: Annotated[str, AfterValidator(_complete_format)]
    zone: Zone | None = None

    @model_validator(mode="after")
    def _one_clock(self) -> Self:
        if (self.zone is None) != ("%z" in self.format):
            raise ValueError(
                "give either a zone or, if every time carries its offset, "
                "%z in the format"
            )
        return self


class PlaceTable(Strict):
    """``[place]``: where the instruments stand."""

    latitude: float = Field(ge=-90.0, le=90.0)
    longitude: float = Field(ge=-180.0, le=180.0)
    elevation_m: float = Field(ge=-450.0, le=3000.0)
    zone: Annotated[Zone, AfterValidator(_named_zone)]

    @model_validator(mode="before")
    @classmethod
    def _swapped(cls, data: object) -> object:
        """Say "swapped" rather than "out of range" when that explains it."""
        if isinstance(data, dict):
            latitude, longitude = data.get("latitude"), data.get("longitude")
            if (
                isinstance(latitude, int | float)
                and isinstance(longitude, int | float)
                and _POLE < abs(latitude) <= 2 * _POLE
                and abs(longitude) <= _POLE
            ):
                raise ValueError(
                    f"latitude {latitude:g} and longitude {longitude:g} are swapped; "
                    "latitude lies between -90 and 90"
                )
        return data

    @model_validator(mode="after")
    def _zone_fits(self) -> Self:
        if "/" not in self.zone or self.zone.startswith("Etc/"):
            return self
        clock = _standard_offset_h(self.zone)
        misfit = abs((self.longitude / 15.0 - clock + 12.0) % 24.0 - 12.0)
        if misfit > _FURTHEST_MISFIT_H:
            raise ValueError(
                f"longitude {self.longitude:g} does not fit the zone {self.zone}; "
                "are latitude and longitude swapped, or is a minus sign missing?"
            )
        return self


class Publisher(Strict):
    """``[origin]``: who made the data and under which terms."""

    publisher: str = Field(min_length=1)
    licence: str = Field(min_length=1)


class Column(Strict):
    """One quantity: the column it stands in and the unit it is in."""

    column: str = Field(min_length=1)
    unit: str = Field(max_length=40)


class PressureColumn(Column):
    """Pressure must say whether it is reduced to sea level."""

    at: Literal["sea level", "station"]


class Columns(Strict):
    """``[columns]``: which quantities the table holds."""

    air_temperature: Column | None = None
    dew_point: Column | None = None
    relative_humidity: Column | None = None
    pressure: PressureColumn | None = None
    wind_speed: Column | None = None
    wind_from: Column | None = None
    wind_east: Column | None = None
    wind_north: Column | None = None
    wind_gust: Column | None = None
    rain: Column | None = None
    rain_chance: Column | None = None
    cloud: Column | None = None
    low_cloud: Column | None = None
    radiation: Column | None = None
    air_temperature_80m: Column | None = None

    @model_validator(mode="after")
    def _something(self) -> Self:
        if not self.mapped():
            raise ValueError("name at least one column, such as air_temperature")
        parts = self.wind_east is not None, self.wind_north is not None
        whole = self.wind_speed is not None or self.wind_from is not None
        if any(parts) and (whole or not all(parts)):
            raise ValueError(
                "wind is either wind_speed and wind_from, or the components wind_east "
                "and wind_north, both of them"
            )
        return self

    def mapped(self) -> dict[str, Column]:
        """The quantities that are there, in the order of the weather table."""
        named = {name: getattr(self, name) for name in type(self).model_fields}
        return {name: each for name, each in named.items() if each is not None}


class Mapping(Strict):
    """The whole mapping file."""

    table: Table
    time: Time
    place: PlaceTable
    origin: Publisher
    columns: Columns


def _standard_offset_h(zone: str) -> float:
    """Hours east of UTC without summer time: the smaller of two solstices."""
    from datetime import datetime

    offsets = [
        datetime(2026, month, 21, tzinfo=ZoneInfo(zone)).utcoffset() for month in (1, 7)
    ]
    return min(each.total_seconds() for each in offsets if each is not None) / 3600.0
