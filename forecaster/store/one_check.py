"""One check at a time: the state belongs to whoever holds the lock.

The system lets go of the lock when its holder dies, so nothing has to be cleaned up.
"""

from __future__ import annotations

from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

import numpy as np
from filelock import FileLock, Timeout

from forecaster.errors import BusyError, StateError
from forecaster.store.database import make_folder

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

LOCK, HOLDER = "lock", "lock.since"


@contextmanager
def alone(folder: Path, now: np.datetime64, wait_s: float = 0.0) -> Iterator[None]:
    """Hold the state of a farm.

    Raises
    ------
    BusyError
        If another check holds it; ``since`` is when that one began, where known.
    StateError
        If the folder cannot be written.
    """
    make_folder(folder)
    lock = FileLock(folder / LOCK, mode=0o600)
    why = ""
    try:
        lock.acquire(timeout=wait_s)
    except Timeout:
        raise _busy(folder) from None
    except (OSError, NotImplementedError) as error:
        why = getattr(error, "strerror", None) or type(error).__name__
    if why:
        raise StateError(f"{folder}: no lock can be made in it ({why}); make room")
    try:
        with suppress(OSError):
            (folder / HOLDER).write_text(str(now.astype("datetime64[s]")))
        yield
    finally:
        lock.release()


def _busy(folder: Path) -> BusyError:
    error = BusyError(f"{folder}: another check is running")
    error.since = held_since(folder)
    return error


def held_since(folder: Path) -> np.datetime64 | None:
    """When the check that holds the state began, as it wrote down itself."""
    with suppress(OSError, ValueError):
        return np.datetime64((folder / HOLDER).read_text().strip(), "s")
    return None
