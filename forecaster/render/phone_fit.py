"""A line that fits a phone: parts in order, the least needed dropped first."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence

LONGEST = 160
"""Characters of one short message (3GPP TS 23.040: 160 of 7 bits)."""
CUT = "…"


class Part(NamedTuple):
    """Some words, and how soon they may be left out: 0 never, then the highest."""

    words: str
    spare: int


def fit(parts: Sequence[Part], limit: int = LONGEST) -> str:
    """The parts, joined by spaces, in at most ``limit`` characters.

    Whole parts go first, those of the highest ``spare`` and of these the last; what
    may not be left out is cut between words.
    """
    kept = [part for part in parts if part.words]
    while len(_joined(kept)) > limit:
        spare = max((part.spare for part in kept), default=0)
        if spare == 0:
            break
        last = max(place for place, part in enumerate(kept) if part.spare == spare)
        del kept[last]
    return cut(_joined(kept), limit)


def _joined(parts: Sequence[Part]) -> str:
    return " ".join(part.words for part in parts)


def cut(text: str, limit: int) -> str:
    """At most ``limit`` characters, cut between words where there are any."""
    if len(text) <= limit:
        return text
    head = text[: limit - 1]
    whole, _, _ = head.rpartition(" ")
    return (whole or head).rstrip(" .,;:") + CUT
