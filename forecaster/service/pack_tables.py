"""The tables of a pack: what was told, read back from CSV; the rest to look at."""

from __future__ import annotations

import csv
import io
import json
from typing import TYPE_CHECKING

from forecaster.errors import DataError
from forecaster.service.pack_records import RECORD_COLUMNS, record_row
from forecaster.settings.document import read_document, validate
from forecaster.settings.farm import FARM_FILE
from forecaster.settings.farm_file import FarmFile
from forecaster.settings.stage_words import class_name
from forecaster.sources.sheet_rows import sheet_text, untamed
from forecaster.store.looks import LOOKS_FILE, read_looks
from forecaster.store.records import RECORDS_FILE, read_records
from forecaster.store.results import RESULTS_FILE, read_results

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from forecaster.domain.growth.look_log import LookEntry
    from forecaster.domain.result.result_log import Kept

HISTORY: dict[str, tuple[str, ...]] = {
    "events": ("key", "run", "made", "window", "body"),
    "messages": ("key", "made", "body"),
    "runs": ("id", "started", "body"),
}
"""Tables of the alerts' state by name, with their columns."""
_WHEN = {"events": 2, "messages": 1, "runs": 1}
"""Which column is the time."""
LOOK_COLUMNS = (
    "id", "paddock", "weed", "moment", "counts", "author", "note", "photo", "recorded",
    "withdrawn_by", "withdrawn_because",
)  # fmt: skip
RESULT_COLUMNS = (
    "paddock", "weed", "year", "active", "stage", "side_cm", "treated", "untreated",
    "recorded", "withdrawn_by", "withdrawn_because",
)  # fmt: skip
Row = tuple[str, ...]


def csv_bytes(columns: Iterable[str], rows: Iterable[Row]) -> bytes:
    """A header and rows; every cell in quotes and none a formula."""
    return sheet_text([list(columns), *map(list, rows)]).encode()


def csv_rows(path: str, content: bytes, columns: tuple[str, ...]) -> list[Row]:
    """The rows that :func:`csv_bytes` wrote.

    Raises
    ------
    DataError
        If it is not such a table.
    """
    try:
        text = content.decode()
        csv.field_size_limit(len(text) + 131_072)
        rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    except (ValueError, csv.Error) as error:
        raise DataError(f"{path}: is no table as pack writes it ({error})") from None
    cells = [tuple(map(untamed, row)) for row in rows]
    if not cells or cells[0] != columns:
        raise DataError(f"{path}:1: the columns must be {', '.join(columns)}")
    for number, row in enumerate(cells, 1):
        if len(row) != len(columns):
            raise DataError(
                f"{path}:{number}: {len(row)} cells; allowed is {len(columns)}"
            )
    return cells[1:]


def history_bytes(name: str, rows: Iterable[Row]) -> bytes:
    """One table of what was told: every row once, the oldest first."""
    when = _WHEN[name]
    ordered = sorted(set(rows), key=lambda row: (row[when], row))
    return csv_bytes(HISTORY[name], ordered)


def views(folder: Path) -> dict[str, bytes]:
    """Settings as JSON, logs as CSV, by file name; made anew each time.

    Raises
    ------
    SettingsError, InputMissingError
        If a file of the farm cannot be read.
    """
    file = validate(read_document(folder / FARM_FILE), FarmFile)
    tree = file.model_dump(mode="json", by_alias=True, exclude_none=True)
    found = {
        "settings.json": json.dumps(tree, ensure_ascii=False, indent=1).encode() + b"\n"
    }
    looks = read_looks(folder / LOOKS_FILE).entries
    if looks:
        found["looks.csv"] = csv_bytes(LOOK_COLUMNS, map(_look_row, looks))
    records = read_records(folder / RECORDS_FILE).records
    if records:
        found["records.csv"] = csv_bytes(RECORD_COLUMNS, map(record_row, records))
    results = read_results(folder / RESULTS_FILE).kept
    if results:
        found["results.csv"] = csv_bytes(RESULT_COLUMNS, map(_result_row, results))
    return found


def _look_row(entry: LookEntry) -> Row:
    look, withdrawn = entry.look, entry.withdrawn
    counts = " ".join(f"{class_name(each)}={count}" for each, count in look.counts)
    return (
        look.id,
        look.paddock,
        look.weed,
        f"{look.moment}Z",
        counts,
        look.author,
        look.note,
        look.photo,
        f"{entry.recorded}Z",
        "" if withdrawn is None else withdrawn.author,
        "" if withdrawn is None else withdrawn.reason,
    )


def _result_row(kept: Kept) -> Row:
    entry, withdrawn = kept.entry, kept.withdrawn
    return (
        entry.paddock,
        entry.weed,
        str(entry.year),
        entry.active or "",
        entry.stage or "",
        f"{entry.side_cm:g}",
        " ".join(map(str, entry.treated)),
        " ".join(map(str, entry.untreated)),
        f"{entry.recorded}Z",
        "" if withdrawn is None else withdrawn.author,
        "" if withdrawn is None else withdrawn.reason,
    )
