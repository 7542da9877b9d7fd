"""The decision table, from ``config/choice.toml``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field

from forecaster.domain.choice.conditions import CONDITIONS
from forecaster.domain.choice.rows import Answer, Kind, Row, Table
from forecaster.domain.sourced import Mark
from forecaster.errors import Fault, SettingsError
from forecaster.settings.document import Flag, Strict, read_document, validate
from forecaster.settings.names import unknown
from forecaster.settings.numbers import SourcedNumber
from forecaster.settings.repeats import repeated

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from forecaster.settings.document import Document

Words = Annotated[str, Field(min_length=3, max_length=300)]


class RowEntry(Strict):
    """One ``[[row]]``."""

    id: Annotated[str, Field(pattern=r"^\d{1,2}[a-z]?$")]
    kind: Kind
    conditions: Annotated[list[str], Field(min_length=1)]
    answer: Answer = Answer.UNKNOWN
    advice: Words
    why: Words
    source: Words
    page: Words
    mark: Mark
    mode: Literal["translocated", "contact"] | None = None
    each: Flag = False
    numbers: list[str] = Field(default_factory=list)
    prefer_other: Flag = False

    def row(self) -> Row:
        """As the domain reads it."""
        return Row(
            id=self.id,
            kind=self.kind,
            conditions=tuple(self.conditions),
            answer=self.answer,
            advice=self.advice,
            why=self.why,
            source=self.source,
            page=self.page,
            mark=self.mark,
            mode=self.mode,
            each=self.each,
            numbers=tuple(self.numbers),
            prefer_other=self.prefer_other,
        )


class NumberEntry(Strict):
    """``[numbers.<name>]``."""

    words: Words
    number: SourcedNumber


class ChoiceFile(Strict):
    """The whole file."""

    row: Annotated[list[RowEntry], Field(min_length=1)]
    numbers: dict[str, NumberEntry]


def load_choice(path: Path) -> Table:
    """The decision table.

    Raises
    ------
    InputMissingError
        If there is no such file.
    SettingsError
        With every fault of it.
    """
    document = read_document(path)
    file = validate(document, ChoiceFile)
    faults = list(_faults(document, file))
    if faults:
        raise SettingsError(faults)
    return Table(
        rows=tuple(each.row() for each in file.row),
        numbers={
            name: (each.words, each.number.sourced())
            for name, each in file.numbers.items()
        },
    )


def _faults(document: Document, file: ChoiceFile) -> Iterator[Fault]:
    yield from repeated(document, "row", (each.id for each in file.row))
    for number, row in enumerate(file.row):
        here = ("row", number)
        for place, name in enumerate(row.conditions):
            if name not in CONDITIONS:
                yield document.fault(
                    (*here, "conditions", place),
                    unknown("condition", name, CONDITIONS),
                )
        for place, name in enumerate(row.numbers):
            if name not in file.numbers:
                yield document.fault(
                    (*here, "numbers", place), unknown("number", name, file.numbers)
                )
        if (row.kind is Kind.ADD) != (row.answer is Answer.UNKNOWN):
            yield document.fault(
                (*here, "answer"),
                f'kind = "{row.kind}": an addition has no answer, every other row has',
            )
        asked_of_one = row.each or row.mode is not None
        if row.kind in {Kind.BAR, Kind.CHOOSE} and not asked_of_one:
            yield document.fault(
                (*here, "kind"),
                f'kind = "{row.kind}" is about an active: type mode = … or each = true',
            )
        if row.kind is Kind.STOP and asked_of_one:
            yield document.fault(
                (*here, "kind"),
                'kind = "stop" is about the paddock: remove mode and each',
            )
