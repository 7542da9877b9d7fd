"""What each state wants in a record: ``config/records/*.toml``."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Annotated, Literal, TypeAlias

from pydantic import AfterValidator, Field

from forecaster.domain.record.after import AfterNumbers
from forecaster.domain.record.fields import BY_NAME, OTHER_LABELS
from forecaster.domain.record.needed import Needed, Rank, StateRules
from forecaster.domain.sourced import Mark
from forecaster.settings.document import Strict, Text, read_document, validate
from forecaster.settings.names import unknown
from forecaster.settings.numbers import SourcedNumber, bounded
from forecaster.settings.shipped import config_folder

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.sourced import Sourced

StateId: TypeAlias = Literal["vic", "nsw", "sa", "wa", "tas", "qld"]
STATES: tuple[StateId, ...] = ("vic", "nsw", "sa", "wa", "tas", "qld")
NotFound: TypeAlias = Literal["not found: ask your state authority"]
Days: TypeAlias = Annotated[SourcedNumber, AfterValidator(bounded("d", 1, 120))]

ZONES: dict[str, StateId] = {
    "Australia/Melbourne": "vic", "Australia/Victoria": "vic",
    "Australia/Sydney": "nsw", "Australia/NSW": "nsw",
    "Australia/Broken_Hill": "nsw", "Australia/Yancowinna": "nsw",
    "Australia/Lord_Howe": "nsw", "Australia/LHI": "nsw",
    "Australia/Adelaide": "sa", "Australia/South": "sa",
    "Australia/Perth": "wa", "Australia/West": "wa", "Australia/Eucla": "wa",
    "Australia/Hobart": "tas", "Australia/Tasmania": "tas",
    "Australia/Currie": "tas",
    "Australia/Brisbane": "qld", "Australia/Queensland": "qld",
    "Australia/Lindeman": "qld",
}  # fmt: skip
"""The state a zone of the time-zone database lies in; a farm may say otherwise."""


def _known(name: str) -> str:
    if name not in BY_NAME and name not in OTHER_LABELS:
        raise ValueError(unknown("field", name, {*BY_NAME, *OTHER_LABELS}))
    return name


class FieldsEntry(Strict):
    """``[[fields]]``: fields one source wants."""

    rank: Rank
    names: list[Annotated[str, AfterValidator(_known)]] = Field(min_length=1)
    when: Text = ""
    source: Annotated[Text, Field(min_length=3)]
    page: Annotated[Text, Field(min_length=1)]
    mark: Mark


class RulesFile(Strict):
    """A whole file."""

    state: Text
    authority: Text
    deadline_hours: (
        NotFound | Annotated[SourcedNumber, AfterValidator(bounded("h", 1, 720))]
    )
    keep_years: (
        NotFound | Annotated[SourcedNumber, AfterValidator(bounded("years", 1, 30))]
    )
    note: Text = ""
    fields: list[FieldsEntry] = Field(default_factory=list)


class AfterFile(Strict):
    """``config/after.toml``."""

    second_look_from: Days
    second_look_until: Days
    held_from: Days
    held_until: Days
    topping_month: Annotated[SourcedNumber, AfterValidator(bounded("month", 1, 12))]
    soaking_rain: Annotated[SourcedNumber, AfterValidator(bounded("mm", 5, 200))]
    soaking_within: Annotated[SourcedNumber, AfterValidator(bounded("d", 1, 10))]
    held_after_soaking: Days


def state_of(zone: str, typed: StateId | None) -> StateId | None:
    """The farm's state: as typed, else where its zone lies; None where that is none."""
    return typed if typed is not None else ZONES.get(zone)


def read_rules(path: Path) -> StateRules:
    """The rules of one state.

    Raises
    ------
    InputMissingError
        If there is no such file.
    SettingsError
        With every fault of the file.
    """
    file = validate(read_document(path), RulesFile)
    needed = tuple(
        Needed(name, each.rank, each.when, each.source, each.page, each.mark)
        for each in file.fields
        for name in each.names
    )
    return StateRules(
        path.stem,
        file.state,
        file.authority,
        needed,
        _found(file.deadline_hours),
        _found(file.keep_years),
        file.note,
    )


def rules_of(state: StateId | None) -> StateRules | None:
    """The shipped rules of a state; None where there is no state."""
    if state is None:
        return None
    return read_rules(config_folder() / "records" / f"{state}.toml")


@cache
def after_numbers() -> AfterNumbers:
    """What comes after a spray, as shipped."""
    file = validate(read_document(config_folder() / "after.toml"), AfterFile)
    return AfterNumbers(
        (file.second_look_from.sourced(), file.second_look_until.sourced()),
        (file.held_from.sourced(), file.held_until.sourced()),
        file.soaking_rain.sourced(),
        file.soaking_within.sourced(),
        file.held_after_soaking.sourced(),
        file.topping_month.sourced(),
    )


def _found(value: NotFound | SourcedNumber) -> Sourced | None:
    return value.sourced() if isinstance(value, SourcedNumber) else None
