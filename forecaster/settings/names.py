"""Words people type: any script, nothing invisible; and how to show them safely."""

from __future__ import annotations

import difflib
import unicodedata
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

LONGEST_NAME = 80
_INVISIBLE = {"Cc", "Cf", "Zl", "Zp", "Cs"}
"""Unicode categories: control, formatting, line and paragraph ends, surrogates."""
_BLANK = frozenset("\u034f\u115f\u1160\u17b4\u17b5\u2800\u3164\uffa0")
"""Letters and marks that print as nothing (Unicode: default ignorable, and the
empty Braille cell)."""
_JOINER = "\u200d"


def name_fault(name: str) -> str | None:
    """What is wrong with a name, or None.

    Control, formatting (bidirectional, zero-width) and line-breaking characters are
    refused; markup and emoji are only text and are welcome.
    """
    if not name.strip():
        return f"the name is empty; give it 1 to {LONGEST_NAME} characters"
    if len(name) > LONGEST_NAME:
        return f"the name has {len(name)} characters; allowed is up to {LONGEST_NAME}"
    return text_fault(name)


def text_fault(text: str) -> str | None:
    """What must not stand in a line of free text, or None."""
    for number, letter in enumerate(text):
        hidden = letter in _BLANK or unicodedata.category(letter) in _INVISIBLE
        if hidden and not _joins(text, number):
            return (
                f"it holds the invisible character U+{ord(letter):04X}; type it again "
                "without"
            )
    return None


def _joins(text: str, number: int) -> bool:
    """Whether a zero-width joiner joins emoji, or follows a mark of an Indic script.

    Anywhere else it only makes two names look alike.
    """
    if text[number] != _JOINER or not 0 < number < len(text) - 1:
        return False
    return unicodedata.category(text[number - 1]) in {"So", "Sk", "Mn"}


def same_name(name: str) -> str:
    """What two names must share to count as the same.

    Canonical caseless matching (Unicode Standard, section 3.13, D145); folding leaves
    decomposed text decomposed, so one normalization will do.
    """
    return unicodedata.normalize("NFD", name).casefold().strip()


def plain(text: str, limit: int = 60) -> str:
    """``text`` in quotes for a message: cut, and nothing in it that a screen obeys."""
    cut = text if len(text) <= limit else f"{text[: limit - 1]}…"
    shown = "".join(
        letter if letter.isprintable() else f"\\u{ord(letter):04x}" for letter in cut
    )
    return f'"{shown}"'


def unknown(kind: str, name: str, known: Iterable[str]) -> str:
    """What is said of a name that stands for nothing, with the nearest ones."""
    names = sorted(known)
    close = difflib.get_close_matches(name, names, n=2)
    hint = (
        f"did you mean {' or '.join(close)}?" if close else f"known: {', '.join(names)}"
    )
    return f"unknown {kind} {name!r}; {hint}"
