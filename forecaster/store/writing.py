"""One transaction on what is kept."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from forecaster.domain.alerts.records import Change, Run, Sending
from forecaster.store import meta
from forecaster.store.rows import text_of
from forecaster.store.soundness import sound_rows
from forecaster.store.tables import put, sealed

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

LONGEST_LEASE = np.timedelta64(3600, "s")
"""A claim that reaches further was made by a clock that was wrong, and holds nobody."""
_TELL = {Change.HISTORY_LOST, Change.RESTORED}
"""Events that tell what was found when the state was opened."""


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
        """Events; one that is known already stays as it was.

        Once one tells what was found when the state was opened, that is forgotten.
        """
        rows = []
        for each in events:
            window = "" if each.window is None else str(each.window)
            rows.append(((each.key, each.run, moment(each.made), window), each))
            if each.change in _TELL:
                meta.drop(self._db, meta.OPENING)
        self._put("events", rows, over=False)

    def add_messages(self, messages: Iterable[Message]) -> None:
        """Messages; one that is known already stays as it was."""
        rows = [((each.key, moment(each.made)), each) for each in messages]
        self._put("messages", rows, over=False)

    def add_deliveries(self, deliveries: Iterable[Delivery]) -> None:
        """Deliveries of new messages; one that is under way stays as it is."""
        self._put("deliveries", _columns(deliveries), over=False)

    def put_deliveries(self, deliveries: Iterable[Delivery]) -> None:
        """Deliveries as they stand now."""
        self._put("deliveries", _columns(deliveries))

    def claim(
        self, delivery: Delivery, now: np.datetime64, until: np.datetime64
    ) -> Delivery | None:
        """Take a delivery if nobody else has it, and it stands as it was read."""
        taken = replace(delivery, attempts=delivery.attempts + 1)
        *_, lease, body, total = sealed("deliveries", *_way(taken, until))
        known = _way(delivery)
        changed = self._db.execute(
            "UPDATE deliveries SET lease = ?, body = ?, sum = ? WHERE message = ? "
            "AND channel = ? AND state = 'waiting' AND next_at = ? AND body = ? "
            "AND (lease <= ? OR lease > ?)",
            (
                lease, body, total, delivery.message, delivery.channel,
                moment(delivery.next_at), known[-1], moment(now),
                moment(now + LONGEST_LEASE),
            ),
        ).rowcount  # fmt: skip
        return taken if changed == 1 else None

    def begin_run(self, now: np.datetime64) -> Run:
        """A check with a number of its own."""
        row = self._db.execute(
            "INSERT INTO runs (started, body, sum) VALUES (?, '', 0)", (moment(now),)
        )
        run = Run(int(row.lastrowid or 0), now)
        self.put_run(run)
        return run

    def put_run(self, run: Run) -> None:
        """A check as it stands now."""
        self._put("runs", [((run.id, moment(run.started)), run)])

    def add_snooze(self, snooze: Snooze) -> None:
        """Somebody asked for quiet."""
        row = sealed("snoozes", moment(snooze.made), text_of(snooze))
        self._db.execute("INSERT INTO snoozes (made, body, sum) VALUES (?, ?, ?)", row)

    def note_reasons(self, run: int, reasons: Mapping[WindowKey, str]) -> None:
        """Why there was no message; only where the reason is another than before."""
        new = [
            sealed("reasons", str(key), run, reason)
            for key, reason in reasons.items()
            if self._last_reason(str(key)) != reason
        ]
        self._db.executemany(put("reasons", over=True), new)

    def _last_reason(self, window: str) -> str | None:
        where = "WHERE t.window = ? ORDER BY t.run DESC LIMIT 1"
        for _, _, reason in sound_rows(self._db, "reasons", where, (window,)):
            return str(reason)
        return None

    def _put(
        self,
        table: str,
        rows: Iterable[tuple[tuple[Any, ...], Any]],
        *,
        over: bool = True,
    ) -> None:
        lines = [sealed(table, *keys, text_of(value)) for keys, value in rows]
        self._db.executemany(put(table, over=over), lines)


def _columns(deliveries: Iterable[Delivery]) -> list[tuple[tuple[Any, ...], Any]]:
    return [(_way(each)[:-1], each) for each in deliveries]


def _way(delivery: Delivery, lease: np.datetime64 | None = None) -> tuple[Any, ...]:
    """The columns of a delivery, claimed up to ``lease``."""
    return (
        delivery.message,
        delivery.channel,
        Sending(delivery.state).value,
        moment(delivery.next_at),
        "" if lease is None else moment(lease),
        text_of(delivery),
    )
