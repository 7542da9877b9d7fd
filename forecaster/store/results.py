"""The log of results: ``results.jsonl`` in the farm's folder, never written over."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from forecaster.domain.result.result_log import (
    FIRST_YEAR,
    LARGEST_CM,
    LAST_YEAR,
    MOST_PLANTS,
    MOST_SQUARES,
    SMALLEST_CM,
    ResultEntry,
)
from forecaster.settings.stage_words import CLASSES
from forecaster.store.append_file import alone, append
from forecaster.store.line_values import moment_in, moment_text, name_in
from forecaster.store.log_file import content_of, lines_of, numbered
from forecaster.store.sealed_line import UnreadableLine, opened_line, sealed_line

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

RESULTS_FILE = "results.jsonl"
FORMAT = 1
"""Raised when a field changes its meaning or goes."""
_KEYS = frozenset(ResultEntry.__dataclass_fields__)


@dataclass(frozen=True, slots=True)
class ResultLog:
    """Every sound result, oldest line first, and what could not be read."""

    entries: tuple[ResultEntry, ...]
    warnings: tuple[str, ...] = ()


def read_results(path: Path) -> ResultLog:
    """Every sound result of a log; an absent file holds none.

    Raises
    ------
    InputMissingError
        If the file is there and cannot be read.
    """
    entries: list[ResultEntry] = []
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
        else:
            entries.append(found)
    return ResultLog(tuple(entries), tuple(_warnings(path, bad, newer)))


def add_result(path: Path, entry: ResultEntry) -> None:
    """Add one result at the end.

    Raises
    ------
    OutputError
        If the log cannot be written; it is then as it was.
    """
    with alone(path):
        append(path, [result_line(entry)])


def result_line(entry: ResultEntry) -> bytes:
    """A result as one line, without its end."""
    return sealed_line(
        {
            "format": FORMAT,
            "kind": "result",
            "paddock": entry.paddock,
            "weed": entry.weed,
            "year": entry.year,
            "active": entry.active,
            "stage": entry.stage,
            "side_cm": entry.side_cm,
            "treated": list(entry.treated),
            "untreated": list(entry.untreated),
            "recorded": moment_text(entry.recorded),
        }
    )


def result_of(line: bytes) -> ResultEntry | None:
    """The result a line holds; None: of a kind or format not known here.

    Raises
    ------
    UnreadableLine
        If it is cut, damaged, or not such a line.
    """
    fields = opened_line(line)
    if fields.pop("kind", None) != "result" or fields.pop("format", None) != FORMAT:
        return None
    try:
        return _result(fields)
    except (KeyError, TypeError, ValueError):
        raise UnreadableLine("it holds what no result holds") from None


def _result(fields: dict[str, Any]) -> ResultEntry:
    if fields.keys() != _KEYS or fields["stage"] not in {None, *CLASSES}:
        raise ValueError
    return ResultEntry(
        paddock=name_in(fields["paddock"]),
        weed=name_in(fields["weed"]),
        year=_whole(fields["year"], FIRST_YEAR, LAST_YEAR),
        active=None if fields["active"] is None else name_in(fields["active"]),
        stage=fields["stage"],
        side_cm=_side(fields["side_cm"]),
        treated=_counts(fields["treated"]),
        untreated=_counts(fields["untreated"]),
        recorded=moment_in(fields["recorded"]),
    )


def _whole(value: Any, lowest: int, highest: int) -> int:
    if type(value) is not int or not lowest <= value <= highest:
        raise ValueError
    return value


def _side(value: Any) -> float:
    if type(value) not in {int, float} or not SMALLEST_CM <= value <= LARGEST_CM:
        raise ValueError
    return float(value)


def _counts(values: Any) -> tuple[int, ...]:
    if type(values) is not list or not 1 <= len(values) <= MOST_SQUARES:
        raise ValueError
    return tuple(_whole(each, 0, MOST_PLANTS) for each in values)


def _warnings(path: Path, bad: list[int], newer: list[int]) -> Iterator[str]:
    if bad:
        yield (
            f"{path}: {numbered(bad)} cannot be read; every other line stands. "
            "Record the result again"
        )
    if newer:
        yield (
            f"{path}: {numbered(newer)}: written by another version of this program "
            "and not used; every other line stands"
        )
