"""One line of the log of looks."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from forecaster.domain.growth.look import Look
from forecaster.domain.growth.look_log import LookEntry
from forecaster.domain.withdrawal import Withdrawal
from forecaster.settings.stage_words import CLASSES, class_name
from forecaster.store.line_values import (
    matching,
    moment_in,
    moment_text,
    name_in,
    taken_back_fields,
    taken_back_in,
    text_in,
)
from forecaster.store.sealed_line import UnreadableLine, opened_line, sealed_line

FORMAT = 1
"""Raised when a field changes its meaning or goes."""
MOST_HEADS = 100_000
"""[heads] of one class; nobody counts more."""

_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,63}", re.ASCII)


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
            "moment": moment_text(look.moment),
            "counts": {class_name(each): count for each, count in look.counts},
            "typed": [list(pair) for pair in entry.typed],
            "author": look.author,
            "note": look.note,
            "photo": look.photo,
            "recorded": moment_text(entry.recorded),
        }
    )


def withdrawal_line(withdrawal: Withdrawal) -> bytes:
    """A withdrawal as one line, without its end."""
    return sealed_line(
        {
            "format": FORMAT,
            "kind": "withdrawal",
            "look": withdrawal.entry,
            **taken_back_fields(withdrawal),
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
        id=matching(_ID, fields["id"]),
        paddock=name_in(fields["paddock"]),
        weed=name_in(fields["weed"]),
        moment=moment_in(fields["moment"]),
        counts=tuple(known),
        author=name_in(fields["author"]),
        note=text_in(fields["note"]),
        photo=text_in(fields["photo"]),
    )
    typed = tuple((text_in(word), _count(count)) for word, count in fields["typed"])
    return LookEntry(look, typed, moment_in(fields["recorded"]))


def _withdrawal(fields: dict[str, Any]) -> Withdrawal:
    return Withdrawal(entry=matching(_ID, fields["look"]), **taken_back_in(fields))


def _count(value: Any) -> int:
    if type(value) is not int or not 0 <= value <= MOST_HEADS:
        raise ValueError
    return value
