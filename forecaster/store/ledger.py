"""All that is kept between two checks, in one SQLite file in the farm's folder.

Every row carries a checksum; one that does not match is damage, and is never read as
if it were sound.
"""

from __future__ import annotations

import sqlite3
import uuid
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
from forecaster.store import backup, marker
from forecaster.store.database import (
    FILE,
    Opened,
    make_folder,
    open_sound,
    ours,
    set_aside,
    settle,
)
from forecaster.store.rows import checksum, value_of
from forecaster.store.writing import COLUMNS, Writing, moment, span_s

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    import numpy as np

    from forecaster.domain.alerts.records import WindowKey

T = TypeVar("T")
_EQUAL = {"message": "message = ?", "channel": "channel = ?", "state": "state = ?"}
DECIDING = ("farm", "windows", "events", "messages", "deliveries", "snoozes")
"""Tables whose every row has to be as it was written."""
IN_ONE = 500
"""Keys asked for at a time."""


class Ledger:
    """What is kept of one farm. Hold ``one_check.alone`` while writing to it."""

    def __init__(self, db: sqlite3.Connection, folder: Path, opened: Opened) -> None:
        self._db, self._folder, self.opened = db, folder, opened
        self._path = folder / FILE
        self.installation = self._installation()

    # ------------------------------------------------------------- opening

    @classmethod
    def open(cls, folder: Path, now: np.datetime64) -> Ledger:
        """Open what is kept; a damaged file is set aside and a backup put back.

        Raises
        ------
        StateError
            If it can neither be read nor begun anew.
        NewerStateError
            If it is not for this program to open.
        """
        make_folder(folder)
        path, mark = folder / FILE, marker.read(folder)
        with ours(path):
            if mark is not None and not path.exists():
                return cls._brought_back(folder, "the file of the state is gone")
            try:
                ledger = cls(open_sound(path), folder, Opened())
                ledger.look_through()
            except _DAMAGE as error:
                if _only_in_the_way(error):
                    raise
                return cls._put_aside(folder, now, str(error))
        if mark is not None and ledger.newest_run() < mark.run:
            if ledger.newest_run() == 0:
                ledger.close()  # SQLite takes an empty file for a new database
                return cls._put_aside(folder, now, "it is empty")
            words = "the state is older than it was: a copy was put back"
            ledger.opened = Opened(restored=True, words=words)
        return ledger

    @classmethod
    def _put_aside(cls, folder: Path, now: np.datetime64, why: str) -> Ledger:
        with ours(folder / FILE):
            aside = set_aside(folder / FILE, now)
            said = f"the state was damaged ({why}); it is set aside as {aside.name}"
            return cls._brought_back(folder, said)

    @classmethod
    def _brought_back(cls, folder: Path, said: str) -> Ledger:
        """Use the newest sound copy, or begin anew."""
        path = folder / FILE
        for copy in backup.of(folder):
            with suppress(NewerStateError, *_DAMAGE):
                path.write_bytes(copy.read_bytes())
                settle(folder)
                words = f"{said}; the copy {copy.name} is used"
                opened = Opened(restored=True, words=words)
                ledger = cls(open_sound(path), folder, opened)
                ledger.look_through()
                return ledger
        path.unlink(missing_ok=True)
        words = f"{said}; there is no sound copy of it"
        return cls(open_sound(path), folder, Opened(lost=True, words=words))

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
            row = self._db.execute(
                "SELECT value FROM meta WHERE name = 'installation'"
            ).fetchone()
            if row is not None:
                return str(row[0])
            mark = marker.read(self._folder)
            made = uuid.uuid4().hex[:16] if mark is None else mark.installation
            self._db.execute("INSERT INTO meta VALUES ('installation', ?)", (made,))
            return made

    def look_through(self) -> None:
        """Check every row of what decides; raises where one does not match."""
        for table in DECIDING:
            for _ in self._rows(table, object):
                pass

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
            "AND t.next_at <= ? AND t.lease <= ? ORDER BY m.made, m.key, t.next_at"
        )
        return self._all("deliveries", Delivery, where, (moment(now), moment(now)))

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
        with ours(self._path):
            rows = self._db.execute(
                "SELECT window, max(run), reason FROM reasons WHERE run <= ? "
                "GROUP BY window",
                (upto_run,),
            ).fetchall()
        return {window: (int(run), reason) for window, run, reason in rows}

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
                self._db.execute("COMMIT")
            except BaseException:
                with suppress(sqlite3.Error):
                    self._db.execute("ROLLBACK")
                raise
        run = self.newest_run()
        marker.write(self._folder, marker.Mark(self.installation, run))

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

    def _rows(
        self, table: str, kind: type[T], where: str = "", values: tuple[Any, ...] = ()
    ) -> Iterator[T]:
        columns = COLUMNS[table]
        names = ", ".join(f"t.{name}" for name in (*columns, "body", "sum"))
        query = f"SELECT {names} FROM {table} t {where}"  # noqa: S608 - our own names
        for *keys, body, total in self._db.execute(query, values):
            if checksum(table, *map(str, keys), body) != total:
                raise _DamagedError(f"a row of {table} does not match its checksum")
            if kind is not object:
                yield value_of(kind, body)

    def _all(
        self, table: str, kind: type[T], where: str = "", values: tuple[Any, ...] = ()
    ) -> list[T]:
        with ours(self._path):
            try:
                return list(self._rows(table, kind, where, values))
            except (_DamagedError, ValueError) as error:
                raise sqlite3.DatabaseError(str(error)) from None

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


class _DamagedError(Exception):
    """A row is not as it was written."""


_DAMAGE = (sqlite3.DatabaseError, UnicodeError, _DamagedError)
"""What a damaged file makes SQLite and us raise."""


def _only_in_the_way(error: Exception) -> bool:
    """Whether the file is sound and only cannot be reached at present."""
    return isinstance(error, sqlite3.OperationalError) and any(
        words in str(error)
        for words in ("locked", "unable to open", "full", "readonly", "I/O")
    )


def _between(
    since: np.datetime64 | None, until: np.datetime64 | None
) -> tuple[str, str]:
    return (
        "" if since is None else moment(since),
        "~" if until is None else moment(until),
    )
