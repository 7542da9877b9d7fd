"""Whether a log of records is what was written: the first line that is not, and why."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from forecaster.store.record_lines import (
    BEFORE,
    DAMAGED,
    FIRST,
    HASH,
    canonical,
    fields_of,
    hash_of,
)
from forecaster.store.sealed_line import UnreadableLine

_SHORT = 12


@dataclass(frozen=True, slots=True)
class Chain:
    """Where a chain stands; ``line`` is 0 where every link holds."""

    entries: int
    last_hash: str
    line: int = 0
    fault: str = ""
    known: tuple[int, ...] = ()
    """Damaged lines that the line after them names as it found them."""
    torn: tuple[str, ...] = ()
    """SHA-256 of damaged lines at the end, not yet named."""


def split_lines(content: bytes) -> list[bytes]:
    """Lines without their ends, not otherwise touched."""
    lines = content.split(b"\n")
    return lines[:-1] if lines[-1] == b"" else lines


def chain_of(content: bytes) -> Chain:
    """Follow the chain from the first line; stops at the first broken link."""
    before, entries = FIRST, 0
    known: list[int] = []
    torn: list[tuple[int, str]] = []
    for number, line in enumerate(split_lines(content), 1):
        try:
            fields = fields_of(line)
        except UnreadableLine:
            torn.append((number, sha256(line).hexdigest()))
            continue
        if fields.get(DAMAGED, []) != [each for _, each in torn]:
            where = torn[0][0] if torn else number
            told = "cannot be read, and the next line does not name it"
            fault = told if torn else "names a damaged line that is not there"
            return Chain(entries, before, where, fault, tuple(known))
        fault = _fault(fields, line, before)
        if fault:
            return Chain(entries, before, number, fault, tuple(known))
        known += [each for each, _ in torn]
        torn = []
        before, entries = str(fields[HASH]), entries + 1
    if torn:
        fault = "cannot be read: it is cut off, or damaged"
        hashes = tuple(each for _, each in torn)
        return Chain(entries, before, torn[0][0], fault, tuple(known), hashes)
    return Chain(entries, before, known=tuple(known))


def _fault(fields: dict[str, Any], line: bytes, before: str) -> str:
    """What differs in a line that can be read; empty if nothing does."""
    said, counted = str(fields.get(HASH)), hash_of(fields)
    if said != counted:
        return (
            f"was changed: it says its hash is {said[:_SHORT]}…, what it holds gives "
            f"{counted[:_SHORT]}…"
        )
    if canonical(fields) != line:
        return "holds the same values, but its bytes were changed"
    if fields.get(BEFORE) != before:
        return (
            f"follows on {str(fields.get(BEFORE))[:_SHORT]}…, but the line before it "
            f"is {before[:_SHORT]}…: one was taken out, put in or moved"
        )
    return ""
