"""Numbered steps from an empty file to the newest schema.

A step once released is never changed; a new one is added at the end.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import sqlite3

APPLICATION = 0x66637374
"""SQLite's application id: a file of another program is not ours to change."""


_TABLES = """
CREATE TABLE meta (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE farm (
  id INTEGER PRIMARY KEY CHECK (id = 1), body TEXT NOT NULL, sum TEXT NOT NULL
);
CREATE TABLE windows (
  key TEXT PRIMARY KEY, season INTEGER NOT NULL, body TEXT NOT NULL, sum TEXT NOT NULL
) WITHOUT ROWID;
CREATE TABLE sights (
  key TEXT PRIMARY KEY, body TEXT NOT NULL, sum TEXT NOT NULL
) WITHOUT ROWID;
CREATE TABLE events (
  key TEXT PRIMARY KEY, run INTEGER NOT NULL, made TEXT NOT NULL,
  window TEXT NOT NULL, body TEXT NOT NULL, sum TEXT NOT NULL
) WITHOUT ROWID;
CREATE TABLE messages (
  key TEXT PRIMARY KEY, made TEXT NOT NULL, body TEXT NOT NULL, sum TEXT NOT NULL
) WITHOUT ROWID;
CREATE TABLE deliveries (
  message TEXT NOT NULL REFERENCES messages (key), channel TEXT NOT NULL,
  state TEXT NOT NULL, next_at TEXT NOT NULL, lease TEXT NOT NULL DEFAULT '',
  body TEXT NOT NULL, sum TEXT NOT NULL, PRIMARY KEY (message, channel)
) WITHOUT ROWID;
CREATE TABLE runs (
  id INTEGER PRIMARY KEY AUTOINCREMENT, started TEXT NOT NULL,
  body TEXT NOT NULL, sum TEXT NOT NULL
);
CREATE TABLE snoozes (
  id INTEGER PRIMARY KEY AUTOINCREMENT, made TEXT NOT NULL,
  body TEXT NOT NULL, sum TEXT NOT NULL
);
CREATE INDEX due ON deliveries (state, next_at);
CREATE INDEX of_run ON events (run)
"""


def _first(db: sqlite3.Connection) -> None:
    for statement in _TABLES.split(";"):
        db.execute(statement)


def _reasons(db: sqlite3.Connection) -> None:
    """Why each window had no message, from one check until the reason changed."""
    db.execute(
        "CREATE TABLE reasons (window TEXT NOT NULL, run INTEGER NOT NULL, "
        "reason TEXT NOT NULL, PRIMARY KEY (window, run)) WITHOUT ROWID"
    )
    db.execute("CREATE INDEX started ON runs (started)")


STEPS = (_first, _reasons)
NEWEST = len(STEPS)


def migrate(db: sqlite3.Connection) -> None:
    """Take an open database to the newest schema, each step in one transaction."""
    version = int(db.execute("PRAGMA user_version").fetchone()[0])
    for number, step in enumerate(STEPS[version:], start=version + 1):
        db.execute("BEGIN IMMEDIATE")
        try:
            step(db)
            db.execute(f"PRAGMA user_version = {number}")
            db.execute(f"PRAGMA application_id = {APPLICATION}")
            db.execute("COMMIT")
        except BaseException:
            db.execute("ROLLBACK")
            raise
