"""The rows of a foreign table while they are being checked, before they are hours."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import numpy.typing as npt

from forecaster.domain.marks import Marks, take_all
from forecaster.sources.import_report import SHOWN_EXAMPLES, Example, Finding

if TYPE_CHECKING:
    from forecaster.domain.weather import Bools, Floats, Times

Texts: TypeAlias = npt.NDArray[np.object_]
Ints: TypeAlias = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Cells:
    """The wanted columns of a file as text, shape (rows,); ``line`` counts from 1."""

    line: Ints
    text: dict[str, Texts]

    def pick(self, rows: Bools | Ints) -> Cells:
        """Some rows, or all of them in another order."""
        return Cells(
            self.line[rows], {name: cells[rows] for name, cells in self.text.items()}
        )


@dataclass(frozen=True, slots=True)
class Reports:
    """Weather reports: a UTC time and values in our units, shape (rows,).

    ``column`` names the column each quantity came from, ``marks`` hold what was said
    against the values. ``findings`` is the one thing that grows while the rows are
    checked.
    """

    cells: Cells
    time: Times
    values: dict[str, Floats]
    column: dict[str, str]
    findings: list[Finding] = field(default_factory=list)
    marks: dict[str, Marks] = field(default_factory=dict)

    def __len__(self) -> int:
        return int(self.time.size)

    def pick(self, rows: Bools | Ints) -> Reports:
        """Some rows, or all of them in another order; findings are shared."""
        return replace(
            self,
            cells=self.cells.pick(rows),
            time=self.time[rows],
            values={name: values[rows] for name, values in self.values.items()},
            marks=take_all(self.marks, np.arange(len(self))[rows]),
        )

    def note(self, reason: str, quantity: str, done: str, where: Bools) -> None:
        """Record a finding for the rows of ``where``, if there are any."""
        rows = np.flatnonzero(where)
        if rows.size:
            column = self.column.get(quantity, "")
            self.findings.append(
                finding(
                    reason, quantity, done, cells=self.cells, column=column, rows=rows
                )
            )

    def put(self, quantity: str, values: Floats) -> Reports:
        """The same reports with one quantity replaced."""
        return replace(self, values={**self.values, quantity: values})


def finding(
    reason: str, quantity: str, done: str, *, cells: Cells, column: str, rows: Ints
) -> Finding:
    """A finding about ``rows`` (counted from 0), shown by their cells in ``column``."""
    text = cells.text.get(column)
    examples = tuple(
        Example(int(cells.line[row]), column, "" if text is None else str(text[row]))
        for row in rows[:SHOWN_EXAMPLES].tolist()
    )
    return Finding(reason, quantity, done, int(rows.size), examples)
