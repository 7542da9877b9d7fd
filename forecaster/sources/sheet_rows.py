"""A small table that people fill in by hand, as cells with their line numbers."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from forecaster.errors import DataError
from forecaster.sources.text_file import screen

if TYPE_CHECKING:
    from pathlib import Path

LARGEST_SHEET = 4 * 1024 * 1024
"""Bytes; some twenty thousand rows."""
_SEPARATORS = ",;\t"
_FORMULA = re.compile("'*[-=+@\\t\\r\uff1d\uff0b\uff0d\uff20]")
"""What a spreadsheet takes for the start of a formula, also in full width (OWASP,
CSV injection; from memory), and apostrophes before it."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """The header and the rows that are not empty, each with its first line."""

    path: Path
    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]


def read_sheet(path: Path) -> Sheet:
    """A comma, semicolon or tab separated file with one header line.

    Raises
    ------
    InputMissingError
        If there is no such file.
    DataError
        If it is empty, not UTF-8 text or no table.
    """
    screened = screen(path, largest=LARGEST_SHEET)
    with screened.open() as text:
        first = text.readline()
        text.seek(0)
        separator = max(_SEPARATORS, key=first.count)
        reader = csv.reader(text, delimiter=separator, strict=True)
        rows: list[tuple[int, tuple[str, ...]]] = []
        line = 1
        try:
            for cells in reader:
                if any(map(str.strip, cells)):
                    rows.append((line, tuple(map(str.strip, cells))))
                line = reader.line_num + 1
        except csv.Error as error:
            raise DataError(
                f"{path}:{line}: no row of a table ({error}); check the quotation marks"
            ) from None
    if not rows:
        raise DataError(f"{path}: holds only empty lines")
    return Sheet(path, rows[0][1], tuple(rows[1:]))


def sheet_text(rows: list[list[str]]) -> str:
    """Rows as CSV with every cell in quotes and no cell a formula."""
    return "".join(
        ",".join(f'"{_tame(cell).replace(chr(34), chr(34) * 2)}"' for cell in row)
        + "\r\n"
        for row in rows
    )


def untamed(cell: str) -> str:
    """A cell without the apostrophe that kept it from being a formula."""
    return cell[1:] if cell[:1] == "'" and _FORMULA.match(cell) else cell


def _tame(cell: str) -> str:
    return f"'{cell}" if _FORMULA.match(cell) else cell
