"""One line of the log of records: canonical JSON that names the line before it.

Canonical here means: keys sorted, no spaces, UTF-8, no NaN. The hash of a line is the
SHA-256 of its canonical JSON without the key ``hash``; ``before`` is the hash of the
sound line before it, or :data:`FIRST`.
"""

from __future__ import annotations

import json
import re
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from forecaster.domain.record.log import Entry, Taken
from forecaster.store.line_values import (
    matching,
    moment_in,
    moment_text,
    name_in,
    text_in,
)
from forecaster.store.record_parts import (
    around_of,
    around_tree,
    job_of,
    job_tree,
)
from forecaster.store.sealed_line import UnreadableLine

if TYPE_CHECKING:
    from collections.abc import Sequence

FORMAT = 1
"""Raised when a field changes its meaning or goes."""
LONGEST_LINE = 256 * 1024
"""Bytes; a longer line is not ours."""
FIRST = "0" * 64
"""What the first line names as the one before it."""
HASH = "hash"
BEFORE = "before"
DAMAGED = "damaged"
_HASH = re.compile(r"[0-9a-f]{64}", re.ASCII)


class Foreign:
    """A sound line of a kind or format this version does not know."""


def canonical(fields: dict[str, Any]) -> bytes:
    """The bytes a hash is taken over."""
    return json.dumps(
        fields,
        sort_keys=True,
        separators=(",", ":"),
        ensure_ascii=False,
        allow_nan=False,
    ).encode()


def hash_of(fields: dict[str, Any]) -> str:
    """SHA-256 of all but the hash itself, in hex."""
    rest = {key: value for key, value in fields.items() if key != HASH}
    return sha256(canonical(rest)).hexdigest()


def sealed(
    fields: dict[str, Any], number: int, before: str, damaged: Sequence[str]
) -> tuple[bytes, str]:
    """A line without its end, and its hash."""
    whole = {**fields, "format": FORMAT, "number": number, BEFORE: before}
    if damaged:
        whole[DAMAGED] = list(damaged)
    whole[HASH] = hash_of(whole)
    return canonical(whole), whole[HASH]


def entry_fields(entry: Entry) -> dict[str, Any]:
    """A record or correction, but for its place in the chain."""
    return {
        "kind": "correction" if entry.corrects else "record",
        "job": job_tree(entry.job),
        "around": around_tree(entry.around),
        "author": entry.author,
        "recorded": moment_text(entry.recorded),
        "corrects": entry.corrects,
        "because": entry.because,
        **({"farm": entry.farm} if entry.farm else {}),
    }


def taken_fields(taken: Taken) -> dict[str, Any]:
    """A withdrawal, but for its place in the chain."""
    return {
        "kind": "withdrawal",
        "withdraws": taken.withdraws,
        "author": taken.author,
        "because": taken.because,
        "recorded": moment_text(taken.recorded),
    }


def fields_of(line: bytes) -> dict[str, Any]:
    """The values of a line, not yet held against its hash.

    Raises
    ------
    UnreadableLine
        If it is cut off, or no JSON object.
    """
    if len(line) > LONGEST_LINE:
        raise UnreadableLine("it is too long to be one of ours")
    try:
        fields = json.loads(line.decode())
        if not isinstance(fields, dict):
            raise UnreadableLine("it is cut off or damaged")
        canonical(fields)
    except (ValueError, RecursionError):
        raise UnreadableLine("it is cut off or damaged") from None
    return fields


def read_line(line: bytes) -> Entry | Taken | Foreign:
    """What a line holds.

    Raises
    ------
    UnreadableLine
        If it is cut, changed, or not such a line.
    """
    fields = fields_of(line)
    if fields.get(HASH) != hash_of(fields):
        raise UnreadableLine("its hash does not fit what it holds: it was changed")
    kind = fields.get("kind")
    if fields.get("format") != FORMAT or kind not in {
        "record",
        "correction",
        "withdrawal",
    }:
        return Foreign()
    try:
        return _taken(fields) if kind == "withdrawal" else _entry(fields)
    except (KeyError, TypeError, ValueError, AttributeError):
        raise UnreadableLine("it holds what no record holds") from None


def _entry(fields: dict[str, Any]) -> Entry:
    corrects = fields["corrects"]
    return Entry(
        number=_number(fields["number"]),
        hash=fields[HASH],
        job=job_of(fields["job"]),
        author=name_in(fields["author"]),
        recorded=moment_in(fields["recorded"]),
        around=around_of(fields["around"]),
        corrects=matching(_HASH, corrects) if corrects else "",
        because=text_in(fields["because"]),
        farm=name_in(fields["farm"]) if "farm" in fields else "",
    )


def _taken(fields: dict[str, Any]) -> Taken:
    return Taken(
        number=_number(fields["number"]),
        hash=fields[HASH],
        withdraws=matching(_HASH, fields["withdraws"]),
        author=name_in(fields["author"]),
        because=text_in(fields["because"]),
        recorded=moment_in(fields["recorded"]),
    )


def _number(value: Any) -> int:
    if type(value) is not int or value < 1:
        raise ValueError
    return value
