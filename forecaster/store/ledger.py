"""All that is kept between two checks, in one SQLite file in the farm's folder.

Every row carries a checksum; one that does not match is damage, and is never read as
if it were sound.
"""

from __future__ import annotations

import sqlite3
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Any, Self, TypeVar

from forecaster.domain.alerts.reading import Reading
from forecaster.domain.alerts.records import (
    Delivery,
    Event,
    FarmKept,
    Kept,
    Message,
    Run,
    Sending,
    Snooze,
)
from forecaster.domain.alerts.snoozes import in_force
from forecaster.errors import NewerStateError
from forecaster.store import backup, meta
from forecaster.store.database import FILE, Opened, ours
from forecaster.store.opening import open_state, remember
from forecaster.store.rows import value_of
from forecaster.store.soundness import sound_rows, verify
from forecaster.store.writing import LONGEST_LEASE, Writing, moment, span_s

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    import numpy as np

    from forecaster.domain.alerts.records import WindowKey

T = TypeVar("T")
_EQUAL = {"message": "message = ?", "channel": "channel = ?", "state": "state = ?"}
IN_ONE = 500
"""Keys asked for at a time."""


class Ledger:
    """What is kept of one farm. Hold ``one_check.alone`` while it is open."""

    def __init__(self, db: sqlite3.Connection, folder: Path, opened: Opened) -> None:
        self._db, self._folder, self.opened = db, folder, opened
        self._path = folder / FILE
        self.installation = self._installation()

    # ------------------------------------------------------------- opening

    @classmethod
    def open(cls, folder: Path, now: np.datetime64) -> Ledger:
        """Open what is kept; a damaged file is set aside and a copy put back.

        Raises
        ------
        StateError
            If it can neither be read nor begun anew.
        NewerStateError
            If it is not for this program to open.
        """
        db, opened = open_state(folder, now)
        try:
            return cls(db, folder, opened)
        except BaseException:
            db.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        with suppress(sqlite3.Error):
            self._db.close()

    def _installation(self) -> str:
        with ours(self._path):
            return meta.get(self._db, meta.INSTALLATION) or ""

    # ------------------------------------------------------------- reading

    def farm(self) -> FarmKept:
        """The farm as it was kept; a fresh one at the first check."""
        found = self._all("farm", FarmKept)
        return found[0] if found else FarmKept()

    def windows(self, season: int) -> dict[WindowKey, Kept]:
        """Every window of a season."""
        found = self._all("windows", Kept, "WHERE season = ?", (season,))
        return {each.key: each for each in found}

    def sights(self, keys: Iterable[WindowKey]) -> dict[WindowKey, Reading]:
        """What was last read of these windows."""
        found = self._by_keys("sights", Reading, "key", [str(key) for key in keys])
        return {each.key: each for each in found}

    def snoozes(self, now: np.datetime64) -> list[Snooze]:
        """Those in force; a newer one of the same paddock and active replaces."""
        return in_force(self.every_snooze(), now)

    def every_snooze(self) -> list[Snooze]:
        """Every one there ever was, in the order they were asked for."""
        return self._all("snoozes", Snooze, "ORDER BY t.id")

    def events(
        self,
        *,
        after_run: int = 0,
        since: np.datetime64 | None = None,
        until: np.datetime64 | None = None,
    ) -> list[Event]:
        """Events of later checks, or made between two moments, in order."""
        where = "WHERE run > ? AND made >= ? AND made <= ? ORDER BY run, made, key"
        return self._all("events", Event, where, (after_run, *_between(since, until)))

    def events_by_key(self, keys: Iterable[str]) -> dict[str, Event]:
        """Events of these keys."""
        found = self._by_keys("events", Event, "key", list(keys))
        return {each.key: each for each in found}

    def messages(self, keys: Iterable[str]) -> dict[str, Message]:
        """Messages of these keys."""
        found = self._by_keys("messages", Message, "key", list(keys))
        return {each.key: each for each in found}

    def messages_between(
        self, since: np.datetime64, until: np.datetime64
    ) -> list[Message]:
        """Messages made between two moments, in order."""
        where = "WHERE made >= ? AND made <= ? ORDER BY made, key"
        return self._all("messages", Message, where, _between(since, until))

    def deliveries(
        self,
        *,
        message: str | None = None,
        channel: str | None = None,
        state: Sending | None = None,
    ) -> list[Delivery]:
        """Deliveries, of one message, channel or state where named."""
        wanted = {"message": message, "channel": channel, "state": state}
        named = {
            name: str(value) for name, value in wanted.items() if value is not None
        }
        clauses = " AND ".join(_EQUAL[name] for name in named) or "1"
        where = f"WHERE {clauses} ORDER BY message, channel"
        return self._all("deliveries", Delivery, where, tuple(named.values()))

    def due(self, now: np.datetime64) -> list[Delivery]:
        """What waits, is due and claimed by nobody; the oldest message first."""
        where = (
            "JOIN messages m ON m.key = t.message WHERE t.state = 'waiting' "
            "AND t.next_at <= ? AND (t.lease <= ? OR t.lease > ?) "
            "ORDER BY m.made, m.key, t.next_at"
        )
        values = (moment(now), moment(now), moment(now + LONGEST_LEASE))
        return self._all("deliveries", Delivery, where, values)

    def last_sent(self) -> dict[str, np.datetime64]:
        """When something last went through each channel."""
        last: dict[str, np.datetime64] = {}
        for each in self.deliveries(state=Sending.SENT):
            if each.ended is not None:
                before = last.get(each.channel, each.ended)
                last[each.channel] = max(before, each.ended)
        return last

    def runs(self, since: np.datetime64, until: np.datetime64) -> list[Run]:
        """Checks begun between two moments, in order."""
        where = "WHERE started >= ? AND started <= ? ORDER BY id"
        return self._all("runs", Run, where, _between(since, until))

    def newest_run(self) -> int:
        """The number of the last check; 0 before the first."""
        with ours(self._path):
            row = self._db.execute("SELECT max(id) FROM runs").fetchone()
        return int(row[0] or 0)

    def reasons(self, upto_run: int) -> dict[str, tuple[int, str]]:
        """For each window the reason in force at a check, and since which one."""
        where = "WHERE t.run <= ? ORDER BY t.window, t.run"
        with ours(self._path):
            verify(self._db, ("reasons",))
            rows = list(sound_rows(self._db, "reasons", where, (upto_run,)))
        return {window: (run, reason) for window, run, reason in rows}

    # ------------------------------------------------------------- writing

    @contextmanager
    def writing(self) -> Iterator[Writing]:
        """One transaction: all of it, or nothing.

        Raises
        ------
        StateError
            If it cannot be kept. Nothing of it is, then.
        """
        with ours(self._path):
            self._db.execute("BEGIN IMMEDIATE")
            try:
                yield Writing(self._db)
                commits = meta.number(self._db, meta.COMMITS) + 1
                meta.put(self._db, meta.COMMITS, str(commits))
                self._db.execute("COMMIT")
            except BaseException:
                with suppress(sqlite3.Error):
                    self._db.execute("ROLLBACK")
                raise
            remember(self._db, self._folder)

    def claim(
        self, delivery: Delivery, now: np.datetime64, lease_s: float
    ) -> Delivery | None:
        """Take a delivery for a while; None where somebody else has it."""
        with self.writing() as tx:
            return tx.claim(delivery, now, now + span_s(lease_s))

    def finish(self, delivery: Delivery) -> None:
        """Write down what became of a delivery."""
        with self.writing() as tx:
            tx.put_deliveries([delivery])

    def back_up(self, now: np.datetime64) -> None:
        """Make today's copy, unless there is one.

        Raises
        ------
        StateError
            If it cannot be written.
        """
        if backup.due(self._folder, now):
            with ours(self._folder / backup.FOLDER):
                backup.make(self._db, self._folder, now)

    # ------------------------------------------------------------- helpers

    def _all(
        self, table: str, kind: type[T], where: str = "", values: tuple[Any, ...] = ()
    ) -> list[T]:
        with ours(self._path):
            rows = list(sound_rows(self._db, table, where, values))
        try:
            return [value_of(kind, row[-1]) for row in rows]
        except ValueError as error:
            raise NewerStateError(
                f"{self._path}: a row of {table} holds what this forecaster does not "
                f"know ({error}). Install the one that wrote it again"
            ) from None

    def _by_keys(
        self, table: str, kind: type[T], column: str, keys: list[str]
    ) -> list[T]:
        found: list[T] = []
        for start in range(0, len(keys), IN_ONE):
            some = keys[start : start + IN_ONE]
            marks = ", ".join("?" * len(some))
            where = f"WHERE t.{column} IN ({marks})"
            found += self._all(table, kind, where, tuple(some))
        return found


def _between(
    since: np.datetime64 | None, until: np.datetime64 | None
) -> tuple[str, str]:
    return (
        "" if since is None else moment(since),
        "~" if until is None else moment(until),
    )
