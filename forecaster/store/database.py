"""One SQLite file: how it is opened, checked, set aside and brought back."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from forecaster.errors import NewerStateError, StateError
from forecaster.store.migrations import APPLICATION, NEWEST, migrate

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    import numpy as np

FILE = "state.sqlite"
BUSY_S = 10.0
_SIDES = ("", "-wal", "-shm")


@dataclass(frozen=True, slots=True)
class Opened:
    """What was found when the state was opened."""

    lost: bool = False
    """It was there once and is gone, or could not be read."""
    restored: bool = False
    """It is older than it was: it came out of a backup."""
    words: str = ""
    checked: bool = True
    """Whether all of it was looked through."""


@contextmanager
def ours(path: Path) -> Iterator[None]:
    """Turn what SQLite and the system raise into one clear error."""
    why = ""
    try:
        yield
    except (sqlite3.Error, UnicodeError) as error:
        why = str(error)
    except OSError as error:
        why = error.strerror or type(error).__name__
    if why:
        raise StateError(
            f"{path}: what is kept cannot be read or written ({why}); nothing was "
            "sent on the strength of it. Make room, check the disk and its "
            "permissions, then run the check again"
        )


def make_folder(folder: Path) -> None:
    """The folder of the state, open to its owner only.

    Raises
    ------
    StateError
        If it cannot be made, or is a link to elsewhere.
    """
    with ours(folder):
        if folder.is_symlink():
            raise StateError(
                f"{folder}: is a link to another place; state is kept in a folder of "
                "its own. Remove the link"
            )
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)


def connect(path: Path) -> sqlite3.Connection:
    """An open connection; every commit is on the disk when it returns."""
    if path.is_symlink():
        raise StateError(f"{path}: is a link to another place; remove it")
    fresh = not path.exists()
    if fresh:
        path.touch(mode=0o600)
    db = sqlite3.connect(path, timeout=BUSY_S, isolation_level=None)
    db.execute("PRAGMA journal_mode = WAL")
    db.execute("PRAGMA synchronous = FULL")
    db.execute("PRAGMA foreign_keys = ON")
    return db


def whose(path: Path) -> None:
    """Refuse a database of another program, or of a newer one of ours.

    Raises
    ------
    NewerStateError
        Nothing was changed then.
    sqlite3.Error
        If it is no database.
    """
    if not path.exists() or path.stat().st_size == 0:
        return
    with closing(sqlite3.connect(path, timeout=BUSY_S)) as db:
        recognise(db, path)


def recognise(db: sqlite3.Connection, path: Path) -> int:
    """The schema of an open database of ours.

    Raises
    ------
    NewerStateError
        If another program wrote it, or a newer one of ours.
    sqlite3.Error
        If it is no database.
    """
    application = int(db.execute("PRAGMA application_id").fetchone()[0])
    version = int(db.execute("PRAGMA user_version").fetchone()[0])
    tables = db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    if tables and application != APPLICATION:
        raise NewerStateError(
            f"{path}: is a database of another program; move it elsewhere"
        )
    if version > NEWEST:
        raise NewerStateError(
            f"{path}: was written by a newer forecaster (schema {version}, this one "
            f"knows {NEWEST}); nothing was changed. Install the newer one again"
        )
    return version


def connect_to_read(path: Path) -> sqlite3.Connection:
    """A connection that can change nothing, and sees one moment of what is kept.

    Raises
    ------
    sqlite3.Error
        If there is no such file, or it cannot be opened.
    """
    db = sqlite3.connect(
        f"{path.resolve().as_uri()}?mode=ro",
        uri=True,
        timeout=BUSY_S,
        isolation_level=None,
    )
    db.execute("BEGIN")
    return db


def open_sound(path: Path) -> sqlite3.Connection:
    """Open, bring up to date and check.

    Raises
    ------
    sqlite3.Error
        If it is damaged.
    NewerStateError
        If it is not for us to open.
    """
    whose(path)
    db = connect(path)
    try:
        migrate(db)
        look_through(db)
    except BaseException:
        db.close()
        raise
    return db


def look_through(db: sqlite3.Connection) -> None:
    """SQLite's own check, indexes against tables too; it does not see into rows."""
    found = db.execute("PRAGMA integrity_check(1)").fetchone()[0]
    if found != "ok":
        raise sqlite3.DatabaseError(str(found))
    if _tables(db) != _wanted():
        raise sqlite3.DatabaseError("its tables are not as they were made")


def _tables(db: sqlite3.Connection) -> list[tuple[object, ...]]:
    query = "SELECT type, name, tbl_name, sql FROM sqlite_master ORDER BY name"
    return db.execute(query).fetchall()


@cache
def _wanted() -> list[tuple[object, ...]]:
    """The tables of a new database."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        migrate(db)
        return _tables(db)


def set_aside(path: Path, now: np.datetime64) -> Path:
    """Give a damaged file another name; it is never deleted."""
    stamp = str(now.astype("datetime64[s]")).replace(":", "")
    target = path.with_name(f"{path.stem}-damaged-{stamp}{path.suffix}")
    number = 1
    while target.exists():
        number += 1
        target = path.with_name(f"{path.stem}-damaged-{stamp}-{number}{path.suffix}")
    for side in _SIDES:
        old = path.with_name(path.name + side)
        if old.exists():
            old.replace(target.with_name(target.name + side))
    return target


def settle(folder: Path) -> None:
    """Make new names last through a power cut, where the system can."""
    with suppress(OSError):  # Windows opens no folders
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
