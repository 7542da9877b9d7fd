"""One line of the log of looks."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import numpy as np

from forecaster.domain.growth.look import Look
from forecaster.domain.growth.look_log import LookEntry, Withdrawal
from forecaster.settings.names import name_fault, text_fault
from forecaster.settings.stage_words import CLASSES, class_name
from forecaster.store.sealed_line import UnreadableLine, opened_line, sealed_line

FORMAT = 1
"""Raised when a field changes its meaning or goes."""
MOST_HEADS = 100_000
"""[heads] of one class; nobody counts more."""

_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,63}", re.ASCII)
_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", re.ASCII)


@dataclass(frozen=True, slots=True)
class Unknown:
    """A sound line of a kind or format this version does not know."""


def look_line(entry: LookEntry) -> bytes:
    """A look as one line, without its end."""
    look = entry.look
    return sealed_line(
        {
            "format": FORMAT,
            "kind": "look",
            "id": look.id,
            "paddock": look.paddock,
            "weed": look.weed,
            "moment": _iso(look.moment),
            "counts": {class_name(each): count for each, count in look.counts},
            "typed": [list(pair) for pair in entry.typed],
            "author": look.author,
            "note": look.note,
            "photo": look.photo,
            "recorded": _iso(entry.recorded),
        }
    )


def withdrawal_line(withdrawal: Withdrawal) -> bytes:
    """A withdrawal as one line, without its end."""
    return sealed_line(
        {
            "format": FORMAT,
            "kind": "withdrawal",
            "look": withdrawal.look,
            "author": withdrawal.author,
            "reason": withdrawal.reason,
            "recorded": _iso(withdrawal.recorded),
        }
    )


def read_line(line: bytes) -> LookEntry | Withdrawal | Unknown:
    """The entry a line holds.

    Raises
    ------
    UnreadableLine
        If it is cut, damaged, or not such a line.
    """
    fields = opened_line(line)
    kind = fields.pop("kind", None)
    if fields.pop("format", None) != FORMAT or kind not in {"look", "withdrawal"}:
        return Unknown()
    try:
        return _look(fields) if kind == "look" else _withdrawal(fields)
    except (KeyError, TypeError, ValueError, AttributeError):
        raise UnreadableLine("it holds what no look holds") from None


def _look(fields: dict[str, Any]) -> LookEntry:
    counts = fields["counts"]
    known = [
        (CLASSES[name], _count(counts[name])) for name in CLASSES if name in counts
    ]
    if len(known) != len(counts) or not known:
        raise ValueError
    look = Look(
        id=_matching(_ID, fields["id"]),
        paddock=_name(fields["paddock"]),
        weed=_name(fields["weed"]),
        moment=_moment(fields["moment"]),
        counts=tuple(known),
        author=_name(fields["author"]),
        note=_text(fields["note"]),
        photo=_text(fields["photo"]),
    )
    typed = tuple((_text(word), _count(count)) for word, count in fields["typed"])
    return LookEntry(look, typed, _moment(fields["recorded"]))


def _withdrawal(fields: dict[str, Any]) -> Withdrawal:
    return Withdrawal(
        look=_matching(_ID, fields["look"]),
        author=_name(fields["author"]),
        reason=_text(fields["reason"]),
        recorded=_moment(fields["recorded"]),
    )


def _name(value: Any) -> str:
    if not isinstance(value, str) or name_fault(value):
        raise ValueError
    return value


def _text(value: Any) -> str:
    if not isinstance(value, str) or text_fault(value):
        raise ValueError
    return value


def _count(value: Any) -> int:
    if type(value) is not int or not 0 <= value <= MOST_HEADS:
        raise ValueError
    return value


def _matching(pattern: re.Pattern[str], value: Any) -> str:
    if not pattern.fullmatch(value):
        raise ValueError
    return str(value)


def _moment(value: Any) -> np.datetime64:
    return np.datetime64(_matching(_MOMENT, value)[:-1], "s")


def _iso(moment: np.datetime64) -> str:
    return f"{moment.astype('datetime64[s]')}Z"
