"""Whether what is kept is what was written: rows changed, rows gone, tables turned.

SQLite's own check looks at the shape of the file. It misses many changes inside rows,
and rows that fell out of a well-shaped table. Each row has a checksum, and each table
a tally: how many rows, and their checksums combined by exclusive or, so that order
does not matter.
"""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING, Any

from forecaster.store.rows import checksum
from forecaster.store.tables import COLUMNS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

_MASK = 0xFF
"""Under it the plain code of one of SQLite's extended error codes."""
_HURT = {
    sqlite3.SQLITE_ERROR,
    sqlite3.SQLITE_CORRUPT,
    sqlite3.SQLITE_NOTADB,
    sqlite3.SQLITE_TOOBIG,
}


class DamagedError(Exception):
    """What is kept is not what was written."""


def hurt(error: BaseException) -> bool:
    """Whether an error says that the file is damaged, not merely out of reach.

    A full disk, a lock or a disk error is no reason to set a sound file aside.
    """
    if isinstance(error, (DamagedError, UnicodeError)):
        return True
    if not isinstance(error, sqlite3.DatabaseError):
        return False
    code = getattr(error, "sqlite_errorcode", None)
    if code is None:  # Python's own
        return str(error).startswith("Could not decode")
    return code & _MASK in _HURT


def sound_rows(
    db: sqlite3.Connection, table: str, where: str = "", values: tuple[Any, ...] = ()
) -> Iterator[list[Any]]:
    """Rows of ``table t``, without their checksums.

    Raises
    ------
    DamagedError
        At the first that does not match its checksum.
    """
    for columns, _ in _held(db, table, where, values):
        yield columns


def _held(
    db: sqlite3.Connection, table: str, where: str = "", values: tuple[Any, ...] = ()
) -> Iterator[tuple[list[Any], int]]:
    names = ", ".join(f"t.{name}" for name in (*COLUMNS[table], "sum"))
    query = f"SELECT {names} FROM {table} t {where}"  # noqa: S608 - our own names
    for *columns, total in db.execute(query, values):
        if checksum(table, *columns) != total:
            raise DamagedError(f"a row of {table} does not match its checksum")
        yield columns, total


def verify(db: sqlite3.Connection, tables: Iterable[str]) -> None:
    """Hold every row of these tables against its checksum and the table's tally.

    Raises
    ------
    DamagedError
        If a row is not as it was written, is gone, or was never written.
    """
    tallies = {
        name: (rows, mix)
        for name, rows, mix in db.execute("SELECT name, rows, mix FROM tallies")
    }
    for table in tables:
        found = _tally(db, table)
        if tallies.get(table) != found:
            raise DamagedError(f"rows of {table} are gone or were never written")


def _tally(db: sqlite3.Connection, table: str) -> tuple[int, int]:
    rows = mix = 0
    for _, total in _held(db, table):
        rows += 1
        mix ^= total
    return rows, mix
