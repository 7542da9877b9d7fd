"""One line of a log: strict JSON with a checksum of its own."""

from __future__ import annotations

import json
from collections import Counter
from hashlib import sha256
from typing import Any

LONGEST_LINE = 64 * 1024
"""Bytes; a longer line is not ours."""
_SUM = "sum"
_SUM_DIGITS = 16


class UnreadableLine(ValueError):  # noqa: N818 - a line, not a fault of the program
    """What is wrong with a line of a log."""


def sealed_line(fields: dict[str, Any]) -> bytes:
    """The fields as one line, without its end."""
    whole = {**fields, _SUM: _checksum(fields)}
    return json.dumps(whole, ensure_ascii=False, allow_nan=False).encode()


def opened_line(line: bytes) -> dict[str, Any]:
    """The fields a line holds.

    Raises
    ------
    UnreadableLine
        If it is cut, damaged, or its checksum does not fit.
    """
    if len(line) > LONGEST_LINE:
        raise UnreadableLine("it is too long to be one of ours")
    try:
        fields = json.loads(line.decode(), object_pairs_hook=_once)
    except (ValueError, RecursionError):
        raise UnreadableLine("it is cut off or damaged") from None
    if not isinstance(fields, dict):
        raise UnreadableLine("it is cut off or damaged")
    if fields.pop(_SUM, None) != _checksum(fields):
        raise UnreadableLine("its checksum does not fit")
    return fields


def checksum_of(line: bytes) -> str:
    """What names a line that :func:`opened_line` opens: the checksum it holds."""
    return str(json.loads(line.decode())[_SUM])


def _checksum(fields: dict[str, Any]) -> str:
    """Of the values, not of the bytes: an editor may change the line ends."""
    canonical = json.dumps(fields, sort_keys=True, separators=(",", ":"))
    return sha256(canonical.encode()).hexdigest()[:_SUM_DIGITS]


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    if pairs and Counter(key for key, _ in pairs).most_common(1)[0][1] > 1:
        raise ValueError("a key stands twice")
    return dict(pairs)
