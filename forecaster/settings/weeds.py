"""Weed files: one TOML file a weed, read into the model's own objects."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Annotated, TypeAlias

from pydantic import AfterValidator, BeforeValidator, Field

from forecaster.domain.growth.heads import threshold
from forecaster.domain.growth.stage import Stage
from forecaster.domain.growth.weed import Mode, ShareRule, Toxicity, Weed, WindowRule
from forecaster.errors import Fault, InputMissingError, SettingsError
from forecaster.settings.document import Document, Strict, read_document, validate
from forecaster.settings.numbers import SourcedNumber, bounded

if TYPE_CHECKING:
    from pathlib import Path

STAGE_NAMES: dict[str, Stage] = {stage.name.lower(): stage for stage in sorted(Stage)}
"""How the files write the stages, in order."""


def _stage(name: object) -> Stage:
    if name not in STAGE_NAMES:
        raise ValueError(f"must be one of {', '.join(STAGE_NAMES)}")
    return STAGE_NAMES[str(name)]


Temperature: TypeAlias = Annotated[
    SourcedNumber, AfterValidator(bounded("degC", -10, 50))
]
DegreeDays: TypeAlias = Annotated[
    SourcedNumber, AfterValidator(bounded("degC d", 0, 5000))
]
Spread: TypeAlias = Annotated[SourcedNumber, AfterValidator(bounded("degC d", 1, 1000))]
Weight: TypeAlias = Annotated[SourcedNumber, AfterValidator(bounded("factor", 0, 1))]
Widening: TypeAlias = Annotated[SourcedNumber, AfterValidator(bounded("factor", 1, 5))]
PhaseShare: TypeAlias = Annotated[
    SourcedNumber, AfterValidator(bounded("share", 0, 0.5))
]
HeadShare: TypeAlias = Annotated[
    SourcedNumber, AfterValidator(bounded("share", 0.01, 0.99))
]
StageName: TypeAlias = Annotated[Stage, BeforeValidator(_stage)]
Words: TypeAlias = Annotated[str, Field(min_length=1)]


class ClockTable(Strict):
    """``[clock]``: how warmth adds up."""

    base: Temperature
    ceiling: Temperature
    early_weight: Weight
    emergence: DegreeDays


class HeadingTable(Strict):
    """``[heading]``: when heads come, and how unevenly."""

    half_headed: DegreeDays
    spread: Spread
    late_spread: Widening
    prior_sd: DegreeDays
    phase_sd: PhaseShare


class FirstStage(Strict):
    """``[stages.heading]``, from which the offsets count."""

    words: Words


class LaterStage(FirstStage):
    """``[stages.flowering]`` and those after it."""

    offset: DegreeDays


class StagesTable(Strict):
    """``[stages]``: what follows heading."""

    heading: FirstStage
    flowering: LaterStage
    watery: LaterStage
    milk: LaterStage
    late_milk: LaterStage
    soft_dough: LaterStage
    hard_dough: LaterStage

    def later(self) -> dict[Stage, LaterStage]:
        """The stages that have an offset, in order."""
        entries = {stage: getattr(self, name) for name, stage in STAGE_NAMES.items()}
        return {
            stage: entry
            for stage, entry in entries.items()
            if isinstance(entry, LaterStage)
        }


class RuleTable(Strict):
    """One ``[[windows.….open]]``."""

    stage: StageName
    share: HeadShare


Rules: TypeAlias = Annotated[tuple[RuleTable, ...], Field(min_length=1)]


class WindowTable(Strict):
    """``[windows.translocated]`` or ``[windows.contact]``."""

    open: Rules
    best_from: Rules
    best_until: Rules
    closed: Rules


class WindowsTable(Strict):
    """``[windows]``; a mode left out has no window on the weed."""

    translocated: WindowTable | None = None
    contact: WindowTable | None = None


class ToxicityTable(Strict):
    """``[toxicity]``: a weed sprayed at its first heads, to keep stock safe."""

    stage: StageName
    share: HeadShare
    days: Annotated[SourcedNumber, AfterValidator(bounded("d", 1, 60))]
    warning: Words

    def toxicity(self) -> Toxicity:
        """As the domain reads it."""
        return Toxicity(
            ShareRule(self.stage, self.share.sourced()),
            self.days.sourced(),
            " ".join(self.warning.split()),
        )


class WeedFile(Strict):
    """A whole weed file."""

    id: str = Field(pattern=r"^[a-z][a-z0-9_]*$")
    name: Words
    latin: Words
    note: Words
    clock: ClockTable
    heading: HeadingTable
    stages: StagesTable
    windows: WindowsTable
    toxicity: ToxicityTable | None = None


def read_weed(path: Path) -> Weed:
    """One weed file.

    Raises
    ------
    InputMissingError
        If there is no such file.
    SettingsError
        With every fault of the file: a number without its unit, range, source, page
        or mark, a wrong unit, stages out of order …
    """
    document = read_document(path)
    file = validate(document, WeedFile)
    weed = _weed(file)
    faults = [*_cross_check(document, file), *_never_open(document, weed)]
    if faults:
        raise SettingsError(faults)
    return weed


def load_weeds(folder: Path) -> dict[str, Weed]:
    """Every weed file of a folder, by the weed's id.

    Raises
    ------
    InputMissingError
        If the folder is missing or holds no ``.toml`` file.
    SettingsError
        With every fault of every file.
    """
    paths = sorted(folder.glob("*.toml"))
    if not paths:
        raise InputMissingError(f"{folder}: no weed file (*.toml) in this folder")
    weeds: dict[str, Weed] = {}
    faults: list[Fault] = []
    for path in paths:
        try:
            weed = read_weed(path)
        except SettingsError as error:
            faults.extend(error.faults)
        else:
            weeds[weed.id] = weed
    if faults:
        raise SettingsError(faults)
    return weeds


def _cross_check(document: Document, file: WeedFile) -> list[Fault]:
    """Faults that only show when two entries are held side by side."""
    faults: list[Fault] = []
    if file.id != document.path.stem:
        message = f'id = "{file.id}" must be the name of the file'
        faults.append(document.fault(("id",), message))
    base, ceiling = file.clock.base.value, file.clock.ceiling.value
    if not ceiling > base:
        message = f"clock.ceiling {ceiling:g} must lie above clock.base {base:g} degC"
        faults.append(document.fault(("clock", "ceiling"), message))
    for (before, earlier), (stage, later) in pairwise(file.stages.later().items()):
        if later.offset.value < earlier.offset.value:
            name = stage.name.lower()
            message = (
                f"stages.{name}.offset {later.offset.value:g} must not be less than "
                f"that of {before.name.lower()}, {earlier.offset.value:g} degC d"
            )
            faults.append(document.fault(("stages", name, "offset"), message))
    if file.windows.translocated is None and file.windows.contact is None:
        message = "windows must hold translocated, contact or both"
        faults.append(document.fault(("windows",), message))
    return faults


def _never_open(document: Document, weed: Weed) -> list[Fault]:
    """Windows that close before they open."""
    return [
        document.fault(
            ("windows", mode, "closed"),
            f"windows.{mode}.closed comes before open; the window would never open",
        )
        for mode, rule in weed.windows.items()
        if max(threshold(weed, each) for each in rule.open)
        >= min(threshold(weed, each) for each in rule.closed)
    ]


def _weed(file: WeedFile) -> Weed:
    clock, heading = file.clock, file.heading
    later = file.stages.later()
    words = {Stage.HEADING: file.stages.heading.words}
    return Weed(
        id=file.id,
        name=file.name,
        latin=file.latin,
        base=clock.base.sourced(),
        ceiling=clock.ceiling.sourced(),
        early_weight=clock.early_weight.sourced(),
        half_headed=heading.half_headed.sourced(),
        offsets={stage: entry.offset.sourced() for stage, entry in later.items()},
        spread=heading.spread.sourced(),
        prior_sd=heading.prior_sd.sourced(),
        phase_sd=heading.phase_sd.sourced(),
        emergence=clock.emergence.sourced(),
        late_spread=heading.late_spread.sourced(),
        stage_words=words | {stage: entry.words for stage, entry in later.items()},
        windows=_windows(file.windows),
        note=file.note.strip(),
        toxicity=None if file.toxicity is None else file.toxicity.toxicity(),
    )


def _windows(table: WindowsTable) -> dict[Mode, WindowRule]:
    given: dict[Mode, WindowTable | None] = {
        "translocated": table.translocated,
        "contact": table.contact,
    }
    return {
        mode: WindowRule(
            open=_rules(window.open),
            best_from=_rules(window.best_from),
            best_until=_rules(window.best_until),
            closed=_rules(window.closed),
        )
        for mode, window in given.items()
        if window is not None
    }


def _rules(tables: tuple[RuleTable, ...]) -> tuple[ShareRule, ...]:
    return tuple(ShareRule(table.stage, table.share.sourced()) for table in tables)
