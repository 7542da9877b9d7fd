"""Is this a text file we dare to read? Checked in one pass with little memory."""

from __future__ import annotations

import codecs
import csv
from dataclasses import dataclass
from typing import TYPE_CHECKING, TextIO

from forecaster.errors import DataError, InputMissingError

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

LARGEST_FILE = 512 * 1024 * 1024
"""Bytes of a foreign table; a century of five-minute rows is smaller."""

LONGEST_LINE = 1024 * 1024
"""Characters; a longer line means that the file has no line ends we know."""

_STEP = 64 * 1024
_WIDE_MARKS = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_SHOWN_FAULTS = 10


@dataclass(frozen=True, slots=True)
class Screened:
    """A file that passed: how to open it, and how many lines it has."""

    path: Path
    encoding: str
    lines: int

    def open(self) -> TextIO:
        """The text with its own line ends, as the csv readers want it."""
        return self.path.open(encoding=self.encoding, newline="")


def screen(
    path: Path, *, encoding: str = "utf-8", largest: int = LARGEST_FILE
) -> Screened:
    """Refuse what cannot be a table before any reader sees it.

    Raises
    ------
    InputMissingError
        If there is no such file, or it is a folder or cannot be opened.
    DataError
        If it is empty, too large, not in ``encoding``, holds NUL characters or a
        line without end.
    """
    try:
        size = _size(path)
        with path.open("rb") as raw:
            first = raw.read(4)
    except FileNotFoundError:
        raise InputMissingError(f"{path}: no such file; check the name") from None
    except OSError as error:
        raise InputMissingError(f"{path}: cannot be read ({error.strerror})") from None
    if size == 0:
        raise DataError(f"{path}: the file is empty; export it again")
    if size > largest:
        raise DataError(
            f"{path}: {size:,} bytes; at most {largest:,} are read; "
            "split the file by years"
        )
    found = _encoding(path, encoding, first)
    return Screened(path, found, _count_lines(path, found))


def listed(head: str, faults: Iterable[str]) -> DataError:
    """One error for many faults; the first few are shown."""
    every = list(faults)
    shown = every[:_SHOWN_FAULTS]
    if len(every) > len(shown):
        shown.append(f"… and {len(every) - len(shown)} more of this kind")
    return DataError("\n".join([head, *shown]))


def split_lines(
    lines: Iterable[str], path: Path, separator: str = ","
) -> list[list[str]]:
    """The cells of each line.

    Raises
    ------
    DataError
        If no table can be made of them.
    """
    try:
        return list(csv.reader(lines, delimiter=separator))
    except csv.Error as error:
        raise no_table(path, error) from None


def no_table(path: Path, error: csv.Error) -> DataError:
    """What is said of a text that is no table."""
    return DataError(f"{path}: not a comma-separated table ({error})")


def quoted(value: object, limit: int = 40) -> str:
    """A cell as it can be printed: short, and on one line."""
    text = "".join(
        letter if letter.isprintable() else f"\\x{ord(letter):02x}"
        for letter in str(value)[: limit + 1]
    )
    return f'"{text}"' if len(text) <= limit else f'"{text[:limit]}…"'


def _size(path: Path) -> int:
    if path.is_dir():
        raise InputMissingError(f"{path}: is a folder; name the file inside it")
    size = path.stat().st_size
    if not path.is_file():
        raise InputMissingError(f"{path}: is not a plain file")
    return size


def _encoding(path: Path, encoding: str, first: bytes) -> str:
    is_utf8 = codecs.lookup(encoding).name == "utf-8"
    if is_utf8 and first.startswith(_WIDE_MARKS):
        raise DataError(
            f'{path}: the file is UTF-16, not {encoding}; save it as "CSV UTF-8", '
            'or set encoding = "utf-16" in a mapping file'
        )
    return "utf-8-sig" if is_utf8 else encoding


def _count_lines(path: Path, encoding: str) -> int:
    """Lines of the text, the last one with or without its line end."""
    lines, length = 0, 0
    try:
        for chunk in _chunks(path, encoding):
            ends = chunk.count("\n")
            if "\0" in chunk:
                at = lines + chunk[: chunk.index("\0")].count("\n") + 1
                raise DataError(
                    f"{path}:{at}: holds a NUL character; the file is damaged or is "
                    "not text; export it again"
                )
            lengths = [len(part) for part in chunk.split("\n")]
            lengths[0] += length
            if max(lengths) > LONGEST_LINE:
                raise DataError(
                    f"{path}:{lines + 1}: a line is longer than "
                    f"{LONGEST_LINE:,} characters; this is not a table of rows"
                )
            lines += ends
            length = lengths[-1]
    except UnicodeError as error:
        raise DataError(
            f"{path}: near line {lines + 1}: not {encoding.removesuffix('-sig')} text "
            f"({getattr(error, 'reason', error)}); an older spreadsheet may have "
            'written "cp1252", a logger "utf-16": set encoding in the mapping file, '
            "or save the file as UTF-8"
        ) from None
    return lines + (length > 0)


def _chunks(path: Path, encoding: str) -> Iterator[str]:
    with path.open(encoding=encoding) as text:
        while chunk := text.read(_STEP):
            yield chunk
