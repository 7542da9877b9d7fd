"""A new file of the state, made beside the old one and put in its place whole.

Killed at any moment, what stands under the name is the old file or the new one.
"""

from __future__ import annotations

import json
import os
import sqlite3
import uuid
from contextlib import closing
from typing import TYPE_CHECKING

from forecaster.errors import StateError
from forecaster.store import meta
from forecaster.store.database import (
    BUSY_S,
    FILE,
    SIDES,
    Opened,
    connect,
    look_through,
    side,
)
from forecaster.store.migrations import migrate
from forecaster.store.settling import settle
from forecaster.store.soundness import DamagedError, verify
from forecaster.store.tables import COLUMNS

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.store.marker import Mark

NEW = "state.new"


def build(
    folder: Path,
    source: sqlite3.Connection | None,
    mark: Mark | None,
    opened: Opened | None = None,
) -> Path:
    """A sound, up-to-date copy of ``source``, or an empty state; not in place yet.

    ``opened`` is kept in it until an event has told it.

    Raises
    ------
    DamagedError, sqlite3.Error
        If the source is damaged, or another installation's.
    """
    path = folder / NEW
    clear(folder)
    path.touch(mode=0o600)
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        if source is not None:
            source.backup(db)
        # Nobody else sees it before it is whole, and then it is put on the disk.
        db.execute("PRAGMA journal_mode = DELETE")
        db.execute("PRAGMA synchronous = OFF")
        migrate(db)
        _whose(db, mark)
        if opened is not None:
            note(db, opened, mark)
        look_through(db)
        verify(db, COLUMNS)
        db.execute("PRAGMA journal_mode = WAL")
    with path.open("rb+") as file:
        os.fsync(file.fileno())
    return path


def put_in_place(folder: Path) -> sqlite3.Connection:
    """Give what was built its name, and open it."""
    path = folder / FILE
    (folder / NEW).replace(path)
    settle(folder)
    return connect(path)


def clear(folder: Path) -> None:
    """Take away what a killed run had begun to build."""
    for ending in ("", *SIDES):
        side(folder / NEW, ending).unlink(missing_ok=True)


def bring_up_to_date(folder: Path, mark: Mark | None) -> sqlite3.Connection:
    """Take an older state to the newest schema.

    Raises
    ------
    StateError
        If somebody else has it open; it is then as it was.
    """
    path = folder / FILE
    with closing(_to_itself(path)) as old:
        build(folder, old, mark)
    for ending in SIDES:
        # Closed by its last user, SQLite has taken in the log and removed it. One left
        # beside the new file would be taken for its own.
        left = side(path, ending)
        if ending != "-shm" and left.exists() and left.stat().st_size:
            raise StateError(f"{left}: is still in use; run the check again")
        left.unlink(missing_ok=True)
    return put_in_place(folder)


def _to_itself(path: Path) -> sqlite3.Connection:
    """A connection beside which there is no other."""
    db = sqlite3.connect(
        f"{path.resolve().as_uri()}?mode=rw",
        uri=True,
        timeout=BUSY_S,
        isolation_level=None,
    )
    try:
        db.execute("PRAGMA locking_mode = EXCLUSIVE")
        db.execute("BEGIN IMMEDIATE")
        db.execute("COMMIT")
    except BaseException:
        db.close()
        raise
    return db


def note(db: sqlite3.Connection, opened: Opened, mark: Mark | None) -> None:
    """Keep what was found; what was found before and not told yet counts, too."""
    before = found_before(db)
    words = "; ".join(each for each in (before.words, opened.words) if each)
    plain = {
        "lost": before.lost or opened.lost,
        "restored": before.restored or opened.restored,
        "words": words,
    }
    commits = max(meta.number(db, meta.COMMITS), mark.commits if mark else 0)
    db.execute("BEGIN IMMEDIATE")
    meta.put(db, meta.OPENING, json.dumps(plain))
    meta.put(db, meta.COMMITS, str(commits + 1))
    db.execute("COMMIT")


def found_before(db: sqlite3.Connection) -> Opened:
    """What was found at an earlier opening and no event has told yet."""
    text = meta.get(db, meta.OPENING)
    return Opened() if text is None else Opened(**json.loads(text))


def _whose(db: sqlite3.Connection, mark: Mark | None) -> None:
    found = meta.get(db, meta.INSTALLATION)
    if found is None:
        made = uuid.uuid4().hex[:16] if mark is None else mark.installation
        meta.put(db, meta.INSTALLATION, made)
    elif mark is not None and found != mark.installation:
        raise DamagedError("it belongs to another installation")
