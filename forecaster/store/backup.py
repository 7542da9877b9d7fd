"""Copies of the state, made through SQLite's own backup, one a day."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, suppress
from typing import TYPE_CHECKING

from forecaster.store.database import look_through
from forecaster.store.settling import settle
from forecaster.store.soundness import verify
from forecaster.store.tables import COLUMNS

if TYPE_CHECKING:
    from pathlib import Path

    import numpy as np

FOLDER = "backups"
KEPT = 7
"""Days; of older ones the first of each month is kept."""


def day_of(now: np.datetime64) -> str:
    """``20261012``."""
    return str(now.astype("datetime64[D]")).replace("-", "")


def of(folder: Path) -> list[Path]:
    """Backups, the newest first."""
    found = (folder / FOLDER).glob("state-????????.sqlite")
    return sorted((path for path in found if not path.is_symlink()), reverse=True)


def due(folder: Path, now: np.datetime64) -> bool:
    """Whether today has none yet."""
    return not (folder / FOLDER / f"state-{day_of(now)}.sqlite").exists()


def make(db: sqlite3.Connection, folder: Path, now: np.datetime64) -> Path:
    """Copy the state and look through all of the copy.

    Half a copy never has the name of a whole one.

    Raises
    ------
    DamagedError
        If a row is not as it was written.
    sqlite3.Error, OSError
        If it cannot be written.
    """
    store = folder / FOLDER
    store.mkdir(mode=0o700, exist_ok=True)
    target = store / f"state-{day_of(now)}.sqlite"
    half = target.with_suffix(".half")
    with suppress(OSError):
        half.unlink(missing_ok=True)
    half.touch(mode=0o600)
    with closing(sqlite3.connect(half)) as copy:
        db.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE")
        look_through(copy)
        verify(copy, COLUMNS)
    with half.open("rb+") as file:
        os.fsync(file.fileno())
    half.replace(target)
    settle(store)
    _thin_out(folder)
    return target


def _thin_out(folder: Path) -> None:
    months: dict[str, Path] = {}
    for path in of(folder):
        months[path.stem[6:12]] = path  # the oldest of a month comes last
    for path in of(folder)[KEPT:]:
        if path != months[path.stem[6:12]]:
            with suppress(OSError):
                path.unlink()
