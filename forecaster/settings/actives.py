"""Actives from ``config/actives/*.toml``, and the label numbers a user typed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from pydantic import Field, ValidationInfo, field_validator

from forecaster.domain.boom.label import NOTHING_TYPED, LabelBoom
from forecaster.domain.growth.weed import Mode
from forecaster.domain.planning.withholding import NOT_TYPED, Withholding
from forecaster.domain.sourced import Mark, Sourced
from forecaster.domain.spraying.limits import Limit, Quantity, Rank, Side, Verdict
from forecaster.errors import Fault, SettingsError
from forecaster.settings.document import Flag, Strict, read_document, validate
from forecaster.settings.numbers import SourcedNumber
from forecaster.settings.quantity_units import inside

if TYPE_CHECKING:
    import datetime as dt
    from pathlib import Path

NUMBER_UNITS = {
    "wind_min_kmh": "km/h",
    "wind_max_kmh": "km/h",
    "rain_free_hours": "h",
    "air_temperature_max_c": "°C",
    "relative_humidity_min_pct": "%",
}
"""The numbers a user may type from a label, and the unit their key speaks of."""
INVERSION = "inversion_restraint"
"""The one key that is typed as true or false; a restraint holds at high risk."""
LABEL_UNITS = {**NUMBER_UNITS, INVERSION: "level"}


class LabelEntry(Strict):
    """One number a label may state, with the usual pattern as a warning only."""

    key: str
    quantity: Quantity
    side: Side
    words: Annotated[str, Field(min_length=3)]
    pattern: SourcedNumber
    error: SourcedNumber
    chance: SourcedNumber | None = None
    only_if_typed: Flag = False

    @field_validator("key")
    @classmethod
    def _key(cls, key: str) -> str:
        if key not in LABEL_UNITS:
            raise ValueError(f"allowed is one of {', '.join(LABEL_UNITS)}")
        return key

    @field_validator("pattern", "error")
    @classmethod
    def _unit(cls, number: SourcedNumber, info: ValidationInfo) -> SourcedNumber:
        quantity = info.data.get("quantity")
        if quantity is not None:
            number.inside(quantity)
        return number

    @field_validator("pattern")
    @classmethod
    def _as_typed(cls, number: SourcedNumber, info: ValidationInfo) -> SourcedNumber:
        """The user types a bare number, read in the unit of the pattern."""
        unit = LABEL_UNITS.get(info.data.get("key", ""), number.unit)
        if number.unit != unit:
            raise ValueError(f"unit {number.unit!r} must be {unit!r}, as the key says")
        return number

    @field_validator("error")
    @classmethod
    def _some_error(cls, number: SourcedNumber) -> SourcedNumber:
        if number.value <= 0:
            raise ValueError("error must be above 0")
        return number

    @field_validator("chance")
    @classmethod
    def _share(cls, number: SourcedNumber) -> SourcedNumber:
        number.inside(Quantity.RAIN_CHANCE_AHEAD)
        return number


class ActiveFile(Strict):
    """One ``config/actives`` file."""

    name: Annotated[str, Field(min_length=2)]
    mode: Mode
    cautions: list[str]
    label: list[LabelEntry]

    @field_validator("label")
    @classmethod
    def _once(cls, label: list[LabelEntry]) -> list[LabelEntry]:
        keys = [entry.key for entry in label]
        twice = sorted({key for key in keys if keys.count(key) > 1})
        if twice:
            raise ValueError(f"{', '.join(twice)} stands twice; remove one")
        return label


@dataclass(frozen=True, slots=True)
class Active:
    """A herbicide active, never a brand, and what its label may state."""

    id: str
    name: str
    mode: Mode
    cautions: tuple[str, ...]
    entries: tuple[LabelEntry, ...]


@dataclass(frozen=True, slots=True)
class Label:
    """What a user read off their own label for one active.

    ``numbers`` holds typed values by key; a key set to None was typed as "not on
    label". ``weeds`` are the weeds the user found on it.
    """

    active: str
    confirmed: bool
    confirmed_by: str
    read_on: dt.date | None
    name: str
    numbers: dict[str, float | None]
    weeds: tuple[str, ...]
    withholding: Withholding = NOT_TYPED
    """For stock; it does not bear on hours."""
    boom: LabelBoom = NOTHING_TYPED
    """For the boom; it does not bear on hours."""


def load_actives(folder: Path) -> dict[str, Active]:
    """Every active of ``folder`` by its file name.

    Raises
    ------
    SettingsError
        If a file is wrong, or there is none.
    """
    actives: dict[str, Active] = {}
    for path in sorted(folder.glob("*.toml")):
        entry = validate(read_document(path), ActiveFile)
        actives[path.stem] = Active(
            path.stem, entry.name, entry.mode, tuple(entry.cautions), tuple(entry.label)
        )
    if not actives:
        raise SettingsError([Fault(str(folder), 0, 0, "holds no actives (*.toml)")])
    return actives


def label_limits(active: Active, label: Label | None) -> tuple[Limit, ...]:
    """The label's limits: typed and confirmed, or the unconfirmed pattern."""
    limits: list[Limit] = []
    for entry in active.entries:
        limits += _entry_limits(active, entry, label)
    return tuple(limits)


def _entry_limits(
    active: Active, entry: LabelEntry, label: Label | None
) -> list[Limit]:
    typed = label is not None and entry.key in label.numbers
    if not typed or label is None:
        if entry.only_if_typed:
            return []
        return _limits(active, entry, entry.pattern.sourced(), confirmed=False)
    value = label.numbers[entry.key]
    if value is None:
        return []
    stated = Sourced(
        value,
        entry.pattern.unit,
        value,
        value,
        f"{label.name or 'the label'}, typed by {label.confirmed_by or 'nobody'}",
        f"read on {label.read_on}" if label.read_on else "no date typed",
        Mark.USER,
    )
    return _limits(active, entry, stated, confirmed=label.confirmed)


def _limits(
    active: Active, entry: LabelEntry, stated: Sourced, *, confirmed: bool
) -> list[Limit]:
    bound = inside(entry.quantity, stated.value, stated.unit)
    main = Limit(
        id=f"{active.id}.{entry.key}",
        quantity=entry.quantity,
        side=entry.side,
        bound=bound,
        stated=stated,
        rank=Rank.LAW,
        words=entry.words,
        error=entry.error.inside(entry.quantity),
        confirmed=confirmed,
    )
    if entry.chance is None:
        return [main]
    likely = Limit(
        id=f"{active.id}.{entry.key}_chance",
        quantity=Quantity.RAIN_CHANCE_AHEAD,
        side=Side.BELOW,
        bound=entry.chance.value,
        stated=entry.chance.sourced(),
        rank=Rank.LAW,
        words="chance of rain in the rain-free hours",
        error=15.0,
        confirmed=confirmed,
        on_missing=Verdict.GOOD,
        horizon=bound,
    )
    return [main, likely]
