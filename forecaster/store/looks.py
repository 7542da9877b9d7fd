"""The log of looks: ``looks.jsonl`` in the farm's folder, never written over."""

from __future__ import annotations

import difflib
import time
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from forecaster.domain.growth.look_log import LookEntry, LookLog
from forecaster.domain.withdrawal import Withdrawal
from forecaster.errors import UsageError
from forecaster.settings.names import plain
from forecaster.store.append_file import alone, append
from forecaster.store.log_file import SHOWN, content_of, lines_of, numbered
from forecaster.store.look_lines import (
    Unknown,
    look_line,
    read_line,
    withdrawal_line,
)
from forecaster.store.sealed_line import UnreadableLine

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

LOOKS_FILE = "looks.jsonl"
_PAUSE_S = 0.1
"""[s] after which a line without its end is torn, not just being written."""


@dataclass(frozen=True, slots=True)
class Added:
    """What came of looks handed to the log."""

    new: tuple[LookEntry, ...]
    known: tuple[LookEntry, ...]
    """Those the log held already, as it holds them."""
    warnings: tuple[str, ...]
    """What could not be read of the log."""


def read_looks(path: Path) -> LookLog:
    """Every sound look of a log; an absent file holds none.

    What is damaged is told in the warnings and costs no other line.

    Raises
    ------
    InputMissingError
        If the file is there and cannot be read.
    """
    content = content_of(path, "looks")
    if content and not content.endswith(b"\n") and _tail_is_torn(content):
        time.sleep(_PAUSE_S)
        content = content_of(path, "looks")
    return _log(path, content)


def add_looks(path: Path, entries: Sequence[LookEntry]) -> Added:
    """Add the looks whose ids the log does not hold; all of them or none.

    Raises
    ------
    InputMissingError
        If the log is there and cannot be read.
    OutputError
        If it cannot be written; it is then as it was.
    """
    with alone(path):
        log = _log(path, content_of(path, "looks"))
        held = {each.look.id: each for each in log.entries}
        wanted = {each.look.id: each for each in entries}
        new = [each for id_, each in wanted.items() if id_ not in held]
        if new:
            append(path, [look_line(each) for each in new])
    known = tuple(held[id_] for id_ in wanted if id_ in held)
    return Added(tuple(new), known, log.warnings)


def withdraw_look(path: Path, withdrawal: Withdrawal) -> LookEntry:
    """Write down that a look is taken back; gives the look with its withdrawal.

    Raises
    ------
    UsageError
        If the log holds no such look, or it is withdrawn already.
    InputMissingError
        If the log is there and cannot be read.
    OutputError
        If it cannot be written; it is then as it was.
    """
    log = read_looks(path)
    entry = log.entry(withdrawal.entry)
    if entry is None:
        raise _no_such_look(path, withdrawal.entry, log)
    with alone(path):
        entry = _log(path, content_of(path, "looks")).entry(withdrawal.entry) or entry
        if entry.withdrawn is not None:
            before = entry.withdrawn
            raise UsageError(
                f"{withdrawal.entry} was withdrawn already, by {before.author}: "
                f"{before.reason}"
            )
        append(path, [withdrawal_line(withdrawal)])
    return replace(entry, withdrawn=withdrawal)


def _no_such_look(path: Path, id_: str, log: LookLog) -> UsageError:
    near = difflib.get_close_matches(
        id_, [each.look.id for each in log.entries], n=3, cutoff=0.6
    )
    hint = (
        f"did you mean {' or '.join(near)}?"
        if near
        else "'forecaster look --list' prints them all"
    )
    return UsageError(f"{path}: no look has the id {plain(id_, 80)}; {hint}")


def _tail_is_torn(content: bytes) -> bool:
    try:
        read_line(content.rpartition(b"\n")[2])
    except UnreadableLine:
        return True
    return False


def _log(path: Path, content: bytes) -> LookLog:
    looks: dict[str, LookEntry] = {}
    withdrawals: dict[str, Withdrawal] = {}
    bad: list[tuple[int, str]] = []
    newer: list[int] = []
    twice: list[int] = []
    for number, line in lines_of(content):
        try:
            found = read_line(line)
        except UnreadableLine as error:
            bad.append((number, str(error)))
            continue
        if isinstance(found, Unknown):
            newer.append(number)
        elif isinstance(found, Withdrawal):
            withdrawals.setdefault(found.entry, found)
        elif looks.setdefault(found.look.id, found).look != found.look:
            twice.append(number)
    entries = tuple(
        replace(each, withdrawn=withdrawals.get(id_)) for id_, each in looks.items()
    )
    lost = withdrawals.keys() - looks.keys()
    return LookLog(entries, tuple(_warnings(path, bad, newer, twice, lost)))


def _warnings(
    path: Path,
    bad: list[tuple[int, str]],
    newer: list[int],
    twice: list[int],
    lost: Iterable[str],
) -> Iterable[str]:
    if bad:
        yield (
            f"{path}: {numbered([n for n, _ in bad])} cannot be read ({bad[0][1]}); "
            "every other line stands. If it held a look, record it again; if it held "
            "a withdrawal, withdraw again"
        )
    if newer:
        yield (
            f"{path}: {numbered(newer)}: written by another version of this program "
            "and not used; every other line stands"
        )
    if twice:
        yield (
            f"{path}: {numbered(twice)}: the id of an earlier look, but another look; "
            "the earlier one stands"
        )
    shown = sorted(lost)[:SHOWN]
    if shown:
        yield (
            f"{path}: a look that was withdrawn is not in the log: {', '.join(shown)}"
        )
