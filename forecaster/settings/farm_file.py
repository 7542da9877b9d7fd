"""What may stand in a farm's ``farm.toml``; every key, its type and its bounds."""

from __future__ import annotations

import difflib
import zoneinfo
from functools import cache
from typing import Annotated, Any, Literal
from urllib.parse import urlsplit

from pydantic import AfterValidator, BeforeValidator, Field, field_validator

from forecaster.domain.air.wind import COMPASS_WORDS
from forecaster.settings.alerts_file import AlertsEntry, Id
from forecaster.settings.choice_file import ChoiceEntry, SwardEntry, WeightEntry
from forecaster.settings.document import (
    Date,
    Flag,
    Moment,
    Number,
    Strict,
    Text,
    within,
)
from forecaster.settings.feed_file import FeedEntry, PricesEntry
from forecaster.settings.record_rules import StateId
from forecaster.settings.rig_file import RigEntry
from forecaster.settings.stock_file import GrazedEntry, MobEntry, Name

COMPASS = COMPASS_WORDS[::2]

AREAS = frozenset(
    {
        "Africa", "America", "Antarctica", "Arctic", "Asia", "Atlantic", "Australia",
        "Europe", "Indian", "Pacific",
    }
)  # fmt: skip
"""Areas of the time-zone database that hold cities (its file *theory.html*)."""


@cache
def _cities() -> tuple[str, ...]:
    """Every Area/City there is; to list the database takes longer than a farm file."""
    names = sorted(zoneinfo.available_timezones())
    return tuple(each for each in names if each.partition("/")[0] in AREAS)


def _latitude(latitude: float) -> float:
    if abs(latitude) > 90:  # noqa: PLR2004 - the pole
        raise ValueError("allowed is -90 to 90; swapped with the longitude?")
    return latitude


class FarmEntry(Strict):
    """``[farm]``."""

    name: Name
    zone: str
    latitude: Annotated[Number, AfterValidator(_latitude)]
    longitude: Annotated[Number, within(-180, 180)]
    elevation_m: Annotated[Number, within(-100, 3000)] = 100.0
    map: Text | None = None
    state: StateId | None = None

    @field_validator("zone")
    @classmethod
    def _zone(cls, zone: str) -> str:
        if zone in _cities():
            return zone
        near = difflib.get_close_matches(zone, _cities(), n=2)
        hint = f"; did you mean {' or '.join(near)}?" if near else ""
        raise ValueError(
            "allowed is an Area/City of the time-zone database, such as "
            f"Australia/Melbourne{hint}"
        )


class SeasonEntry(Strict):
    """``[season]``; without a break date it is proposed from the rain."""

    autumn_break: Date | None = None


class WeatherEntry(Strict):
    """``[weather]``: which files, and what moment they stand for."""

    kind: Literal["hours", "csv", "demo", "open"]
    file: Text | None = None
    past_years: Text | None = None
    errors: Text | None = None
    issued: Moment | None = None
    moment: Moment | None = None
    invented: Flag = False
    station: Text | None = None
    contact: Annotated[Text, Field(max_length=120)] = ""
    years: Annotated[int, Field(strict=True, ge=0, le=40)] = 20
    ensemble: Flag = True
    silo: Flag = True
    keep_forecasts: Flag = False
    key_env: Annotated[Text, Field(max_length=80)] = ""
    open_meteo_url: Annotated[Text, Field(max_length=200)] = ""
    met_norway_url: Annotated[Text, Field(max_length=200)] = ""
    silo_url: Annotated[Text, Field(max_length=200)] = ""

    @field_validator("open_meteo_url", "met_norway_url", "silo_url")
    @classmethod
    def _base(cls, url: str) -> str:
        try:
            parts = urlsplit(url)
            there = (
                parts.scheme in {"http", "https"}
                and parts.hostname
                and not (parts.fragment or "@" in parts.netloc)
            )
        except ValueError:
            there = False
        if url and not there:
            raise ValueError(
                "allowed is an address such as https://weather.example, or leave it out"
            )
        return url


NOT_ON_LABEL = "not on label"
"""What a user types when their label states no such number."""
NotOnLabel = Literal["not on label"]
LONGEST_WITHHOLDING = 365
"""[d] A slip of the finger lies beyond."""


def _off_label(lowest: float, highest: float) -> BeforeValidator:
    """Accept a number from ``lowest`` to ``highest``, or that the label has none."""

    def check(typed: Any) -> Any:
        number = isinstance(typed, int | float) and not isinstance(typed, bool)
        if typed != NOT_ON_LABEL and not (number and lowest <= typed <= highest):
            raise ValueError(
                f'allowed is a number from {lowest:g} to {highest:g}, or "not on label"'
            )
        return typed

    return BeforeValidator(check)


def _whole_days(typed: Any) -> Any:
    number = isinstance(typed, int) and not isinstance(typed, bool)
    if typed != NOT_ON_LABEL and not (number and 0 <= typed <= LONGEST_WITHHOLDING):
        raise ValueError(
            f"allowed is a whole number of days from 0 to {LONGEST_WITHHOLDING}, or "
            '"not on label"'
        )
    return typed


def _restraint(typed: Any) -> Any:
    if typed != NOT_ON_LABEL and not isinstance(typed, bool):
        raise ValueError('allowed is true, false or "not on label"')
    return typed


class LabelTyped(Strict):
    """``[labels.<active>]``: numbers read off the user's own label.

    A number left out is unconfirmed; "not on label" says the label states none.
    """

    confirmed: Flag = False
    confirmed_by: Annotated[Text, Field(max_length=80)] = ""
    read_on: Date | None = None
    label: Annotated[Text, Field(max_length=200)] = ""
    weeds: list[str] = Field(default_factory=list)
    wind_min_kmh: Annotated[float | NotOnLabel | None, _off_label(0, 30)] = None
    wind_max_kmh: Annotated[float | NotOnLabel | None, _off_label(1, 60)] = None
    rain_free_hours: Annotated[float | NotOnLabel | None, _off_label(0, 168)] = None
    inversion_restraint: Annotated[
        bool | NotOnLabel | None, BeforeValidator(_restraint)
    ] = None
    air_temperature_max_c: Annotated[float | NotOnLabel | None, _off_label(5, 50)] = (
        None
    )
    relative_humidity_min_pct: Annotated[
        float | NotOnLabel | None, _off_label(0, 100)
    ] = None
    grazing_withholding_days: Annotated[
        int | NotOnLabel | None, BeforeValidator(_whole_days)
    ] = None
    boom_height_max_m: Annotated[float | NotOnLabel | None, _off_label(0.1, 3)] = None
    product_per_hectare: Annotated[Number, within(0, 100_000, above=True)] | None = None
    product_unit: Literal["L", "mL", "kg", "g"] | None = None


class AdviceEntry(Strict):
    """``[advice.<limit>]``: the farm's own choice where a limit is only advice."""

    bound: Number | None = None
    hold: Flag = False
    because: Annotated[Text, Field(min_length=3, max_length=300)]


class PastEntry(Strict):
    """``[[paddock.past]]``: an active that was used in an earlier spring."""

    year: Annotated[int, Field(strict=True, ge=1960, le=2200)]
    active: str


class PaddockEntry(Strict):
    """``[[paddock]]``."""

    name: Name
    id: Id | None = None
    weeds: dict[str, Annotated[Number, within(0, 100, above=True)]] = Field(
        min_length=1
    )
    hectares: Annotated[Number, within(0, 20_000, above=True)] | None = None
    target: str | None = None
    actives: Annotated[list[str], Field(min_length=1)] | None = None
    autumn_break: Date | None = None
    sprayed: Date | None = None
    ryegrass_toxicity: Flag = False
    hollow: Flag = False
    nothing_near: Flag = False
    value: Annotated[Number, within(0, 100)] = 1.0
    note: Annotated[Text, Field(max_length=300)] = ""
    grazed: list[GrazedEntry] = Field(default_factory=list)
    sward: SwardEntry = SwardEntry()
    choice: ChoiceEntry = Field(default_factory=ChoiceEntry)
    past: Annotated[list[PastEntry], Field(max_length=200)] = Field(
        default_factory=list
    )


class SensitiveEntry(Strict):
    """``[[sensitive]]``: "vineyard, east, 70 m", where there is no map."""

    name: Name
    kind: Annotated[Text, Field(max_length=80)] = "sensitive area"
    paddock: str
    side: str
    distance_m: Annotated[Number, within(0, 10_000)]
    care_m: Annotated[Number, within(0, 10_000, above=True)]

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
    weights: dict[str, WeightEntry] = Field(default_factory=dict)
    paddock: list[PaddockEntry] = Field(min_length=1, max_length=20_000)
    sensitive: list[SensitiveEntry] = Field(default_factory=list)
    feed: FeedEntry = Field(default_factory=FeedEntry)
    prices: PricesEntry = Field(default_factory=PricesEntry)
    mob: list[MobEntry] = Field(default_factory=list)
    rig: RigEntry | None = None
    rigs: Annotated[list[RigEntry], Field(max_length=20)] = Field(default_factory=list)
    alerts: AlertsEntry = Field(default_factory=AlertsEntry)
