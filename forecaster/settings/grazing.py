"""What is assumed of grazing, from ``config/grazing.toml``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, TypeAlias

from pydantic import AfterValidator

from forecaster.domain.growth.grazing import Change, GrazingNumbers
from forecaster.errors import Fault, SettingsError
from forecaster.settings.document import Document, Strict, read_document, validate
from forecaster.settings.numbers import SourcedNumber, bounded

if TYPE_CHECKING:
    from pathlib import Path

Factor: TypeAlias = Annotated[SourcedNumber, AfterValidator(bounded("factor", 0.1, 5))]
DegreeDays: TypeAlias = Annotated[
    SourcedNumber, AfterValidator(bounded("degC d", 0, 500))
]
Share: TypeAlias = Annotated[SourcedNumber, AfterValidator(bounded("share", 0.01, 0.5))]
Days: TypeAlias = Annotated[SourcedNumber, AfterValidator(bounded("d", 1, 120))]
Rate: TypeAlias = Annotated[SourcedNumber, AfterValidator(bounded("DSE/ha", 1, 500))]
Intake: TypeAlias = Annotated[
    SourcedNumber, AfterValidator(bounded("kg DM/DSE/d", 0.1, 5))
]


class ChangeTable(Strict):
    """``[even]``, ``[late]`` and ``[uneven]``."""

    spread: Factor
    later: DegreeDays

    def change(self) -> Change:
        """As the domain reads it."""
        return Change(self.spread.sourced(), self.later.sourced())


class TimingTable(Strict):
    """``[timing]``: which effect applies."""

    first_heads: Share
    spelled: Days


class SpellTable(Strict):
    """``[spell]``: from stock off to half the heads out."""

    shortest: Days
    longest: Days


class StockingTable(Strict):
    """``[stocking]``: what hard and even is, and what a mob eats."""

    least: Rate
    most: Rate
    intake: Intake


class GrazingFile(Strict):
    """The whole file."""

    even: ChangeTable
    late: ChangeTable
    uneven: ChangeTable
    timing: TimingTable
    spell: SpellTable
    stocking: StockingTable


def load_grazing(path: Path) -> GrazingNumbers:
    """The numbers of grazing.

    Raises
    ------
    InputMissingError
        If there is no such file.
    SettingsError
        With every fault of it.
    """
    document = read_document(path)
    file = validate(document, GrazingFile)
    faults = _cross_check(document, file)
    if faults:
        raise SettingsError(faults)
    return GrazingNumbers(
        even=file.even.change(),
        late=file.late.change(),
        uneven=file.uneven.change(),
        first_heads=file.timing.first_heads.sourced(),
        spelled=file.timing.spelled.sourced(),
        spell_shortest=file.spell.shortest.sourced(),
        spell_longest=file.spell.longest.sourced(),
        stocking_least=file.stocking.least.sourced(),
        stocking_most=file.stocking.most.sourced(),
        intake=file.stocking.intake.sourced(),
    )


def _cross_check(document: Document, file: GrazingFile) -> list[Fault]:
    pairs = (
        (("spell", "shortest"), file.spell.shortest, "longest", file.spell.longest),
        (("stocking", "least"), file.stocking.least, "most", file.stocking.most),
    )
    return [
        document.fault(
            path,
            f"{'.'.join(path)} {low.value:g} must not be above {name} {high.value:g}",
        )
        for path, low, name, high in pairs
        if low.value > high.value
    ]
