"""How fit days follow on each other near a place: ``config/odds.toml``."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from pydantic import AfterValidator, Field

from forecaster.settings.document import Number, Strict, read_document, validate
from forecaster.settings.numbers import SourcedNumber, bounded

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.place import Place

EARTH_KM = 6371.0


class Station(Strict):
    """One row."""

    latitude: Annotated[Number, Field(ge=-90, le=90)]
    longitude: Annotated[Number, Field(ge=-180, le=180)]
    after_none: Annotated[Number, Field(gt=0, lt=1)]


class OddsFile(Strict):
    """The whole file."""

    reach_km: Annotated[SourcedNumber, AfterValidator(bounded("km", 1, 1000))]
    station: dict[str, Station]


@dataclass(frozen=True, slots=True)
class Habit:
    """Of one station."""

    station: str
    after_none: float
    """Chance that a day is fit after one that was not. [share]"""
    distance_km: float


def habit_near(path: Path, place: Place) -> Habit | None:
    """The nearest station within reach; None where there is none.

    Raises
    ------
    InputMissingError
        If there is no such file.
    SettingsError
        With every fault of the file.
    """
    file = validate(read_document(path), OddsFile)
    found = min(
        (
            Habit(name.replace("_", " ").title(), each.after_none, _away(each, place))
            for name, each in file.station.items()
        ),
        key=lambda each: each.distance_km,
    )
    return found if found.distance_km <= file.reach_km.value else None


def _away(station: Station, place: Place) -> float:
    """Great-circle distance by the haversine formula."""
    first, second = math.radians(station.latitude), math.radians(place.latitude)
    across = math.radians(place.longitude - station.longitude)
    half = (
        math.sin((second - first) / 2) ** 2
        + math.cos(first) * math.cos(second) * math.sin(across / 2) ** 2
    )
    return 2 * EARTH_KM * math.asin(math.sqrt(half))
