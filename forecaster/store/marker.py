"""A note beside the database of how far it had come: an older one was put back."""

from __future__ import annotations

import json
import os
from contextlib import suppress
from typing import TYPE_CHECKING, NamedTuple

from forecaster.store.rows import checksum

if TYPE_CHECKING:
    from pathlib import Path

FILE = "state.mark"


class Mark(NamedTuple):
    """Whose state it is, its last check, and how many transactions it had kept."""

    installation: str
    run: int
    commits: int


def read(folder: Path) -> Mark | None:
    """The note; None where there is none or it cannot be trusted."""
    with suppress(OSError, ValueError, KeyError, TypeError):
        plain = json.loads((folder / FILE).read_text(encoding="utf-8"))
        mark = Mark(
            str(plain["installation"]), int(plain["run"]), int(plain["commits"])
        )
        if plain["sum"] == checksum(FILE, *mark):
            return mark
    return None


def write(folder: Path, mark: Mark) -> None:
    """Leave the note whole; one that cannot be written stops nothing."""
    half = folder / f"{FILE}.half"
    with suppress(OSError):
        text = json.dumps({**mark._asdict(), "sum": checksum(FILE, *mark)})
        half.unlink(missing_ok=True)
        half.touch(mode=0o600)
        with half.open("w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        half.replace(folder / FILE)
