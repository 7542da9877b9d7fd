"""How fit days follow on each other near a place: ``config/odds.toml``."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from pydantic import AfterValidator, Field

from forecaster.settings.document import Number, Strict, read_document, validate
from forecaster.settings.numbers import SourcedNumber, bounded

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.place import Place


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
            Habit(
                name.replace("_", " ").title(),
                each.after_none,
                place.kilometres_to(each.latitude, each.longitude),
            )
            for name, each in file.station.items()
        ),
        key=lambda each: each.distance_km,
    )
    return found if found.distance_km <= file.reach_km.value else None
