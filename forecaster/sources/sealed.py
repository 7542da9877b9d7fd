"""A body under a checksum: kind, form and SHA-256 of the rest, JSON, body."""

from __future__ import annotations

import json
import re
from hashlib import sha256
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

_FIRST = re.compile(rb"forecaster ([a-z-]{1,40}) ([0-9]{1,6}) ([0-9a-f]{64})")


def seal(kind: str, schema: int, head: Mapping[str, object], body: bytes) -> bytes:
    """Two lines and the body as it came; the first line vouches for all that follows.

    ``length`` of the body is added to ``head``.
    """
    whole = {**head, "length": len(body)}
    rest = json.dumps(whole, sort_keys=True).encode() + b"\n" + body
    return f"forecaster {kind} {schema} {sha256(rest).hexdigest()}\n".encode() + rest


def unseal(kind: str, schema: int, content: bytes) -> tuple[dict[str, Any], bytes]:
    """Head and body of what :func:`seal` made.

    Raises
    ------
    ValueError
        If it is another's, of another form, cut off or changed; says which.
    """
    first, _, rest = content.partition(b"\n")
    found = _FIRST.fullmatch(first)
    if not found or found[1] != kind.encode():
        raise ValueError("was not written by this program, or its beginning is lost")
    if int(found[2]) != schema:
        raise ValueError("was written by another version of this program")
    if sha256(rest).hexdigest().encode() != found[3]:
        raise ValueError("is damaged: its checksum does not fit")
    line, _, body = rest.partition(b"\n")
    head = json.loads(line)
    if not isinstance(head, dict):
        raise ValueError("holds another source, or does not say which")
    if head.get("length") != len(body):
        raise ValueError("has a body of another length than it says")
    return head, body
