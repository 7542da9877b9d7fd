"""Looks from a sheet that was filled in on paper or a phone; and an empty one."""

from __future__ import annotations

import difflib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeVar

from forecaster.errors import DataError, UsageError
from forecaster.service.look_count import (
    About,
    Prepared,
    checked_author,
    checked_text,
    count_of,
    photo_path,
    prepared,
    weed_called,
)
from forecaster.service.look_dates import Counted, counted_at
from forecaster.service.look_log import author
from forecaster.service.wiring import paddock_called
from forecaster.settings.names import plain, same_name
from forecaster.settings.stage_words import CLASSES, class_of, spoken
from forecaster.sources.sheet_rows import read_sheet, sheet_text, untamed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from forecaster.domain.growth.weed import Weed
    from forecaster.service.look_dates import Present
    from forecaster.settings.farm import Farm, Paddock
    from forecaster.sources.sheet_rows import Sheet

NEEDED = ("date", "paddock", "weed")
OPTIONAL = ("by", "note", "photo")
MOST_FAULTS = 200
"""Shown of one sheet."""

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Filled:
    """What a sheet holds."""

    looks: tuple[Prepared, ...]
    twice: tuple[str, ...]
    """Which lines hold the same look."""
    empty: int
    """Rows with no count."""


@dataclass(slots=True)
class _Row:
    """One row by column, and what is wrong with it."""

    line: int
    cells: dict[str, str]
    stages: dict[str, str]
    faults: list[str] = field(default_factory=list)

    def attempt(self, step: Callable[[], T]) -> T | None:
        """What ``step`` gives, or its fault put on the list."""
        try:
            return step()
        except UsageError as error:
            self.faults.append(str(error))
            return None


def empty_sheet(farm: Farm) -> str:
    """A CSV with a row for each weed of each paddock, to fill in."""
    header = [*NEEDED, *map(spoken, CLASSES), *OPTIONAL]
    blank = [""] * (len(header) - len(NEEDED))
    rows = [
        ["", paddock.name, weed, *blank]
        for paddock in farm.paddocks
        for weed in paddock.weeds
    ]
    return sheet_text([header, *rows])


def read_filled(path: Path, farm: Farm, present: Present, by: str | None) -> Filled:
    """Every look of a sheet; a row without a count is skipped.

    Photos are looked for beside the sheet. ``by`` counts where a row names nobody.

    Raises
    ------
    InputMissingError
        If there is no such file.
    DataError
        With every fault of every row at once.
    """
    sheet = read_sheet(path)
    names = _columns(sheet)
    rows = [_row(sheet, names, line, cells) for line, cells in sheet.rows]
    filled = [row for row in rows if any(row.stages.values()) or row.faults]
    made = [(row, _look(row, farm, present, by, path.parent)) for row in filled]
    faults = [f"{path}:{row.line}: {fault}" for row, _ in made for fault in row.faults]
    if faults:
        raise DataError(_told(path, faults))
    found = [(row.line, look) for row, look in made if look is not None]
    looks = tuple(look for _, look in found)
    return Filled(looks, tuple(_twice(found)), len(rows) - len(filled))


def _columns(sheet: Sheet) -> list[str]:
    """The header in our spelling; one error for all that is wrong with it."""
    known = (*NEEDED, *OPTIONAL)
    found: list[str] = []
    faults: list[str] = []
    for name in sheet.header:
        plain_name = same_name(" ".join(name.split()))
        if plain_name in found and plain_name:
            faults.append(f"column {plain(name)} stands twice")
        elif plain_name and plain_name not in known:
            fault = _no_stage(name, known)
            faults += [fault] if fault else []
        found.append(plain_name)
    faults += [f"column {name} is missing" for name in NEEDED if name not in found]
    if not set(found) - set(known) - {""}:
        faults.append("there is no column of a stage, such as heading or 55")
    if faults:
        raise DataError(_told(sheet.path, [f"{sheet.path}:1: {f}" for f in faults]))
    return found


def _no_stage(name: str, known: tuple[str, ...]) -> str | None:
    try:
        class_of(name)
    except ValueError as error:
        near = difflib.get_close_matches(same_name(name), known, n=1)
        hint = f"did you mean {near[0]}? " if near else ""
        return f"column: {hint}{error}; other columns are {', '.join(known)}"
    return None


def _row(sheet: Sheet, names: list[str], line: int, cells: tuple[str, ...]) -> _Row:
    known = (*NEEDED, *OPTIONAL)
    by_name = {name: untamed(cell) for name, cell in zip(names, cells, strict=False)}
    row = _Row(
        line,
        {name: by_name.get(name, "") for name in known},
        {name: cell for name, cell in by_name.items() if name and name not in known},
    )
    beyond = [cell for n, cell in enumerate(cells) if cell and not _named(names, n)]
    if beyond:
        row.faults.append(
            f"{plain(beyond[0])} stands in no column; the header has "
            f"{len(sheet.header)}"
        )
    return row


def _named(names: list[str], number: int) -> bool:
    return number < len(names) and bool(names[number])


def _look(
    row: _Row, farm: Farm, present: Present, by: str | None, base: Path
) -> Prepared | None:
    """The look of a row, or None with its faults on the row."""
    cells = row.cells
    where = row.attempt(lambda: _where(farm, cells["paddock"], cells["weed"]))
    counted = row.attempt(lambda: _when(cells["date"], farm, present))
    typed = [
        row.attempt(lambda word=word, text=text: count_of(word, text))  # type: ignore[misc]
        for word, text in row.stages.items()
        if text
    ]
    who = row.attempt(
        lambda: checked_author(cells["by"], "by") if cells["by"] else author(by)
    )
    note = row.attempt(lambda: checked_text(cells["note"], "note"))
    photo = row.attempt(lambda: checked_text(cells["photo"], "photo"))
    if row.faults or where is None or counted is None or who is None:
        return None
    kept, missing = photo_path(farm, photo or "", base)
    counts = tuple(pair for pair in typed if pair is not None)
    about = About(who, note or "", kept)
    made = row.attempt(
        lambda: prepared(farm, where, counts, counted, about, present=present)
    )
    if made is None or missing is None:
        return made
    return Prepared(made.entry, (*made.remarks, missing))


def _where(farm: Farm, paddock: str, weed: str) -> tuple[Paddock, Weed]:
    if not paddock:
        raise UsageError("the paddock is missing")
    found = paddock_called(farm, paddock)
    return found, weed_called(farm, found, weed or found.target)


def _when(text: str, farm: Farm, present: Present) -> Counted:
    if not text:
        raise UsageError("the date is missing; write it like 2026-10-11")
    return counted_at(text, farm, present, "date")


def _twice(found: list[tuple[int, Prepared]]) -> Iterator[str]:
    first: dict[str, int] = {}
    for line, look in found:
        before = first.setdefault(look.entry.look.id, line)
        if before != line:
            yield f"lines {before} and {line} hold the same look; kept once"


def _told(path: Path, faults: list[str]) -> str:
    count = len(faults)
    head = "1 fault" if count == 1 else f"{count} faults"
    more = [f"… and {count - MOST_FAULTS} more"] if count > MOST_FAULTS else []
    return "\n".join(
        [f"{path}: {head}; nothing was recorded:", *faults[:MOST_FAULTS], *more]
    )
