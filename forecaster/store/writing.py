"""One transaction on what is kept."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from forecaster.domain.alerts.records import Run, Sending
from forecaster.store.rows import checksum, text_of

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterable, Mapping

    from forecaster.domain.alerts.reading import Reading
    from forecaster.domain.alerts.records import (
        Delivery,
        Event,
        FarmKept,
        Kept,
        Message,
        Snooze,
        WindowKey,
    )

COLUMNS: dict[str, tuple[str, ...]] = {
    "farm": ("id",),
    "windows": ("key", "season"),
    "sights": ("key",),
    "events": ("key", "run", "made", "window"),
    "messages": ("key", "made"),
    "deliveries": ("message", "channel", "state", "next_at"),
    "runs": ("id", "started"),
    "snoozes": ("made",),
}
"""Columns under a row's checksum, beside its text."""


def moment(when: np.datetime64) -> str:
    """A moment as it is kept; in order as text, too."""
    return str(when.astype("datetime64[s]"))


def span_s(seconds: float) -> np.timedelta64:
    """Whole seconds."""
    return np.timedelta64(round(seconds), "s")


class Writing:
    """What can be written inside one transaction."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self._db = db

    def put_farm(self, farm: FarmKept) -> None:
        """The farm as it is kept from now on."""
        self._put("farm", [((1,), farm)])

    def put_windows(self, windows: Iterable[Kept]) -> None:
        """Windows as they are kept from now on."""
        self._put("windows", [((str(w.key), w.key.season), w) for w in windows])

    def put_sights(self, sights: Mapping[WindowKey, Reading]) -> None:
        """What was read of windows, for the words of messages."""
        self._put("sights", [((str(key),), each) for key, each in sights.items()])

    def add_events(self, events: Iterable[Event]) -> None:
        """Events; one that is known already stays as it was."""
        rows = [
            (
                (
                    e.key,
                    e.run,
                    moment(e.made),
                    "" if e.window is None else str(e.window),
                ),
                e,
            )
            for e in events
        ]
        self._put("events", rows, how="INSERT OR IGNORE")

    def add_messages(self, messages: Iterable[Message]) -> None:
        """Messages; one that is known already stays as it was."""
        rows = [((each.key, moment(each.made)), each) for each in messages]
        self._put("messages", rows, how="INSERT OR IGNORE")

    def add_deliveries(self, deliveries: Iterable[Delivery]) -> None:
        """Deliveries of new messages; one that is under way stays as it is."""
        self._put("deliveries", _columns(deliveries), how="INSERT OR IGNORE")

    def put_deliveries(self, deliveries: Iterable[Delivery]) -> None:
        """Deliveries as they stand now."""
        self._put("deliveries", _columns(deliveries))

    def claim(
        self, delivery: Delivery, now: np.datetime64, until: np.datetime64
    ) -> Delivery | None:
        """Take a delivery if nobody else has it."""
        taken = replace(delivery, attempts=delivery.attempts + 1)
        where = (
            "WHERE message = ? AND channel = ? AND state = 'waiting' AND lease <= ? "
            "AND next_at = ?"
        )
        body = text_of(taken)
        columns, _ = next(iter(_columns([taken])))
        changed = self._db.execute(
            f"UPDATE deliveries SET lease = ?, body = ?, sum = ? {where}",  # noqa: S608 - constant
            (
                moment(until), body, checksum("deliveries", *map(str, columns), body),
                delivery.message, delivery.channel, moment(now),
                moment(delivery.next_at),
            ),
        ).rowcount  # fmt: skip
        return taken if changed == 1 else None

    def begin_run(self, now: np.datetime64) -> Run:
        """A check with a number of its own."""
        row = self._db.execute(
            "INSERT INTO runs (started, body, sum) VALUES (?, '', '')", (moment(now),)
        )
        run = Run(int(row.lastrowid or 0), now)
        self.put_run(run)
        return run

    def put_run(self, run: Run) -> None:
        """A check as it stands now."""
        self._put("runs", [((run.id, moment(run.started)), run)])

    def add_snooze(self, snooze: Snooze) -> None:
        """Somebody asked for quiet."""
        self._put("snoozes", [((moment(snooze.made),), snooze)], how="INSERT")

    def note_reasons(self, run: int, reasons: Mapping[WindowKey, str]) -> None:
        """Why there was no message; only where the reason is another than before."""
        known = dict(self._last_reasons())
        new = [
            (str(key), run, reason)
            for key, reason in reasons.items()
            if known.get(str(key)) != reason
        ]
        self._db.executemany("INSERT OR REPLACE INTO reasons VALUES (?, ?, ?)", new)

    def _last_reasons(self) -> list[tuple[str, str]]:
        rows = self._db.execute(
            "SELECT window, reason, max(run) FROM reasons GROUP BY window"
        )
        return [(window, reason) for window, reason, _ in rows]

    def _put(
        self,
        table: str,
        rows: Iterable[tuple[tuple[Any, ...], Any]],
        how: str = "INSERT OR REPLACE",
    ) -> None:
        columns = (*COLUMNS[table], "body", "sum")
        names, marks = ", ".join(columns), ", ".join("?" * len(columns))
        lines = []
        for keys, value in rows:
            body = text_of(value)
            lines.append((*keys, body, checksum(table, *map(str, keys), body)))
        self._db.executemany(
            f"{how} INTO {table} ({names}) VALUES ({marks})",
            lines,
        )


def _columns(deliveries: Iterable[Delivery]) -> list[tuple[tuple[Any, ...], Any]]:
    return [
        ((d.message, d.channel, Sending(d.state).value, moment(d.next_at)), d)
        for d in deliveries
    ]
