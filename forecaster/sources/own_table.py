"""Reading and writing the program's own comma-separated tables, without pandas.

A table of our own has one header line of known names, ISO dates, a point for the
decimals and an empty cell for a missing value. Anything else is a fault.
"""

from __future__ import annotations

import csv
import difflib
import math
import os
import tempfile
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from forecaster.errors import DataError, OutputError
from forecaster.sources.own_quick import quick_block
from forecaster.sources.text_file import Screened, listed, no_table, quoted, screen

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    import numpy.typing as npt

    from forecaster.domain.weather import Bools, Floats
    from forecaster.sources.ranges import Range

LARGEST_TABLE = 64 * 1024 * 1024
"""Bytes; a century of hours in our own form is about as large."""


@dataclass
class OwnTable:
    """The columns of a table, with the place of each cell if one is at fault.

    ``faults`` collects what is wrong, so that all of it is reported at once.
    ``block`` holds the rows already read if nothing about the text was unusual.
    """

    screened: Screened
    header: list[str]
    block: Any | None
    faults: list[str] = field(default_factory=list)

    @property
    def path(self) -> Path:
        """The file."""
        return self.screened.path

    @cached_property
    def rows(self) -> tuple[list[int], list[list[str]]]:
        """The line each row stands on, and its cells."""
        lines, rows = _rows(self.screened)
        return lines[1:], rows[1:]

    @property
    def lines(self) -> list[int]:
        """The line of the file each row stands on, from 1."""
        return self.rows[0]

    @cached_property
    def cells(self) -> dict[str, tuple[str, ...]]:
        """The text of every cell, without spaces around it."""
        columns = zip(*self.rows[1], strict=True)
        return {
            name: tuple(map(str.strip, column))
            for name, column in zip(self.header, columns, strict=True)
        }

    def __len__(self) -> int:
        return len(self.lines) if self.block is None else int(self.block.size)

    def text(self, name: str) -> Sequence[str]:
        """A column of words."""
        if self.block is None:
            return self.cells[name]
        words: list[str] = self.block[name].tolist()
        return words

    def fault(self, row: int, column: str, message: str) -> None:
        """Note that ``message`` is true of this cell (``row`` counts from 0)."""
        cell = quoted(self.cells[column][row])
        self.faults.append(f"{self.path}:{self.lines[row]}:{column}: {cell} {message}")

    def refuse_faults(self) -> None:
        """Stop here if anything was wrong so far.

        Raises
        ------
        DataError
            With the first faults and how many more there are.
        """
        if self.faults:
            raise listed(f"{self.path}: the table cannot be used:", self.faults)

    def numbers(self, name: str, allowed: Range) -> Floats:
        """A column of numbers; an absent column and an empty cell are missing."""
        if name not in self.header:
            return np.full(len(self), np.nan)
        if self.block is not None:
            values: Floats = np.array(self.block[name])
            odd = np.zeros(len(self), dtype=np.bool_)
        else:
            values = np.array([_number(cell) for cell in self.cells[name]])
            odd = np.isnan(values) & np.array([cell != "" for cell in self.cells[name]])
        for row in np.flatnonzero(odd).tolist():
            self.fault(
                row,
                name,
                f"is not a number; write {allowed} with a decimal point, "
                "or leave the cell empty when the value is missing",
            )
        for row in np.flatnonzero(allowed.outside(values) & ~odd).tolist():
            self.fault(
                row,
                name,
                f"is out of range; allowed is {allowed}; correct it, "
                "or leave the cell empty",
            )
        return values


def in_order(
    table: OwnTable,
    name: str,
    steps: npt.NDArray[np.int64],
    columns: Sequence[npt.NDArray[np.generic]],
    *,
    longest: tuple[int, str],
) -> Bools:
    """Rows to keep: all but the second of two equal ones.

    ``steps`` are whole hours or days of column ``name``. Notes a fault where they go
    back, where one stands twice with different values in ``columns``, and where they
    span ``longest`` (number, its words) or more.
    """
    step = np.diff(steps)
    for row in np.flatnonzero(step < 0).tolist():
        before = table.cells[name][row]
        table.fault(row + 1, name, f"comes after {before}; sort the rows, oldest first")
    keep = np.concatenate([[True], step != 0])
    for row in np.flatnonzero(~keep).tolist():
        pair = np.array([values[row - 1 : row + 1] for values in columns])
        if not np.array_equal(pair[:, 0], pair[:, 1], equal_nan=True):
            table.fault(
                row,
                name,
                f"stands twice with different values (line {table.lines[row - 1]} "
                "and here); keep one of the two",
            )
    most, words = longest
    if int(steps[-1] - steps[0]) >= most:
        table.fault(
            len(steps) - 1,
            name,
            f"is more than {words} after {table.cells[name][0]}; check the years",
        )
    return keep


def read_table(
    path: Path, known: Sequence[str], *, needed: Sequence[str], words: Sequence[str]
) -> OwnTable:
    """A table of ours whose header and row lengths are right.

    ``known`` names may stand in the header and ``needed`` ones must; those of
    ``words`` are text, the others numbers.

    Raises
    ------
    InputMissingError
        If there is no such file.
    DataError
        If it is not text, has no rows, or the header holds names not ``known``,
        twice, or not all that are ``needed``; or rows have too many or few cells.
    """
    screened = screen(path, largest=LARGEST_TABLE)
    header = _header(screened)
    _check_header(path, header, known, needed)
    table = OwnTable(screened, header, quick_block(screened, header, words))
    if table.block is None:
        _check_widths(table)
    return table


def write_rows(path: Path, header: Sequence[str], rows: Iterable[str]) -> None:
    """Put a whole new file in the place of ``path``, or leave the old one alone.

    Raises
    ------
    OutputError
        If the folder or the file cannot be written.
    """
    try:
        handle, name = tempfile.mkstemp(
            prefix=f".{path.name}.", suffix=".part", dir=path.parent
        )
    except OSError as error:
        raise OutputError(f"{path}: cannot be written ({error.strerror})") from None
    part = Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as text:
            text.write(",".join(header) + "\n")
            text.writelines(rows)
            text.flush()
            os.fsync(text.fileno())
        part.chmod(0o644)
        part.replace(path)
    except OSError as error:
        raise OutputError(f"{path}: cannot be written ({error.strerror})") from None
    finally:
        part.unlink(missing_ok=True)


def cell_of(value: float) -> str:
    """The shortest text that reads back as exactly this number."""
    return "" if math.isnan(value) else repr(value)


def _number(cell: str) -> float:
    # Python reads 1_000 as a number; no instrument writes it.
    try:
        return math.nan if "_" in cell else float(cell)
    except ValueError:
        return math.nan


def _header(screened: Screened) -> list[str]:
    with screened.open() as text:
        try:
            first = next(csv.reader(text), [])
        except csv.Error as error:
            raise no_table(screened.path, error) from None
    if not any(map(str.strip, first)):
        raise DataError(f"{screened.path}:1: no header; the first line names columns")
    return [name.strip() for name in first]


def _rows(screened: Screened) -> tuple[list[int], list[list[str]]]:
    """The rows that are not blank, and the line each ends on."""
    with screened.open() as text:
        reader = csv.reader(text)
        try:
            pairs = [(reader.line_num, row) for row in reader if row]
        except csv.Error as error:
            raise no_table(screened.path, error) from None
    return [line for line, _ in pairs], [row for _, row in pairs]


def _check_header(
    path: Path, header: Sequence[str], known: Sequence[str], needed: Sequence[str]
) -> None:
    faults = []
    for number, name in enumerate(header):
        if name not in known:
            near = difflib.get_close_matches(name, known, n=1)
            hint = f"did you mean {near[0]}?" if near else f"known: {', '.join(known)}"
            faults.append(f"{path}:1: column {quoted(name)} is not known; {hint}")
        elif name in header[:number]:
            faults.append(f"{path}:1: column {quoted(name)} stands twice")
    faults += [
        f"{path}:1: column {name} is missing; add it"
        for name in needed
        if name not in header
    ]
    if faults:
        raise listed(f"{path}: the header cannot be used:", faults)


def _check_widths(table: OwnTable) -> None:
    path, width = table.path, len(table.header)
    lines, rows = table.rows
    if not rows:
        raise DataError(f"{path}: the table has a header but no rows; add rows to it")
    faults = [
        f"{path}:{line}: {len(row)} cells, the header has {width}; "
        "one comma between cells, a point for the decimals"
        for line, row in zip(lines, rows, strict=True)
        if len(row) != width
    ]
    if faults:
        raise listed(f"{path}: rows of the wrong length:", faults)
