"""What the state says of itself: its schema, whose it is, how far it has come."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.store import tables
from forecaster.store.soundness import DamagedError, sound_rows

if TYPE_CHECKING:
    import sqlite3

SCHEMA = "schema"
INSTALLATION = "installation"
COMMITS = "commits"
"""How many transactions were kept; never goes back."""
OPENING = "opening"
"""What was found when it was opened, until an event has told it."""


def get(db: sqlite3.Connection, name: str) -> str | None:
    """A value; None where there is none.

    Raises
    ------
    DamagedError
        If it is not as it was written.
    """
    for _, value in sound_rows(db, "meta", "WHERE t.name = ?", (name,)):
        return str(value)
    return None


def number(db: sqlite3.Connection, name: str) -> int:
    """A whole number; 0 where there is none."""
    value = get(db, name) or "0"
    if not value.isdecimal():
        raise DamagedError(f"{name} is no number")
    return int(value)


def put(db: sqlite3.Connection, name: str, value: str) -> None:
    """Keep a value."""
    db.execute(tables.put("meta", over=True), tables.sealed("meta", name, value))


def drop(db: sqlite3.Connection, name: str) -> None:
    """Keep it no longer."""
    db.execute("DELETE FROM meta WHERE name = ?", (name,))
