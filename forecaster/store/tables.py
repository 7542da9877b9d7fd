"""The tables of the state, and which of their columns a row's checksum covers."""

from __future__ import annotations

from typing import Any

from forecaster.store.rows import checksum

COLUMNS: dict[str, tuple[str, ...]] = {
    "meta": ("name", "value"),
    "farm": ("id", "body"),
    "windows": ("key", "season", "body"),
    "sights": ("key", "body"),
    "events": ("key", "run", "made", "window", "body"),
    "messages": ("key", "made", "body"),
    "deliveries": ("message", "channel", "state", "next_at", "lease", "body"),
    "runs": ("id", "started", "body"),
    "snoozes": ("made", "body"),
    "reasons": ("window", "run", "reason"),
}
"""Every column but the checksum itself; the text of a value comes last."""
KEYS: dict[str, tuple[str, ...]] = {
    "meta": ("name",),
    "farm": ("id",),
    "deliveries": ("message", "channel"),
    "runs": ("id",),
    "reasons": ("window", "run"),
}
"""What tells one row from another, where that is not ``key``."""
DECIDING = tuple(name for name in COLUMNS if name != "reasons")
"""Looked through whenever the state is opened. Reasons, by far the most rows, decide
nothing: they are looked through for each copy and once damage was met."""


def put(table: str, *, over: bool) -> str:
    """The statement that keeps a row; with ``over`` in the place of an older one.

    A row that is the same already is not written again.
    """
    columns = (*COLUMNS[table], "sum")
    keys = KEYS.get(table, ("key",))
    new = ", ".join(f"{name} = excluded.{name}" for name in columns if name not in keys)
    then = f"UPDATE SET {new} WHERE {table}.sum <> excluded.sum" if over else "NOTHING"
    return (
        f"INSERT INTO {table} ({', '.join(columns)}) "  # noqa: S608 - our own names
        f"VALUES ({', '.join('?' * len(columns))}) "
        f"ON CONFLICT ({', '.join(keys)}) DO {then}"
    )


def sealed(table: str, *columns: Any) -> tuple[Any, ...]:
    """A row with its checksum."""
    return (*columns, checksum(table, *columns))
