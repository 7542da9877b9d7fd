"""One line of the log of results."""

from __future__ import annotations

import re
from typing import Any

from forecaster.domain.result.result_log import (
    FIRST_YEAR,
    LARGEST_CM,
    LAST_YEAR,
    MOST_PLANTS,
    MOST_SQUARES,
    SMALLEST_CM,
    ResultEntry,
)
from forecaster.domain.withdrawal import Withdrawal
from forecaster.settings.stage_words import CLASSES
from forecaster.store.line_values import (
    matching,
    moment_in,
    moment_text,
    name_in,
    taken_back_fields,
    taken_back_in,
)
from forecaster.store.sealed_line import UnreadableLine, opened_line, sealed_line

FORMAT = 1
"""Raised when a field changes its meaning or goes."""
_KEYS = frozenset(ResultEntry.__dataclass_fields__)
_SUM = re.compile(r"[0-9a-f]{16}", re.ASCII)


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


def withdrawn_line(withdrawn: Withdrawal) -> bytes:
    """A withdrawal as one line, without its end."""
    return sealed_line(
        {
            "format": FORMAT,
            "kind": "withdrawn",
            "result": withdrawn.entry,
            **taken_back_fields(withdrawn),
        }
    )


def result_of(line: bytes) -> ResultEntry | Withdrawal | None:
    """What a line holds; None: of a kind or format not known here.

    Raises
    ------
    UnreadableLine
        If it is cut, damaged, or not such a line.
    """
    fields = opened_line(line)
    kind = fields.pop("kind", None)
    if fields.pop("format", None) != FORMAT or kind not in {"result", "withdrawn"}:
        return None
    try:
        return _result(fields) if kind == "result" else _withdrawn(fields)
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


def _withdrawn(fields: dict[str, Any]) -> Withdrawal:
    return Withdrawal(entry=matching(_SUM, fields["result"]), **taken_back_in(fields))


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
