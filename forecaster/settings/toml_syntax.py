"""What to say of a file that is not TOML, to someone who has never heard of TOML."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from forecaster.errors import Fault
from forecaster.settings import toml_positions
from forecaster.settings.names import plain

if TYPE_CHECKING:
    from pathlib import Path

_HINTS: tuple[tuple[str, str], ...] = (
    ("\u2212", "found the long minus sign U+2212; type a plain hyphen -"),
    ("[“”‘’]", 'found curly quotes; type straight ones: "Home"'),
    (r"=\s*(True|False|TRUE|FALSE|yes|no)\b", "write true or false, in small letters"),
    (r"=\s*[A-Za-z]", 'words need quotes: name = "Home"'),
    (r'^[^"]*"[^"]*$', 'the closing " is missing'),
    (r"=\s*\d{1,2}[/.]\d{1,2}[/.]\d{2,4}", "write a date year first: 2026-09-01"),
    (r"=\s*-?\d+,\d", "write a decimal point: 34.5"),
    (r"=\s*-?[\d.]+\s*[A-Za-z%°]", "write the number alone, without its unit"),
)
"""What a line looks like, and what its writer should do; the first that fits."""


def syntax_fault(path: Path, text: str, error: Exception) -> Fault:
    """Where the parser stopped, what stands there and what to write instead."""
    message = str(error)
    place = re.search(r"\(at line (\d+), column (\d+)\)$", message)
    line, column = (int(place[1]), int(place[2])) if place else (0, 0)
    if place:
        message = message[: place.start()].strip()
    elif message.endswith("(at end of document)"):
        line = text.count("\n") + 1
        column = 1
    if "string conversion" in message:
        message = "a number has thousands of digits"
    return Fault(str(path), line, column, f"not TOML: {message}{_hint(text, line)}")


def _hint(text: str, line: int) -> str:
    lines = text.split("\n")
    found = lines[line - 1].strip() if line else ""
    if not found:
        return ""
    shown = f"; found {plain(found)}"
    first = _first_place(lines, line)
    if first:
        return f"{shown}; it stands on line {first[0]} already; remove one"
    for pattern, hint in _HINTS:
        if re.search(pattern, found):
            return f"{shown}; {hint}"
    return shown


def _first_place(lines: list[str], line: int) -> toml_positions.Position | None:
    """Where a key or table of ``line`` stood before; all until there is sound."""
    return toml_positions.repeated("\n".join(lines[:line]))
