"""Messages at the end of a text file: for a screen in the shed, and for no network."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from forecaster.domain.alerts.letter import Fate, Outcome

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.alerts.letter import Letter

RULE = "-" * 72
_FLAGS = os.O_WRONLY | os.O_APPEND | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0)


class FileChannel:
    """One text file; a message is on the disk when it counts as accepted."""

    def __init__(self, name: str, path: Path) -> None:
        self.name, self._path = name, path

    def send(self, letter: Letter, deadline_s: float) -> Outcome:
        """Add the message; half of one is taken back."""
        del deadline_s  # the system decides how long a disk may take
        text = f"{RULE}\n{letter.text}ref {letter.key}\n"
        try:
            _append(self._path, text.encode("utf-8", "replace"))
        except OSError as error:
            words = error.strerror or type(error).__name__
            return Outcome(Fate.LATER, f"{self._path.name}: {words}")
        return Outcome(Fate.ACCEPTED, receipt=self._path.name)

    def probe(self, deadline_s: float) -> Outcome:
        """Whether the file could be written."""
        del deadline_s
        place = self._path if self._path.exists() else self._path.parent
        if os.access(place, os.W_OK):
            return Outcome(Fate.ACCEPTED)
        return Outcome(Fate.NEVER, f"{self._path.name}: cannot be written")


def _append(path: Path, content: bytes) -> None:
    handle = os.open(path, _FLAGS | getattr(os, "O_BINARY", 0), 0o600)
    try:
        before = os.lseek(handle, 0, os.SEEK_END)
        try:
            rest = memoryview(content)
            while rest:
                rest = rest[os.write(handle, rest) :]
            os.fsync(handle)
        except OSError:
            os.ftruncate(handle, before)
            raise
    finally:
        os.close(handle)
