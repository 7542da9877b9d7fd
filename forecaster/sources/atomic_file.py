"""A file that is whole or not there, whatever happens while it is written."""

from __future__ import annotations

import os
import re
import tempfile
import time
from contextlib import contextmanager, suppress
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

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
    with _written(path, content) as part:
        replace(part, path)


def write_new(path: Path, content: bytes) -> bool:
    """Put a new file at ``path``; False, and nothing is done, if there is one already.

    The file is whole or not there, and is readable by its owner only.

    Raises
    ------
    OSError
        If the disk is full or cannot be written.
    """
    if path.is_symlink() or path.exists():
        return False
    with _written(path, content) as part:
        try:
            path.hardlink_to(part)
        except FileExistsError:
            return False
        except (OSError, NotImplementedError):  # a disk that knows no second names
            replace(part, path)
    return True


@contextmanager
def _written(path: Path, content: bytes) -> Iterator[Path]:
    """A neighbour of ``path`` that holds ``content``, on the disk; gone afterwards."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        yield part
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
