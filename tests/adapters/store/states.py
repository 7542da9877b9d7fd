"""A state with rows in every table, and all that can be read of it."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING, Any

import numpy as np

from forecaster.domain.alerts.reading import GoodBlock, Reading, Span
from forecaster.domain.alerts.records import (
    Change,
    Delivery,
    Event,
    FarmKept,
    Freshness,
    Kept,
    Message,
    Phase,
    Rank,
    Sending,
    Snooze,
    WindowKey,
)
from forecaster.store.database import FILE
from forecaster.store.ledger import Ledger

if TYPE_CHECKING:
    from pathlib import Path

NOW = np.datetime64("2026-10-12T00:00:00", "s")
HOUR = np.timedelta64(3600, "s")
KEYS = [
    WindowKey(2026, f"paddock-{n}", "silver_grass", "glyphosate") for n in range(12)
]
RUNS = 3
_SPAN = Span(None, NOW, NOW + HOUR)
_BLOCK = GoodBlock(NOW, NOW + HOUR, 225.0, 4.0, 0.5)


def sight(key: WindowKey) -> Reading:
    """What a check read of a window."""
    return Reading(
        key, "Creek Flat", "Silver grass", 40.0, 3.0, False, _SPAN, _SPAN, None, 1.0,
        (_BLOCK,), 6.0, 2.0,
    )  # fmt: skip


def check(ledger: Ledger, number: int) -> None:
    """Keep what one check would."""
    with ledger.writing() as tx:
        run = tx.begin_run(NOW + number * HOUR)
        tx.put_farm(FarmKept(Freshness.FRESH, season=2026))
        tx.put_windows([Kept(key, Phase.OPEN, issue=NOW) for key in KEYS])
        tx.put_sights({key: sight(key) for key in KEYS})
        events = [
            Event(
                f"e{number}-{n}", Change.OPENED, Rank.PUSH, NOW, NOW, key, 1, run=run.id
            )
            for n, key in enumerate(KEYS)
        ]
        tx.add_events(events)
        keys = tuple(each.key for each in events)
        tx.add_messages([Message(f"m{number}", Rank.PUSH, keys, NOW)])
        tx.add_deliveries(
            [
                Delivery(f"m{number}", "phone", Sending.WAITING, NOW),
                Delivery(f"m{number}", "shed", Sending.SENT, NOW, 1, ended=NOW),
            ]
        )
        tx.note_reasons(run.id, dict.fromkeys(KEYS, f"same.{number}"))
        tx.add_snooze(Snooze("paddock-1", "", NOW, NOW + 24 * HOUR))
        tx.put_run(run)


def filled(folder: Path) -> Path:
    """Three checks, and a copy of the day."""
    with Ledger.open(folder, NOW) as ledger:
        for number in range(RUNS):
            check(ledger, number)
        ledger.back_up(NOW)
    return folder


def everything(ledger: Ledger) -> dict[str, Any]:
    """All that can be asked of a state."""
    late = NOW + 9 * HOUR
    return {
        "installation": ledger.installation,
        "farm": ledger.farm(),
        "windows": ledger.windows(2026),
        "sights": ledger.sights(KEYS),
        "events": ledger.events(),
        "of one check": ledger.events(after_run=2),
        "messages": ledger.messages([f"m{n}" for n in range(RUNS)]),
        "deliveries": ledger.deliveries(),
        "due": ledger.due(late),
        "runs": ledger.runs(NOW, late),
        "snoozes": ledger.every_snooze(),
        "reasons": [ledger.reasons(n) for n in range(1, RUNS + 1)],
    }


def by_hand(folder: Path, *statements: str) -> None:
    """Change a state behind its back; what the database tallies itself stays."""
    with closing(sqlite3.connect(folder / FILE)) as db:
        tallies = db.execute("SELECT rows, mix, name FROM tallies").fetchall()
        for statement in statements:
            assert db.execute(statement).rowcount
        db.executemany("UPDATE tallies SET rows = ?, mix = ? WHERE name = ?", tallies)
        db.commit()
