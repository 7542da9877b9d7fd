"""The log of results: ``results.jsonl`` in the farm's folder, never written over."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from forecaster.domain.result.result_log import Kept, ResultLog
from forecaster.domain.withdrawal import Withdrawal
from forecaster.errors import UsageError
from forecaster.store.append_file import alone, append
from forecaster.store.log_file import SHOWN, content_of, lines_of, numbered
from forecaster.store.result_lines import result_line, result_of, withdrawn_line
from forecaster.store.sealed_line import UnreadableLine, checksum_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    import numpy as np

    from forecaster.domain.result.result_log import ResultEntry

RESULTS_FILE = "results.jsonl"


def read_results(path: Path) -> ResultLog:
    """Every sound result of a log; an absent file holds none.

    Raises
    ------
    InputMissingError
        If the file is there and cannot be read.
    """
    kept: list[Kept] = []
    gone: dict[str, Withdrawal] = {}
    bad: list[int] = []
    newer: list[int] = []
    for number, line in lines_of(content_of(path, "results")):
        try:
            found = result_of(line)
        except UnreadableLine:
            bad.append(number)
            continue
        if found is None:
            newer.append(number)
        elif isinstance(found, Withdrawal):
            gone.setdefault(found.entry, found)
        else:
            kept.append(Kept(number, checksum_of(line), found))
    lost = gone.keys() - {each.checksum for each in kept}
    return ResultLog(
        tuple(replace(each, withdrawn=gone.get(each.checksum)) for each in kept),
        tuple(_warnings(path, bad, newer, lost)),
    )


def add_result(path: Path, entry: ResultEntry) -> None:
    """Add one result at the end.

    Raises
    ------
    OutputError
        If the log cannot be written; it is then as it was.
    """
    with alone(path):
        append(path, [result_line(entry)])


def withdraw_result(
    path: Path, number: int, *, author: str, reason: str, now: np.datetime64
) -> Kept:
    """Write down that a result is taken back; gives it with its withdrawal.

    Raises
    ------
    UsageError
        If the log holds no such result, or it is withdrawn already.
    InputMissingError
        If the log is there and cannot be read.
    OutputError
        If it cannot be written; it is then as it was.
    """
    _standing(path, number)
    with alone(path):
        found = _standing(path, number)
        gone = Withdrawal(found.checksum, author, reason, now)
        append(path, [withdrawn_line(gone)])
    return replace(found, withdrawn=gone)


def _standing(path: Path, number: int) -> Kept:
    found = read_results(path).numbered(number)
    if found is None:
        raise UsageError(
            f"{path}: no result has the number {number}; 'forecaster result --list' "
            "prints them all"
        )
    if found.withdrawn is not None:
        raise UsageError(
            f"result {number} was withdrawn already, by {found.withdrawn.author}: "
            f"{found.withdrawn.reason}"
        )
    return found


def _warnings(
    path: Path, bad: list[int], newer: list[int], lost: Iterable[str]
) -> Iterator[str]:
    if bad:
        yield (
            f"{path}: {numbered(bad)} cannot be read; every other line stands. If it "
            "held a result, record it again; if it held a withdrawal, withdraw again"
        )
    if newer:
        yield (
            f"{path}: {numbered(newer)}: written by another version of this program "
            "and not used; every other line stands"
        )
    shown = sorted(lost)[:SHOWN]
    if shown:
        yield (
            f"{path}: a result that was withdrawn is not in the log: {', '.join(shown)}"
        )
