"""One SQLite file: how it is reached, recognised and set aside."""

from __future__ import annotations

import sqlite3
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from forecaster.errors import NewerStateError, StateError
from forecaster.store import meta
from forecaster.store.migrations import APPLICATION, NEWEST, tables_of, wanted
from forecaster.store.settling import settle
from forecaster.store.soundness import DamagedError, hurt

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    import numpy as np

FILE = "state.sqlite"
SUSPECT = "state.suspect"
"""Left where damage was met: all is looked through when it is next opened."""
BUSY_S = 10.0
SIDES = ("-wal", "-shm", "-journal")
_MAGIC = b"SQLite format 3\x00"
_FORMATS = {1, 2}
"""SQLite's file format versions: rollback journal, write-ahead log."""


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
    except (sqlite3.Error, UnicodeError, DamagedError) as error:
        why = str(error)
        if hurt(error):
            with suppress(OSError):
                path.with_name(SUSPECT).touch(mode=0o600)
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


def refuse_links(*paths: Path) -> None:
    """Refuse a name that leads elsewhere.

    Raises
    ------
    StateError
        If one of them is a link.
    """
    for path in paths:
        if path.is_symlink():
            raise StateError(f"{path}: is a link to another place; remove it")


def side(path: Path, ending: str) -> Path:
    """A file that SQLite keeps beside its own."""
    return path.with_name(path.name + ending)


def connect(path: Path) -> sqlite3.Connection:
    """A connection to a file that is there; a commit is on the disk when it returns."""
    db = sqlite3.connect(
        f"{path.resolve().as_uri()}?mode=rw",
        uri=True,
        timeout=BUSY_S,
        isolation_level=None,
    )
    db.execute("PRAGMA journal_mode = WAL")
    db.execute("PRAGMA synchronous = FULL")
    db.execute("PRAGMA foreign_keys = ON")
    return db


def connect_to_read(path: Path, *, still: bool = False) -> sqlite3.Connection:
    """A connection that can change nothing, and sees one moment of what is kept.

    ``still``: nobody writes to it meanwhile, so nothing need be made beside it.

    Raises
    ------
    sqlite3.Error
        If there is no such file, or it cannot be opened.
    """
    # With a log beside it the file is not all there is.
    fixed = "&immutable=1" if still and not side(path, "-wal").exists() else ""
    db = sqlite3.connect(
        f"{path.resolve().as_uri()}?mode=ro{fixed}",
        uri=True,
        timeout=BUSY_S,
        isolation_level=None,
    )
    db.execute("BEGIN")
    return db


def check_head(path: Path) -> None:
    """Look at the first bytes before SQLite does: it makes much of little.

    An empty file is a new database to it, and one of an unknown format read-only.

    Raises
    ------
    DamagedError
        If they are not those of a database.
    """
    with path.open("rb") as file:
        head = file.read(100)
    if not head:
        raise DamagedError("it is empty")
    if not head.startswith(_MAGIC):
        raise DamagedError("it is no database")
    if len(head) < len(_MAGIC) + 84 or not set(head[18:20]) <= _FORMATS:
        raise DamagedError("its head is not as it was written")


def recognise(db: sqlite3.Connection, path: Path) -> int:
    """The schema of an open database of ours.

    The number of the schema stands in two places, so that one changed bit does not
    make it another program's.

    Raises
    ------
    NewerStateError
        If another program wrote it, or a newer one of ours.
    DamagedError, sqlite3.Error
        If it is damaged.
    """
    application = int(db.execute("PRAGMA application_id").fetchone()[0])
    version = int(db.execute("PRAGMA user_version").fetchone()[0])
    found = tables_of(db)
    if application != APPLICATION:
        if found and all(found != wanted(each) for each in range(1, NEWEST + 1)):
            raise NewerStateError(
                f"{path}: is a database of another program; move it elsewhere"
            )
        raise DamagedError("its head is not as it was written")
    said = _said(db)
    if version > NEWEST and said in {None, version}:
        raise NewerStateError(
            f"{path}: was written by a newer forecaster (schema {version}, this one "
            f"knows {NEWEST}); nothing was changed. Install the newer one again"
        )
    if version != said:
        raise DamagedError("its schema is not the one it says")
    if found != wanted(version):
        raise DamagedError("its tables are not as they were made")
    return version


def _said(db: sqlite3.Connection) -> int | None:
    """The schema by its own table; None where that cannot be read."""
    with suppress(sqlite3.Error, DamagedError):
        return meta.number(db, meta.SCHEMA)
    return None


def look_through(db: sqlite3.Connection) -> None:
    """SQLite's own check, of indexes against tables too; it does not see into rows.

    Raises
    ------
    DamagedError, sqlite3.Error
        If something is wrong.
    """
    found = db.execute("PRAGMA integrity_check(1)").fetchone()[0]
    if found != "ok":
        raise DamagedError(str(found))
    if tables_of(db) != wanted(NEWEST):
        raise DamagedError("its tables are not as they were made")


def set_aside(path: Path, now: np.datetime64) -> Path:
    """Give a damaged file another name; it is never deleted."""
    stamp = str(now.astype("datetime64[s]")).replace(":", "")
    name, number = f"{path.stem}-damaged-{stamp}", 1
    target = path.with_name(f"{name}{path.suffix}")
    while any(side(target, ending).exists() for ending in ("", *SIDES)):
        number += 1
        target = path.with_name(f"{name}-{number}{path.suffix}")
    for ending in ("", *SIDES):
        if side(path, ending).exists():
            side(path, ending).replace(side(target, ending))
    settle(path.parent)
    return target
