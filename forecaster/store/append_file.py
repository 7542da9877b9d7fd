"""A text file that only ever grows, one whole line at a time.

A line is added by one write under a lock and is on the disk before the lock is let
go. A run that is killed leaves at most one torn line at the end; the next one begins
a line of its own.
"""

from __future__ import annotations

import os
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

from filelock import FileLock, Timeout

from forecaster.errors import OutputError
from forecaster.store.settling import settle

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

LOCK_S = 10.0
"""[s] for which another run may hold the file."""
_END = b"\n"
_FLAGS = os.O_RDWR | os.O_APPEND | os.O_CREAT | getattr(os, "O_BINARY", 0)
_MODE = 0o666
"""As any new file; the system's mask takes away what it does not allow."""


@contextmanager
def alone(path: Path, wait: float = LOCK_S) -> Iterator[None]:
    """Hold ``path`` against every other run that adds to it.

    Raises
    ------
    OutputError
        If the folder cannot be written, or another run holds on for too long.
    """
    lock = FileLock(path.with_name(f".{path.name}.lock"))
    why = ""
    try:
        lock.acquire(timeout=wait)
    except Timeout:
        why = "another run is writing to it; try again in a moment"
    except (OSError, NotImplementedError) as error:
        why = f"no lock file can be made beside it ({_short(error)})"
    if why:
        raise OutputError(f"{path}: cannot be written: {why}; nothing was changed")
    try:
        yield
    finally:
        lock.release()


def append(path: Path, lines: list[bytes]) -> None:
    """Add whole lines at the end; hold :func:`alone` meanwhile.

    Raises
    ------
    OutputError
        If they cannot be written whole. The file is then as it was.
    """
    if path.exists() and not path.is_file():
        raise OutputError(f"{path}: cannot be written: it is not a plain file")
    fresh = not path.exists()
    why = ""
    try:
        _add(path, b"".join(line + _END for line in lines))
        if fresh:
            settle(path.parent)
    except OSError as error:
        why = _short(error)
        if fresh:
            with suppress(OSError):
                path.unlink(missing_ok=True)
    if why:
        raise OutputError(
            f"{path}: cannot be written ({why}); nothing was changed. Make room or "
            "choose another folder, then try again"
        )


def _add(path: Path, content: bytes) -> None:
    """Write at the end, or leave the length as it was."""
    handle = os.open(path, _FLAGS, _MODE)
    try:
        before = os.lseek(handle, 0, os.SEEK_END)
        try:
            _write(handle, (_END if _torn(handle, before) else b"") + content)
            os.fsync(handle)
        except BaseException:  # also when somebody presses Ctrl-C meanwhile
            with suppress(OSError):
                os.ftruncate(handle, before)
            raise
    finally:
        os.close(handle)


def _torn(handle: int, length: int) -> bool:
    """Whether the last line has no end."""
    if not length:
        return False
    os.lseek(handle, length - 1, os.SEEK_SET)
    return os.read(handle, 1) != _END


def _write(handle: int, content: bytes) -> None:
    """All of it; a disk that is nearly full takes a part and then refuses."""
    rest = memoryview(content)
    while rest:
        rest = rest[os.write(handle, rest) :]


def _short(error: BaseException) -> str:
    return getattr(error, "strerror", None) or type(error).__name__
