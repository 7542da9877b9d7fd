"""What people typed, made safe to stand in a page."""

from __future__ import annotations

import re
from xml.sax.saxutils import escape

_NO_LETTER = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]"
)
"""What neither XML nor HTML allows as a character."""


def letters(text: str) -> str:
    """``text`` with a mark in place of whatever is no character."""
    return _NO_LETTER.sub("\ufffd", text)


def escaped(text: str) -> str:
    """The same as the content of an element."""
    return escape(letters(text))


def plain(said: str) -> str:
    """On one line, with nothing in it that a screen obeys."""
    return "".join(each if each.isprintable() else " " for each in said)
