"""JSON as a weather service must write it; anything looser is refused.

Python's own reader takes NaN, repeated keys (the last one wins) and any depth; each
of these has let half an answer pass for a whole one.
"""

from __future__ import annotations

import json
from collections import Counter
from typing import Any, NoReturn

import numpy as np

from forecaster.errors import RefusedError, UnusableError

LARGEST = 16 * 2**20
"""Bytes. Assumed: the largest answer we ask for has about 2 MB."""
DEEPEST = 64
"""Brackets open at once. Assumed: the deepest format we read has 8."""
LONGEST_QUOTE = 200
"""Characters of a service's own words that a message repeats."""

_NOT_BRACKETS = bytes(set(range(256)) - set(b"[]{}"))
_BOM = b"\xef\xbb\xbf"


def decode(body: bytes, service: str) -> dict[str, Any]:
    """The one object an answer holds.

    Raises
    ------
    UnusableError
        If it is empty, too large, cut off, a web page, or not strict JSON.
    RefusedError
        If it is an error document ``{"error": true, "reason": …}``.
    """
    if len(body) > LARGEST:
        raise UnusableError(
            f"{service}: the answer has {len(body):,} bytes; at most {LARGEST:,} "
            "are read"
        )
    if _depth(body) > DEEPEST:
        raise UnusableError(f"{service}: the answer nests deeper than {DEEPEST}")
    document = _loads(_text(body, service), service)
    if not isinstance(document, dict):
        kind = "null" if document is None else type(document).__name__
        raise UnusableError(f"{service}: the answer is one {kind}, not one object")
    if document.get("error", False) is not False:
        reason = quoted(str(document.get("reason", "no reason given")))
        raise RefusedError(f"{service} refused the request: {reason}")
    return document


def quoted(text: str) -> str:
    """Somebody else's words, cut short and without control characters."""
    return "".join(
        each if each.isprintable() else " " for each in text[:LONGEST_QUOTE].strip()
    )


def _text(body: bytes, service: str) -> str:
    try:
        text = body.removeprefix(_BOM).decode("utf-8").strip()
    except UnicodeDecodeError as error:
        raise UnusableError(
            f"{service}: the answer is not UTF-8 (byte {error.start})"
        ) from None
    if not text:
        raise UnusableError(f"{service}: the answer is empty")
    if text.startswith("<"):
        raise UnusableError(
            f"{service}: the answer is a web page, not data; it looks like a login "
            f"or error page: {quoted(text)}"
        )
    return text


def _loads(text: str, service: str) -> object:
    try:
        return json.loads(
            text, object_pairs_hook=_once, parse_constant=_refuse_constant
        )
    except json.JSONDecodeError as error:
        raise UnusableError(
            f"{service}: the answer is cut off or broken at character {error.pos} of "
            f"{len(text)} ({error.msg}); it ends in: {quoted(text[-80:])}"
        ) from None
    except ValueError as error:
        raise UnusableError(
            f"{service}: the answer is not strict JSON: {quoted(str(error))}"
        ) from None


def _depth(body: bytes) -> int:
    """Most brackets open at once; those inside texts count, which does no harm."""
    brackets = np.frombuffer(body.translate(None, _NOT_BRACKETS), np.uint8)
    opening = (brackets == ord("[")) | (brackets == ord("{"))
    step = np.where(opening, 1, -1).astype(np.int8)
    return int(step.cumsum(dtype=np.int32).max(initial=0))


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        counts = Counter(key for key, _ in pairs)
        (twice, _), *_ = counts.most_common(1)
        raise ValueError(f"the key {twice!r} stands twice in one object")
    return found


def _refuse_constant(token: str) -> NoReturn:
    raise ValueError(f"{token} is not a JSON number")
