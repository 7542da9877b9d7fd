"""A note beside the database of how far it had come: an older one was put back."""

from __future__ import annotations

import json
import os
from contextlib import suppress
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from pathlib import Path

FILE = "state.mark"


class Mark(NamedTuple):
    """Whose state it is, and its last check."""

    installation: str
    run: int


def read(folder: Path) -> Mark | None:
    """The note; None where there is none or it cannot be read."""
    with suppress(OSError, ValueError, KeyError, TypeError):
        plain = json.loads((folder / FILE).read_text(encoding="utf-8"))
        return Mark(str(plain["installation"]), int(plain["run"]))
    return None


def write(folder: Path, mark: Mark) -> None:
    """Leave the note whole; one that cannot be written stops nothing."""
    half = folder / f"{FILE}.half"
    with suppress(OSError):
        text = json.dumps(mark._asdict())
        with half.open("w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        half.replace(folder / FILE)
