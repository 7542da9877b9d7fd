"""One line that fits one short message, whatever script a paddock's name is in.

A message holds 140 octets: 160 characters of the GSM 7-bit default alphabet, or 70 of
UCS-2 as soon as one character is not in it (3GPP TS 23.038, 6.1.2.1 and 6.2.3; the
alphabet is its table 6.2.1, from memory). Characters of the extension table take two
places of the 160, those beyond the basic plane two of the 70.
"""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING

from forecaster.render.phone_fit import CUT, Part

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

GSM_PLACES = 160
UCS2_PLACES = 70
BASIC = frozenset(
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
EXTENSION = frozenset("\f^{}\\[~]|€")
CHECK = "Check at the site."
GOOD = "good"
JOINER = "\u200d"
"""Holds emoji together; of what cannot be seen, the only one kept."""


def places(text: str) -> tuple[int, int]:
    """Places that ``text`` takes in a message, and places that there are."""
    if all(letter in BASIC or letter in EXTENSION for letter in text):
        return sum(1 + (letter in EXTENSION) for letter in text), GSM_PLACES
    return len(text.encode("utf-16-le")) // 2, UCS2_PLACES


def fits(text: str) -> bool:
    """Whether ``text`` is one message."""
    taken, there = places(text)
    return taken <= there


def phone_line(name: str, parts: Sequence[Part], *, hours: bool = False) -> str:
    """``name: parts`` in one message.

    Parts go out whole, those of the highest ``spare`` first and of these the last;
    what may not go (``spare`` 0) stays, and then the name is shortened, between words
    where it has any. A line that tells hours, or says *good*, ends with
    :data:`CHECK`, which never goes.

    Parameters
    ----------
    name : str
        Of the paddock or farm; control characters become spaces.
    parts : sequence of Part
        Clauses in order, each with its full stop, or a comma that leads to the next.
        Those of ``spare`` 0 should take at most 45 places together, or a name in
        another script is left no room.
    hours : bool
        Whether the parts name hours to spray in.

    Raises
    ------
    ValueError
        If the parts that must stay leave no room for one letter of the name.
    """
    kept = [part for part in parts if part.words]
    if hours or any(GOOD in part.words.casefold() for part in kept):
        kept.append(Part(CHECK, 0))
    shown = _one_line(name)
    while not fits(_line(shown, kept)):
        spare = max((part.spare for part in kept), default=0)
        if spare == 0:
            return _with_short_name(shown, kept)
        _drop(kept, max(i for i, part in enumerate(kept) if part.spare == spare))
    return _line(shown, kept)


def _drop(kept: list[Part], place: int) -> None:
    """Take a part out; a comma that led to it becomes a full stop."""
    del kept[place]
    before = kept[place - 1] if place else None
    if before is not None and before.words.endswith(","):
        kept[place - 1] = Part(f"{before.words[:-1]}.", before.spare)


def _with_short_name(name: str, kept: Sequence[Part]) -> str:
    for short in shorter(name):
        line = _line(short, kept)
        if fits(line):
            return line
    raise ValueError(f"too long for a phone: {_line('', kept)!r}")


def _line(name: str, kept: Sequence[Part]) -> str:
    said = " ".join(part.words for part in kept)
    return f"{name}: {said}" if said else name


def _one_line(text: str) -> str:
    shown = "".join(" " if _hidden(letter) else letter for letter in text)
    return " ".join(shown.split())


def _hidden(letter: str) -> bool:
    return letter != JOINER and not (letter.isprintable() or letter.isspace())


def shorter(name: str) -> Iterator[str]:
    """The name with an ellipsis, ever shorter; between words, then between letters.

    The ellipsis is three full stops where a "…" alone would make it UCS-2.
    """
    words = name.split(" ")
    for count in range(len(words) - 1, 0, -1):
        yield _dotted(" ".join(words[:count]))
    first = words[0]
    for end in range(len(first) - 1, 0, -1):
        if _starts_letter(first, end):
            yield _dotted(first[:end])


def _dotted(start: str) -> str:
    _, there = places(start)
    return f"{start.rstrip(' .,;:')}{'...' if there == GSM_PLACES else CUT}"


def _starts_letter(text: str, place: int) -> bool:
    """Whether a cut before ``place`` parts no mark or joined emoji from its letter."""
    joined = {text[place], text[place - 1]} & {JOINER, "\ufe0f"}
    return not joined and not unicodedata.category(text[place]).startswith("M")
