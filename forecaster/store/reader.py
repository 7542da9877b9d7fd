"""What is kept of a farm, to be read only: also while a check is at work on it.

Nothing is locked, mended or moved, and nothing made but a note where damage is met, for
the next check. All questions see the same moment.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Self

from forecaster.domain.alerts.records import Run
from forecaster.errors import InputMissingError, StateError
from forecaster.store import marker, meta
from forecaster.store.database import (
    FILE,
    Opened,
    connect_to_read,
    look_through,
    ours,
    recognise,
)
from forecaster.store.ledger import Ledger
from forecaster.store.migrations import NEWEST
from forecaster.store.soundness import sound_rows, verify
from forecaster.store.tables import COLUMNS
from forecaster.store.writing import moment

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Collection, Iterable
    from pathlib import Path

    import numpy as np


class Reader(Ledger):
    """A ledger that changes nothing. Close it soon: it keeps a moment alive."""

    @classmethod
    def of(cls, folder: Path, file: str = FILE) -> Self:
        """Open what is kept in ``folder``; ``file`` may be a copy of it.

        Raises
        ------
        InputMissingError
            If no check has ever kept anything.
        StateError
            If it cannot be read, is damaged, or waits to be brought up to date.
        NewerStateError
            If it is not for this program to read.
        """
        path = folder / file
        if not path.is_file():
            raise InputMissingError(_missing(folder, path))
        with ours(path):
            db = connect_to_read(path)
            try:
                _up_to_date(db, path)
                return cls(db, folder, Opened())
            except BaseException:
                db.close()
                raise

    def _installation(self) -> str:
        return meta.get(self._db, meta.INSTALLATION) or ""

    def quick_check(self) -> None:
        """SQLite's own quick look.

        Raises
        ------
        StateError
            If it finds damage.
        """
        with ours(self._path):
            look_through(self._db)

    def every_row(self) -> None:
        """Hold every row against its checksum, and every table against its tally.

        Raises
        ------
        StateError
            If one does not match.
        """
        with ours(self._path):
            verify(self._db, COLUMNS)

    def every(self, table: str) -> list[tuple[str, ...]]:
        """Every row of a table as texts, in the order of its columns, without its sum.

        Raises
        ------
        StateError
            If one does not match its checksum.
        """
        with ours(self._path):
            return [tuple(map(str, row)) for row in sound_rows(self._db, table)]

    # ------------------------------------------------------------ the past

    def runs_of(self, ids: Iterable[int]) -> dict[int, Run]:
        """Checks of these numbers."""
        found = self._by_keys("runs", Run, "id", [str(each) for each in ids])
        return {each.id: each for each in found}

    def last_run(self, before: np.datetime64) -> Run | None:
        """The last check begun before a moment."""
        where = "WHERE started < ? ORDER BY started DESC, id DESC LIMIT 1"
        return next(iter(self._all("runs", Run, where, (moment(before),))), None)

    def next_run(self, after: np.datetime64) -> Run | None:
        """The first check begun after a moment."""
        where = "WHERE started > ? ORDER BY started, id LIMIT 1"
        return next(iter(self._all("runs", Run, where, (moment(after),))), None)

    def changes(self, after_run: int, upto_run: int) -> list[tuple[str, int, str]]:
        """Window, check and reason wherever a reason became another, in order."""
        where = "WHERE t.run > ? AND t.run <= ? ORDER BY t.window, t.run"
        return self._reasons(where, (after_run, upto_run))

    def last_said(
        self, reasons: Collection[str], upto_run: int
    ) -> dict[str, tuple[int, str]]:
        """For each window the last of these reasons up to a check, and its check."""
        marks = ", ".join("?" * len(reasons))
        where = f"WHERE t.run <= ? AND t.reason IN ({marks}) ORDER BY t.window, t.run"
        found = self._reasons(where, (upto_run, *reasons))
        return {window: (run, why) for window, run, why in found}

    def next_said(self, window: str, reasons: Collection[str], after_run: int) -> str:
        """The first of these reasons of a window after a check, or nothing."""
        marks = ", ".join("?" * len(reasons))
        where = (
            f"WHERE t.window = ? AND t.run > ? AND t.reason IN ({marks}) "
            "ORDER BY t.run LIMIT 1"
        )
        found = self._reasons(where, (window, after_run, *reasons))
        return found[0][2] if found else ""

    def _reasons(
        self, where: str, values: tuple[Any, ...]
    ) -> list[tuple[str, int, str]]:
        with ours(self._path):
            rows = sound_rows(self._db, "reasons", where, values)
            return [(window, run, why) for window, run, why in rows]


def _up_to_date(db: sqlite3.Connection, path: Path) -> None:
    if recognise(db, path) < NEWEST:
        raise StateError(
            f"{path}: was written by an older forecaster; the next check brings it up "
            f"to date: forecaster check --farm {path.parent.parent}"
        )


def _missing(folder: Path, path: Path) -> str:
    if marker.read(folder) is not None:
        return (
            f"{path}: is gone, though checks have run; the next check says so and "
            f"begins anew: forecaster check --farm {folder.parent}"
        )
    return (
        f"{path}: is not there: no check has run for this farm yet. Run one: "
        f"forecaster check --farm {folder.parent}"
    )
