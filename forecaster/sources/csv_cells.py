"""The cells of a foreign table as text, and as numbers."""

from __future__ import annotations

import difflib
import re
import warnings
from typing import TYPE_CHECKING, Any, TextIO

import numpy as np

from forecaster.errors import DataError
from forecaster.sources.reports import Cells, Ints, Texts
from forecaster.sources.text_file import Screened, listed, quoted, screen, split_lines
from forecaster.sources.units import POINTS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from forecaster.domain.weather import Bools, Floats
    from forecaster.sources.csv_mapping import Table

_CHUNK = 50_000
"""Rows read at a time, so that columns nobody asked for are soon dropped."""

_SHOWN_NAMES = 12
_DECIMAL_COMMA = re.compile(r"[-+]?\d+,\d+")
_SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar", " ": "space"}


def read_cells(path: Path, table: Table, wanted: Sequence[str]) -> Cells:
    """The columns ``wanted`` of the rows ``table.only`` asks for, stripped.

    Raises
    ------
    InputMissingError
        If there is no such file.
    DataError
        If it is not a table of this shape, lacks a column, or has no rows.
    """
    screened = screen(path, encoding=table.encoding)
    names = list(dict.fromkeys([*wanted, *table.only]))
    with screened.open() as text:
        header = _header(text, path, table)
        _check_header(path, table, header, names)
        above = table.skip_rows + 1 + table.skip_below_header
        for _ in range(table.skip_below_header):
            text.readline()
        header = _widened(text, path, header, table)
        parts = list(_parts(text, path, table, header=header, names=names, above=above))
    return _joined(screened, table, parts, above)


def numbers(
    path: Path, cells: Cells, column: str, table: Table, *, compass: bool = False
) -> Floats:
    """One column as numbers; cells that stand for a missing value are NaN.

    Raises
    ------
    DataError
        If a cell is neither a number (or compass point) nor a missing value.
    """
    import pandas as pd

    text = cells.text[column]
    missing = np.isin(text.astype(str), ["", *table.missing])
    if compass:
        points = {**POINTS, "CALM": np.nan}
        upper = [str(cell).upper() for cell in text]
        values = np.array([points.get(cell, np.nan) for cell in upper])
        bad = np.array([cell not in points for cell in upper]) & ~missing
    else:
        series = pd.Series(text, dtype=object)
        if table.decimal == ",":
            dotted = series.str.contains(".", regex=False).astype(bool)
            series = series.str.replace(",", ".", regex=False).mask(dotted, "?")
        values = pd.to_numeric(series, errors="coerce").to_numpy(dtype=np.float64)
        named = pd.Series(text, dtype=object).str.lower().isin(["nan"]).to_numpy(bool)
        bad = ~np.isfinite(values) & ~missing & ~named
    missing |= np.isin(values, _codes(table.missing))
    if bad.any():
        rows = np.flatnonzero(bad)
        raise _not_numbers(path, cells, column, table, rows, compass=compass)
    return np.where(missing, np.nan, values)


def _header(text: TextIO, path: Path, table: Table) -> list[str]:
    for _ in range(table.skip_rows):
        text.readline()
    line = text.readline()
    if not line.strip():
        raise DataError(
            f"{path}:{table.skip_rows + 1}: no header here; skip_rows = "
            f"{table.skip_rows} is the number of lines above the header"
        )
    (row,) = split_lines([line], path, table.separator)
    return [name.strip() for name in row]


def _check_header(
    path: Path, table: Table, header: Sequence[str], names: Sequence[str]
) -> None:
    where = f"{path}:{table.skip_rows + 1}"
    absent = [name for name in names if name not in header]
    if absent and len(header) == 1:
        raise DataError(_one_column(where, table, header[0]))
    shown = ", ".join(quoted(name, 20) for name in header[:_SHOWN_NAMES])
    more = len(header) - _SHOWN_NAMES
    faults = []
    for name in absent:
        near = difflib.get_close_matches(name, header, n=3, cutoff=0.5)
        hint = f"nearest: {', '.join(map(quoted, near))}" if near else "none is near"
        faults.append(f"no column {quoted(name)}; {hint}")
    if faults:
        rest = f" and {more} more" if more > 0 else ""
        faults.append(f"the header has {shown}{rest}")
        raise listed(f"{where}: the mapping names columns the file lacks:", faults)
    twice = [name for name in names if header.count(name) > 1]
    if twice:
        raise DataError(
            f"{where}: column {quoted(twice[0])} stands twice; rename one in the file"
        )


def _one_column(where: str, table: Table, line: str) -> str:
    counts = {mark: line.count(mark) for mark in _SEPARATORS}
    likely = max(counts, key=lambda mark: counts[mark])
    message = f"{where}: the header is one column with separator {table.separator!r}"
    if counts[likely]:
        return (
            f"{message}; the line holds {counts[likely]} × {likely!r}: "
            f"set separator = {_toml(likely)} ({_SEPARATORS[likely]})"
        )
    return f"{message}: {quoted(line)}; check separator and skip_rows"


def _toml(mark: str) -> str:
    return '"\\t"' if mark == "\t" else f'"{mark}"'


def _widened(text: TextIO, path: Path, header: list[str], table: Table) -> list[str]:
    """The header with a nameless end if rows close with a separator."""
    here = text.tell()
    line = text.readline()
    text.seek(here)
    first = next(iter(split_lines([line], path, table.separator)), [])
    extra = first[len(header) :]
    return header if any(map(str.strip, extra)) else [*header, *extra]


def _parts(
    text: TextIO,
    path: Path,
    table: Table,
    *,
    header: list[str],
    names: list[str],
    above: int,
) -> Iterator[tuple[Ints, dict[str, Texts]]]:
    """Line numbers and wanted cells, a chunk of rows at a time."""
    import pandas as pd

    at = {name: header.index(name) for name in names}
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", pd.errors.ParserWarning)
            for chunk in pd.read_csv(
                text,
                sep=table.separator,
                header=None,
                names=list(range(len(header))),
                index_col=False,
                dtype=str,
                na_filter=False,
                skip_blank_lines=False,
                chunksize=_CHUNK,
            ):
                yield _part(chunk, at, table, above)
    except (pd.errors.ParserError, pd.errors.ParserWarning) as error:
        raise _uneven(path, table, header, above, str(error)) from None


def _part(
    chunk: Any, at: dict[str, int], table: Table, above: int
) -> tuple[Ints, dict[str, Texts]]:
    text = {
        name: np.array(chunk[number].str.strip(), dtype=object)
        for name, number in at.items()
    }
    line = chunk.index.to_numpy(dtype=np.int64) + above + 1
    keep: Bools = np.any([cells != "" for cells in text.values()], axis=0)
    for name, value in table.only.items():
        keep &= text[name] == str(value)
    for cells in text.values():
        cells[~keep] = None
    return line, text


def _joined(
    screened: Screened,
    table: Table,
    parts: Sequence[tuple[Ints, dict[str, Texts]]],
    above: int,
) -> Cells:
    path = screened.path
    line = np.concatenate([np.empty(0, dtype=np.int64), *(each for each, _ in parts)])
    if not line.size:
        raise DataError(f"{path}: the table has a header but no rows; export it again")
    if line.size != screened.lines - above:
        raise DataError(
            f"{path}: {screened.lines - above:,} lines below the header but "
            f"{line.size:,} rows: a quotation mark is not closed on its line; "
            "remove the stray quotation mark"
        )
    text = {
        name: np.concatenate([each[name] for _, each in parts]) for name in parts[0][1]
    }
    keep = np.array([cell is not None for cell in next(iter(text.values()))])
    if not keep.any():
        only = ", ".join(f"{key} = {value}" for key, value in table.only.items())
        raise DataError(
            f"{path}: no row has {only}; check [table.only]"
            if only
            else f"{path}: the table has a header but only empty rows"
        )
    return Cells(line, text).pick(keep)


def _uneven(
    path: Path, table: Table, header: list[str], above: int, message: str
) -> DataError:
    found = re.search(r"Expected \d+ fields in line (\d+), saw (\d+)", message)
    if found:
        where = f"{path}:{int(found[1]) + above}: {found[2]} cells"
    elif "inside string" in message:
        return DataError(f"{path}: a quotation mark is opened and never closed")
    else:
        where = f"{path}:{above + 1}: more cells than names"
    hint = (
        "; if the decimals are commas, the separator must be another mark, "
        "or the numbers quoted"
        if table.separator == ","
        else ""
    )
    return DataError(f"{where}, the header has {len(header)}{hint}")


def _codes(missing: Sequence[str]) -> list[float]:
    """The missing-value codes that are numbers: -9999 also means -9999.0."""
    codes = []
    for word in missing:
        try:
            codes.append(float(word))
        except ValueError:
            continue
    return codes


def _not_numbers(
    path: Path,
    cells: Cells,
    column: str,
    table: Table,
    rows: Ints,
    *,
    compass: bool,
) -> DataError:
    text = [str(cells.text[column][row]) for row in rows.tolist()]
    faults = [
        f"{path}:{line}:{column}: {quoted(cell)}"
        for line, cell in zip(cells.line[rows].tolist(), text, strict=True)
    ]
    if compass:
        hint = "is not one of the sixteen compass points N, NNE, NE …"
    elif table.decimal == "." and any(map(_DECIMAL_COMMA.fullmatch, text)):
        hint = 'has a decimal comma; set decimal = "," in [table]'
    elif table.decimal == "," and any("." in cell for cell in text):
        hint = 'has a decimal point; set decimal = "." in [table]'
    else:
        hint = (
            "is not a number; if it stands for a missing value, "
            "add it to missing in [table]"
        )
    return listed(f"{path}: column {quoted(column)} {hint}:", faults)
