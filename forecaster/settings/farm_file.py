"""What may stand in a farm's ``farm.toml``; every key, its type and its bounds."""

from __future__ import annotations

import datetime as dt
import difflib
import zoneinfo
from typing import Annotated, Literal, Self

from pydantic import AwareDatetime, Field, field_validator, model_validator

from forecaster.settings.document import Flag, Number, Strict
from forecaster.settings.names import name_fault

COMPASS = (
    "north", "north-east", "east", "south-east",
    "south", "south-west", "west", "north-west",
)  # fmt: skip


def _named(name: str) -> str:
    fault = name_fault(name)
    if fault:
        raise ValueError(fault)
    return name


class FarmEntry(Strict):
    """``[farm]``."""

    name: str
    zone: str
    latitude: Annotated[Number, Field(ge=-90, le=90)]
    longitude: Annotated[Number, Field(ge=-180, le=180)]
    elevation_m: Annotated[Number, Field(ge=-100, le=3000)] = 100.0
    map: str | None = None

    _name = field_validator("name")(_named)

    @field_validator("zone")
    @classmethod
    def _zone(cls, zone: str) -> str:
        known = zoneinfo.available_timezones()
        if "/" in zone and zone in known and not zone.startswith("Etc/"):
            return zone
        near = difflib.get_close_matches(zone, sorted(known), n=2)
        hint = f"; did you mean {' or '.join(near)}?" if near else ""
        raise ValueError(
            "allowed is an Area/City of the time-zone database, such as "
            f"Australia/Melbourne{hint}"
        )


class SeasonEntry(Strict):
    """``[season]``; without a break date it is proposed from the rain."""

    autumn_break: dt.date | None = None


class WeatherEntry(Strict):
    """``[weather]``: which files, and what moment they stand for."""

    kind: Literal["hours", "csv", "demo"]
    file: str | None = None
    past_years: str | None = None
    issued: AwareDatetime | None = None
    moment: AwareDatetime | None = None
    invented: Flag = False


NotOnLabel = Literal["not on label"]


class LabelTyped(Strict):
    """``[labels.<active>]``: numbers read off the user's own label.

    A number left out is unconfirmed; "not on label" says the label states none.
    """

    confirmed: Flag = False
    confirmed_by: Annotated[str, Field(max_length=80)] = ""
    read_on: dt.date | None = None
    label: Annotated[str, Field(max_length=200)] = ""
    weeds: list[str] = Field(default_factory=list)
    wind_min_kmh: Annotated[Number, Field(ge=0, le=30)] | NotOnLabel | None = None
    wind_max_kmh: Annotated[Number, Field(gt=0, le=60)] | NotOnLabel | None = None
    rain_free_hours: Annotated[Number, Field(ge=0, le=168)] | NotOnLabel | None = None
    inversion_restraint: Flag | None = None
    air_temperature_max_c: Annotated[Number, Field(ge=5, le=50)] | NotOnLabel | None = (
        None
    )
    relative_humidity_min_pct: (
        Annotated[Number, Field(ge=0, le=100)] | NotOnLabel | None
    ) = None

    @model_validator(mode="after")
    def _signed(self) -> Self:
        if self.confirmed and not (self.confirmed_by.strip() and self.read_on):
            raise ValueError(
                "confirmed = true needs confirmed_by (who read the label) and read_on "
                "(the day they read it)"
            )
        low, high = self.wind_min_kmh, self.wind_max_kmh
        if isinstance(low, float) and isinstance(high, float) and low >= high:
            raise ValueError(
                f"wind_min_kmh {low:g} must be below wind_max_kmh {high:g}"
            )
        return self


class AdviceEntry(Strict):
    """``[advice.<limit>]``: the farm's own choice where a limit is only advice."""

    bound: Number | None = None
    hold: Flag = False
    because: Annotated[str, Field(min_length=3, max_length=300)]


class PaddockEntry(Strict):
    """``[[paddock]]``."""

    name: str
    weeds: dict[str, Annotated[Number, Field(gt=0, le=100)]] = Field(min_length=1)
    hectares: Annotated[Number, Field(gt=0, le=20_000)] | None = None
    target: str | None = None
    actives: list[str] | None = None
    autumn_break: dt.date | None = None
    sprayed: dt.date | None = None
    hollow: Flag = False
    nothing_near: Flag = False
    note: Annotated[str, Field(max_length=300)] = ""

    _name = field_validator("name")(_named)


class SensitiveEntry(Strict):
    """``[[sensitive]]``: "vineyard, east, 70 m", where there is no map."""

    name: str
    kind: Annotated[str, Field(max_length=80)] = "sensitive area"
    paddock: str
    side: str
    distance_m: Annotated[Number, Field(ge=0, le=10_000)]
    care_m: Annotated[Number, Field(gt=0, le=10_000)]

    _name = field_validator("name")(_named)

    @field_validator("side")
    @classmethod
    def _side(cls, side: str) -> str:
        if side not in COMPASS:
            raise ValueError(f"allowed is one of {', '.join(COMPASS)}")
        return side

    @property
    def bearing(self) -> float:
        """Direction of :attr:`side` [°]."""
        return COMPASS.index(self.side) * 45.0


class FarmFile(Strict):
    """A whole ``farm.toml``."""

    farm: FarmEntry
    season: SeasonEntry = SeasonEntry()
    weather: WeatherEntry
    labels: dict[str, LabelTyped] = Field(default_factory=dict)
    advice: dict[str, AdviceEntry] = Field(default_factory=dict)
    paddock: list[PaddockEntry] = Field(min_length=1, max_length=20_000)
    sensitive: list[SensitiveEntry] = Field(default_factory=list)
