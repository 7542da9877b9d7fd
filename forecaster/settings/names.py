"""Names people give to farms and paddocks: any script, nothing invisible."""

from __future__ import annotations

import unicodedata

LONGEST_NAME = 80


def name_fault(name: str) -> str | None:
    """What is wrong with a name, or None.

    Control, formatting (bidirectional, zero-width) and line-breaking characters are
    refused; markup and emoji are only text and are welcome.
    """
    if not name.strip():
        return "the name is empty; give it 1 to 80 characters"
    if len(name) > LONGEST_NAME:
        return f"the name has {len(name)} characters; allowed is up to {LONGEST_NAME}"
    for letter in name:
        if unicodedata.category(letter) in {"Cc", "Cf", "Zl", "Zp", "Cs"}:
            if letter == "\u200d":  # joins emoji into one
                continue
            return (
                f"the name holds the invisible character U+{ord(letter):04X}; "
                "type it again without"
            )
    return None


def same_name(name: str) -> str:
    """What two names must share to count as the same."""
    return unicodedata.normalize("NFC", name).casefold().strip()
