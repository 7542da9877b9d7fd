"""One line of the log of looks: strict JSON with a checksum of its own."""

from __future__ import annotations

import json
import re
from collections import Counter
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

import numpy as np

from forecaster.domain.growth.look import Look
from forecaster.domain.growth.look_log import LookEntry, Withdrawal
from forecaster.settings.names import name_fault, text_fault
from forecaster.settings.stage_words import CLASSES, class_name

FORMAT = 1
"""Raised when a field changes its meaning or goes."""
LONGEST_LINE = 64 * 1024
"""Bytes; a longer line is not ours."""
MOST_HEADS = 100_000
"""[heads] of one class; nobody counts more."""

_SUM = "sum"
_SUM_DIGITS = 16
_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,63}", re.ASCII)
_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", re.ASCII)


class UnreadableLine(ValueError):  # noqa: N818 - a line, not a fault of the program
    """What is wrong with a line of the log."""


@dataclass(frozen=True, slots=True)
class Unknown:
    """A sound line of a kind or format this version does not know."""


def look_line(entry: LookEntry) -> bytes:
    """A look as one line, without its end."""
    look = entry.look
    return _line(
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
    return _line(
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
    fields = _fields(line)
    said = fields.pop(_SUM, None)
    if said != _checksum(fields):
        raise UnreadableLine("its checksum does not fit")
    kind = fields.pop("kind", None)
    if fields.pop("format", None) != FORMAT or kind not in {"look", "withdrawal"}:
        return Unknown()
    try:
        return _look(fields) if kind == "look" else _withdrawal(fields)
    except (KeyError, TypeError, ValueError, AttributeError):
        raise UnreadableLine("it holds what no look holds") from None


def _line(fields: dict[str, Any]) -> bytes:
    whole = {**fields, _SUM: _checksum(fields)}
    return json.dumps(whole, ensure_ascii=False, allow_nan=False).encode()


def _checksum(fields: dict[str, Any]) -> str:
    """Of the values, not of the bytes: an editor may change the line ends."""
    canonical = json.dumps(fields, sort_keys=True, separators=(",", ":"))
    return sha256(canonical.encode()).hexdigest()[:_SUM_DIGITS]


def _fields(line: bytes) -> dict[str, Any]:
    if len(line) > LONGEST_LINE:
        raise UnreadableLine("it is too long to be one of ours")
    try:
        fields = json.loads(line.decode(), object_pairs_hook=_once)
    except (ValueError, RecursionError):
        raise UnreadableLine("it is cut off or damaged") from None
    if not isinstance(fields, dict):
        raise UnreadableLine("it is cut off or damaged")
    return fields


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    if pairs and Counter(key for key, _ in pairs).most_common(1)[0][1] > 1:
        raise ValueError("a key stands twice")
    return dict(pairs)


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
