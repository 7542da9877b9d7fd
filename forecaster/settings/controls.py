"""Control files: what published trials say of spraying each weed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, TypeAlias

from pydantic import AfterValidator, BeforeValidator, Field

from forecaster.domain.growth.control import CLASSES, WeedControl
from forecaster.domain.growth.stage import Stage
from forecaster.errors import Fault, SettingsError
from forecaster.settings.document import Document, Strict, read_document, validate
from forecaster.settings.numbers import SourcedNumber
from forecaster.settings.weeds import STAGE_NAMES, Words

if TYPE_CHECKING:
    from collections.abc import Collection
    from pathlib import Path

    from forecaster.domain.growth.control import Trial
    from forecaster.domain.growth.weed import Mode

NOT_OUT = "not_out"
"""How the files write heads that are not out yet."""


def _share(number: SourcedNumber) -> SourcedNumber:
    if number.unit != "share":
        raise ValueError(f'unit "{number.unit}" must be "share"')
    if number.low < 0 or number.high > 1:
        raise ValueError(
            f"low {number.low:g} and high {number.high:g} must lie between 0 and 1"
        )
    return number


Share: TypeAlias = Annotated[SourcedNumber, AfterValidator(_share)]


def _class(name: object) -> Stage | None:
    if name == NOT_OUT:
        return None
    if name not in STAGE_NAMES:
        raise ValueError(f"must be one of {NOT_OUT}, {', '.join(STAGE_NAMES)}")
    return STAGE_NAMES[str(name)]


class StageEntry(Strict):
    """One ``[[trials.….]]``: control with all heads in one class."""

    stage: Annotated[Stage | None, BeforeValidator(_class)]
    control: Share


Entries: TypeAlias = Annotated[tuple[StageEntry, ...], Field(min_length=1)]


class TrialsTable(Strict):
    """``[trials]``; a mode left out has no published trial."""

    translocated: Entries | None = None
    contact: Entries | None = None


class ControlFile(Strict):
    """A whole control file."""

    weed: Words
    note: Words
    carry_over: Share
    trials: TrialsTable = TrialsTable()


def load_controls(folder: Path, weeds: Collection[str]) -> dict[str, WeedControl]:
    """Every control file of a folder, by weed.

    A weed without a file has no published trial, and so has every weed of a folder
    that does not exist.

    Parameters
    ----------
    folder : Path
        Holds one file a weed, named after it.
    weeds : collection of str
        The ids of the weeds that are known.

    Raises
    ------
    SettingsError
        With every fault of every file.
    """
    controls: dict[str, WeedControl] = {}
    faults: list[Fault] = []
    for path in sorted(folder.glob("*.toml")):
        try:
            control = _read(path, weeds)
        except SettingsError as error:
            faults.extend(error.faults)
        else:
            controls[control.weed] = control
    if faults:
        raise SettingsError(faults)
    return controls


def _read(path: Path, weeds: Collection[str]) -> WeedControl:
    document = read_document(path)
    file = validate(document, ControlFile)
    faults = _cross_check(document, file, weeds)
    if faults:
        raise SettingsError(faults)
    return WeedControl(
        weed=file.weed,
        carry_over=file.carry_over.sourced(),
        trials={mode: _by_stage(entries) for mode, entries in _given(file).items()},
        note=file.note.strip(),
    )


def _cross_check(
    document: Document, file: ControlFile, weeds: Collection[str]
) -> list[Fault]:
    """Faults that only show when two entries are held side by side."""
    faults: list[Fault] = []
    if file.weed != document.path.stem:
        message = f'weed = "{file.weed}" must be the name of the file'
        faults.append(document.fault(("weed",), message))
    elif file.weed not in weeds:
        message = f'weed = "{file.weed}" must be one of {", ".join(sorted(weeds))}'
        faults.append(document.fault(("weed",), message))
    for mode, entries in _given(file).items():
        stages = [entry.stage for entry in entries]
        faults += [
            document.fault(
                ("trials", mode, number, "stage"),
                f"trials.{mode}: stage {_name(stage)} stands here twice; "
                "keep one number a stage",
            )
            for number, stage in enumerate(stages)
            if stage in stages[:number]
        ]
    return faults


def _given(file: ControlFile) -> dict[Mode, tuple[StageEntry, ...]]:
    given: dict[Mode, tuple[StageEntry, ...] | None] = {
        "translocated": file.trials.translocated,
        "contact": file.trials.contact,
    }
    return {mode: entries for mode, entries in given.items() if entries is not None}


def _name(stage: Stage | None) -> str:
    return NOT_OUT if stage is None else stage.name.lower()


def _by_stage(entries: tuple[StageEntry, ...]) -> Trial:
    ordered = sorted(entries, key=lambda entry: CLASSES.index(entry.stage))
    return {entry.stage: entry.control.sourced() for entry in ordered}
