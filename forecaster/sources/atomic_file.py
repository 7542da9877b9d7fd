"""A file that is whole or not there, whatever happens while it is written."""

from __future__ import annotations

import os
import re
import tempfile
import time
from contextlib import suppress
from hashlib import sha256
from pathlib import Path

TRIES = 5
"""Times a replacement is tried where another process holds the file open."""
PAUSE_S = 0.05


def write_whole(path: Path, content: bytes) -> None:
    """Put a new file in the place of ``path``, or leave the old one as it is.

    The file is readable by its owner only.

    Raises
    ------
    OSError
        If the disk is full or cannot be written.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        replace(part, path)
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)


def replace(part: Path, path: Path) -> None:
    """Rename over ``path``; Windows refuses while somebody reads it, so try again.

    Raises
    ------
    OSError
        If it cannot be done.
    """
    for _ in range(TRIES - 1):
        try:
            part.replace(path)
        except PermissionError:
            time.sleep(PAUSE_S)
        else:
            return
    part.replace(path)


def safe_name(*words: str) -> str:
    """A file name any system takes: legible, then 16 hexadecimal digits of a digest.

    Words that differ in any way give names that differ (bar 1 in 2⁶⁴).
    """
    legible = "-".join(re.sub(r"[^a-z0-9]+", "-", word.lower())[:40] for word in words)
    digest = sha256("\0".join(words).encode("utf-8", "surrogatepass")).hexdigest()
    return f"w-{legible.strip('-')}-{digest[:16]}"
