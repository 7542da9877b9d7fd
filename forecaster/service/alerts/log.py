"""One JSON object a line: what a check did, and why it did nothing.

To standard error where that is no terminal, and to a file of bounded size beside the
state. A log that cannot be written stops nothing.
"""

from __future__ import annotations

import json
import sys
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from forecaster import __version__

if TYPE_CHECKING:
    from pathlib import Path

    import numpy as np

LARGEST = 2 * 1024 * 1024
FILES = 5
FILE = "log.jsonl"


class Log:
    """The log of one check."""

    def __init__(self, folder: Path | None, now: np.datetime64) -> None:
        self._path = None if folder is None else folder / FILE
        self._now = now
        self._lines: list[str] = []
        self.run = 0

    def say(self, event: str, level: str = "info", **fields: Any) -> None:
        """Add a line; ``event`` is one of the names in docs/reference/alerts.md."""
        line = {
            "ts": f"{self._now}Z",
            "lvl": level,
            "ev": event,
            "run": self.run,
            "ver": __version__,
            **{key: value for key, value in fields.items() if value not in (None, "")},
        }
        self._lines.append(json.dumps(line, default=str))

    def write(self) -> None:
        """Hand the lines over, to standard error and to the file."""
        lines, self._lines = self._lines, []
        if not lines:
            return
        text = "\n".join(lines) + "\n"
        with suppress(OSError, ValueError):
            if not sys.stderr.isatty():
                sys.stderr.write(text)
        if self._path is not None:
            with suppress(OSError):
                _append(self._path, text)


def _append(path: Path, text: str) -> None:
    if path.exists() and path.stat().st_size > LARGEST:
        for number in range(FILES - 1, 0, -1):
            older = path.with_name(f"{path.name}.{number}")
            newer = path if number == 1 else path.with_name(f"{path.name}.{number - 1}")
            if newer.exists():
                newer.replace(older)
    with path.open("a", encoding="utf-8") as file:
        file.write(text)
