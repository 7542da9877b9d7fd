"""Clauses of a line for a phone, and a cut between words."""

from __future__ import annotations

from typing import NamedTuple

LONGEST = 160
"""Characters of one short message (3GPP TS 23.040: 160 of 7 bits)."""
CUT = "…"


class Part(NamedTuple):
    """Some words, and how soon they may be left out: 0 never, then the highest."""

    words: str
    spare: int


def cut(text: str, limit: int) -> str:
    """At most ``limit`` characters, cut between words where there are any."""
    if len(text) <= limit:
        return text
    head = text[: limit - 1]
    whole, _, _ = head.rpartition(" ")
    return (whole or head).rstrip(" .,;:") + CUT
