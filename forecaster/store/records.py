"""The log of records: ``records.jsonl`` in the farm's folder, never written over."""

from __future__ import annotations

from dataclasses import replace
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from forecaster.domain.record.log import Entry, RecordLog, Taken, assembled
from forecaster.errors import DataError
from forecaster.store.append_file import alone, append
from forecaster.store.log_file import content_of, numbered
from forecaster.store.record_chain import Chain, chain_of, split_lines
from forecaster.store.record_lines import (
    FIRST,
    HASH,
    LONGEST_LINE,
    Foreign,
    entry_fields,
    fields_of,
    read_line,
    sealed,
    taken_fields,
)
from forecaster.store.sealed_line import UnreadableLine

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from pathlib import Path

RECORDS_FILE = "records.jsonl"


def read_records(path: Path) -> RecordLog:
    """Every sound record of a log; an absent file holds none.

    What is damaged is told in the warnings and costs no other line.

    Raises
    ------
    InputMissingError
        If the file is there and cannot be read.
    """
    return _log(path, content_of(path, "records"))


def verified(path: Path) -> Chain:
    """Whether every line is as it was written and follows on the one before.

    Raises
    ------
    InputMissingError
        If the file is there and cannot be read.
    """
    return chain_of(content_of(path, "records"))


def add_entries(
    path: Path, choose: Callable[[RecordLog], Sequence[Entry | Taken]]
) -> tuple[tuple[Entry | Taken, ...], RecordLog]:
    """Add what ``choose`` makes of the log as it stands; all of it or nothing.

    ``choose`` runs while no other run can add. Gives what was added, with numbers and
    hashes, and the log as it was before.

    Raises
    ------
    InputMissingError
        If the log is there and cannot be read.
    DataError
        If a line would be too long to be read back; nothing is written.
    OutputError
        If it cannot be written; it is then as it was.
    """
    with alone(path):
        content = content_of(path, "records")
        log = _log(path, content)
        number, before, damaged = _end_of(content)
        lines: list[bytes] = []
        added: list[Entry | Taken] = []
        for each in choose(log):
            number += 1
            line, before = sealed(_fields(each), number, before, damaged)
            _check_length(path, line)
            damaged = ()
            lines.append(line)
            added.append(replace(each, number=number, hash=before))
        if lines:
            append(path, lines)
    return tuple(added), log


def _check_length(path: Path, line: bytes) -> None:
    if len(line) > LONGEST_LINE:
        raise DataError(
            f"{path}: a record would take {len(line):,} bytes; up to "
            f"{LONGEST_LINE:,} can be read back. Nothing was written; tell fewer "
            "changes of wind and tanks, or several jobs"
        )


def _fields(each: Entry | Taken) -> dict[str, Any]:
    return taken_fields(each) if isinstance(each, Taken) else entry_fields(each)


def _end_of(content: bytes) -> tuple[int, str, tuple[str, ...]]:
    """Highest number, hash of the last line with one, and damaged lines after it."""
    number, before = 0, FIRST
    damaged: list[str] = []
    for line in split_lines(content):
        try:
            fields = fields_of(line)
        except UnreadableLine:
            damaged.append(sha256(line).hexdigest())
            continue
        damaged = []
        before = str(fields.get(HASH, before))
        said = fields.get("number")
        number = max(number, said if type(said) is int else 0)
    return number, before, tuple(damaged)


def _log(path: Path, content: bytes) -> RecordLog:
    sound: list[Entry | Taken] = []
    bad: list[tuple[int, str]] = []
    newer: list[int] = []
    for number, line in enumerate(split_lines(content), 1):
        try:
            found = read_line(line)
        except UnreadableLine as error:
            bad.append((number, str(error)))
            continue
        if isinstance(found, Foreign):
            newer.append(number)
        else:
            sound.append(found)
    records, lost = assembled(tuple(sound))
    chain = chain_of(content)
    warnings = tuple(_warnings(path, bad, newer, lost, chain))
    return RecordLog(records, warnings, chain.last_hash if content else "")


def _warnings(
    path: Path,
    bad: list[tuple[int, str]],
    newer: list[int],
    lost: Sequence[int],
    chain: Chain,
) -> Iterator[str]:
    if bad:
        yield (
            f"{path}: {numbered([n for n, _ in bad])} cannot be used ({bad[0][1]}); "
            "every other line stands. If it held a record, record it again; until then "
            "its paddock does not count as sprayed: no stock in before you looked"
        )
    if newer:
        yield (
            f"{path}: {numbered(newer)}: written by another version of this program "
            "and not used; every other line stands"
        )
    if lost:
        yield f"{path}: entry {lost[0]} points to an entry that cannot be used"
    if chain.line and not bad:
        yield f"{path}: line {chain.line} {chain.fault}; see 'record --verify'"
