"""Control files: what published trials say of spraying each weed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, TypeAlias

from pydantic import AfterValidator, Field

from forecaster.domain.growth.control import WeedControl
from forecaster.errors import Fault, SettingsError
from forecaster.settings.document import Document, Strict, read_document, validate
from forecaster.settings.numbers import SourcedNumber
from forecaster.settings.weeds import StageName, Words

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping
    from pathlib import Path

    from forecaster.domain.growth.stage import Stage
    from forecaster.domain.growth.weed import Mode
    from forecaster.domain.sourced import Sourced


def _share(number: SourcedNumber) -> SourcedNumber:
    if number.unit != "share":
        raise ValueError(f'unit "{number.unit}" must be "share"')
    if number.low < 0 or number.high > 1:
        raise ValueError(
            f"low {number.low:g} and high {number.high:g} must lie between 0 and 1"
        )
    return number


Share: TypeAlias = Annotated[SourcedNumber, AfterValidator(_share)]


class StageEntry(Strict):
    """One ``[[trials.….]]``: control with all heads at one stage."""

    stage: StageName
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
                f"trials.{mode}: stage {stage.name.lower()} stands here twice; "
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


def _by_stage(entries: tuple[StageEntry, ...]) -> Mapping[Stage, Sourced]:
    ordered = sorted(entries, key=lambda entry: entry.stage)
    return {entry.stage: entry.control.sourced() for entry in ordered}
