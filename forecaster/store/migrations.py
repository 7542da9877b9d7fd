"""Numbered steps from an empty file to the newest schema.

A step once released is never changed; a new one is added at the end.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from functools import cache

from forecaster.store import meta

APPLICATION = 0x66637374
"""SQLite's application id: a file of another program is not ours to change."""


_TABLES = """
CREATE TABLE meta (
  name TEXT PRIMARY KEY, value TEXT NOT NULL, sum INTEGER NOT NULL
) WITHOUT ROWID;
CREATE TABLE farm (
  id INTEGER PRIMARY KEY CHECK (id = 1), body TEXT NOT NULL, sum INTEGER NOT NULL
);
CREATE TABLE windows (
  key TEXT PRIMARY KEY, season INTEGER NOT NULL, body TEXT NOT NULL,
  sum INTEGER NOT NULL
) WITHOUT ROWID;
CREATE TABLE sights (
  key TEXT PRIMARY KEY, body TEXT NOT NULL, sum INTEGER NOT NULL
) WITHOUT ROWID;
CREATE TABLE events (
  key TEXT PRIMARY KEY, run INTEGER NOT NULL, made TEXT NOT NULL,
  window TEXT NOT NULL, body TEXT NOT NULL, sum INTEGER NOT NULL
) WITHOUT ROWID;
CREATE TABLE messages (
  key TEXT PRIMARY KEY, made TEXT NOT NULL, body TEXT NOT NULL, sum INTEGER NOT NULL
) WITHOUT ROWID;
CREATE TABLE deliveries (
  message TEXT NOT NULL REFERENCES messages (key), channel TEXT NOT NULL,
  state TEXT NOT NULL, next_at TEXT NOT NULL, lease TEXT NOT NULL,
  body TEXT NOT NULL, sum INTEGER NOT NULL, PRIMARY KEY (message, channel)
) WITHOUT ROWID;
CREATE TABLE runs (
  id INTEGER PRIMARY KEY AUTOINCREMENT, started TEXT NOT NULL,
  body TEXT NOT NULL, sum INTEGER NOT NULL
);
CREATE TABLE snoozes (
  id INTEGER PRIMARY KEY AUTOINCREMENT, made TEXT NOT NULL,
  body TEXT NOT NULL, sum INTEGER NOT NULL
);
CREATE INDEX due ON deliveries (state, next_at);
CREATE INDEX of_run ON events (run);
CREATE TABLE tallies (
  name TEXT PRIMARY KEY, rows INTEGER NOT NULL, mix INTEGER NOT NULL
) WITHOUT ROWID
"""
_FIRST = (
    "meta", "farm", "windows", "sights", "events", "messages", "deliveries", "runs",
    "snoozes",
)  # fmt: skip

# a XOR b is (a | b) - (a & b): SQLite has no exclusive or.
_TRIGGERS = """
CREATE TRIGGER {0}_in AFTER INSERT ON {0} BEGIN
  UPDATE tallies SET rows = rows + 1, mix = (mix | NEW.sum) - (mix & NEW.sum)
  WHERE name = '{0}'; END
;;
CREATE TRIGGER {0}_out AFTER DELETE ON {0} BEGIN
  UPDATE tallies SET rows = rows - 1, mix = (mix | OLD.sum) - (mix & OLD.sum)
  WHERE name = '{0}'; END
;;
CREATE TRIGGER {0}_on AFTER UPDATE ON {0} BEGIN
  UPDATE tallies SET mix = (mix | OLD.sum) - (mix & OLD.sum) WHERE name = '{0}';
  UPDATE tallies SET mix = (mix | NEW.sum) - (mix & NEW.sum) WHERE name = '{0}'; END
"""


def _tallied(db: sqlite3.Connection, table: str) -> None:
    """Have the database itself count the rows of a table and mix their checksums."""
    db.execute("INSERT INTO tallies VALUES (?, 0, 0)", (table,))
    for statement in _TRIGGERS.format(table).split(";;"):
        db.execute(statement)


def _first(db: sqlite3.Connection) -> None:
    for statement in _TABLES.split(";"):
        db.execute(statement)
    for table in _FIRST:
        _tallied(db, table)


def _reasons(db: sqlite3.Connection) -> None:
    """Why each window had no message, from one check until the reason changed."""
    db.execute(
        "CREATE TABLE reasons (window TEXT NOT NULL, run INTEGER NOT NULL, "
        "reason TEXT NOT NULL, sum INTEGER NOT NULL, PRIMARY KEY (window, run)) "
        "WITHOUT ROWID"
    )
    _tallied(db, "reasons")
    db.execute("CREATE INDEX started ON runs (started)")


STEPS = (_first, _reasons)
NEWEST = len(STEPS)


def migrate(db: sqlite3.Connection, upto: int | None = None) -> None:
    """Take an open database to a schema, each step in one transaction."""
    version = int(db.execute("PRAGMA user_version").fetchone()[0])
    for number, step in enumerate(STEPS[version:upto], start=version + 1):
        db.execute("BEGIN IMMEDIATE")
        try:
            step(db)
            meta.put(db, meta.SCHEMA, str(number))
            db.execute(f"PRAGMA user_version = {number}")
            db.execute(f"PRAGMA application_id = {APPLICATION}")
            db.execute("COMMIT")
        except BaseException:
            db.execute("ROLLBACK")
            raise


def tables_of(db: sqlite3.Connection) -> list[tuple[object, ...]]:
    """Tables, indexes and triggers, as they were made."""
    query = "SELECT type, name, tbl_name, sql FROM sqlite_master ORDER BY name"
    return db.execute(query).fetchall()


@cache
def wanted(version: int) -> list[tuple[object, ...]]:
    """Tables, indexes and triggers of a schema."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        migrate(db, version)
        return tables_of(db)
