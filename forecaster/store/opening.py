"""Opening what is kept: damage is set aside, a copy brought back, and it is said.

What was found stays in the state until an event has told it: a check killed on the way
does not make it forgotten.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing, suppress
from typing import TYPE_CHECKING

from forecaster.errors import NewerStateError
from forecaster.store import backup, building, marker, meta
from forecaster.store.database import (
    FILE,
    SIDES,
    SUSPECT,
    Opened,
    check_head,
    connect,
    connect_to_read,
    look_through,
    make_folder,
    ours,
    recognise,
    refuse_links,
    set_aside,
    side,
)
from forecaster.store.migrations import NEWEST
from forecaster.store.soundness import DamagedError, hurt, verify
from forecaster.store.tables import COLUMNS, DECIDING

if TYPE_CHECKING:
    from pathlib import Path

    import numpy as np

OLDER = "the state is older than it was: a copy was put back, or its log is gone"


def open_state(folder: Path, now: np.datetime64) -> tuple[sqlite3.Connection, Opened]:
    """A sound, up-to-date database of ours, and what was found on the way.

    Raises
    ------
    StateError
        If it can neither be read nor begun anew.
    NewerStateError
        If it is not for this program to open; nothing was changed.
    """
    make_folder(folder)
    path = folder / FILE
    refuse_links(
        *(side(path, ending) for ending in ("", *SIDES)),
        folder / marker.FILE,
        folder / backup.FOLDER,
    )
    with ours(path):
        building.clear(folder)
        mark = marker.read(folder)
        db = _opened(folder, mark, now)
        try:
            if mark is not None and meta.number(db, meta.COMMITS) < mark.commits:
                building.note(db, Opened(restored=True, words=OLDER), mark)
            opened = building.found_before(db)
            (folder / SUSPECT).unlink(missing_ok=True)
            remember(db, folder)
        except BaseException:
            db.close()
            raise
    return db, opened


def remember(db: sqlite3.Connection, folder: Path) -> None:
    """Leave a note beside the state of how far it has come."""
    run = db.execute("SELECT max(id) FROM runs").fetchone()[0]
    installation = meta.get(db, meta.INSTALLATION)
    if installation is None:
        raise DamagedError("it does not say whose it is")
    mark = marker.Mark(installation, int(run or 0), meta.number(db, meta.COMMITS))
    if mark != marker.read(folder):
        marker.write(folder, mark)


def _opened(
    folder: Path, mark: marker.Mark | None, now: np.datetime64
) -> sqlite3.Connection:
    path = folder / FILE
    if not path.exists():
        return _begun(folder, mark, now)
    try:
        return _sound(folder, mark)
    except (sqlite3.Error, UnicodeError, DamagedError) as error:
        if not hurt(error):
            raise
        said = f"the state was damaged ({error}); it is set aside as "
    said += set_aside(path, now).name
    return _brought_back(folder, mark, said)


def _begun(
    folder: Path, mark: marker.Mark | None, now: np.datetime64
) -> sqlite3.Connection:
    """Nothing stands under the name: a first start, or it is gone."""
    path = folder / FILE
    stray = any(side(path, ending).exists() for ending in SIDES)
    if stray:  # it would be taken for the log of the new file
        set_aside(path, now)
    if stray or (folder / marker.FILE).exists() or backup.of(folder):
        return _brought_back(folder, mark, "the file of the state is gone")
    building.build(folder, None, mark)
    return building.put_in_place(folder)


def _sound(folder: Path, mark: marker.Mark | None) -> sqlite3.Connection:
    path = folder / FILE
    check_head(path)
    whole = (folder / SUSPECT).exists()
    # Only read, so that what turns out to be damaged is set aside as it was found.
    with closing(connect_to_read(path, still=True)) as db:
        if recognise(db, path) == NEWEST:
            look_through(db)
            verify(db, COLUMNS if whole else DECIDING)
            if mark and meta.get(db, meta.INSTALLATION) != mark.installation:
                raise DamagedError("it belongs to another installation")
            return connect(path)
    return building.bring_up_to_date(folder, mark)


def _brought_back(
    folder: Path, mark: marker.Mark | None, said: str
) -> sqlite3.Connection:
    """Use the sound copy that had come furthest, or begin anew."""
    for copy in sorted(backup.of(folder), key=_commits, reverse=True):
        words = f"{said}; the copy {copy.name} is used"
        if _rebuilt(folder, copy, mark, Opened(restored=True, words=words)):
            break
    else:
        words = f"{said}; there is no sound copy of it"
        building.build(folder, None, mark, Opened(lost=True, words=words))
    return building.put_in_place(folder)


def _rebuilt(
    folder: Path, copy: Path, mark: marker.Mark | None, opened: Opened
) -> bool:
    """Whether a copy is sound and ours; what was built of it waits for its name."""
    try:
        check_head(copy)
        with closing(connect_to_read(copy, still=True)) as source:
            recognise(source, copy)
            building.build(folder, source, mark, opened)
    except NewerStateError:
        return False
    except (sqlite3.Error, UnicodeError, DamagedError) as error:
        if not hurt(error):
            raise
        return False
    return True


def _commits(copy: Path) -> int:
    """How far a copy had come; by its name alone a wrong clock would decide."""
    with (
        suppress(sqlite3.Error, UnicodeError, DamagedError, OSError),
        closing(connect_to_read(copy, still=True)) as db,
    ):
        return meta.number(db, meta.COMMITS)
    return -1
