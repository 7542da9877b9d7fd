"""What keeping the state of a large district costs, as ratios to plain rows of text.

The baseline writes and reads the very same text in a plain table of SQLite, with the
same care for the disk, and without a checksum, a tally or a look at what the text says.

Set ``FORECASTER_BENCH=full`` for 20,000 windows; otherwise a tenth of it is run.
"""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from time import perf_counter
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.domain.alerts.records import Kept, Phase, Votes, WindowKey
from forecaster.store.ledger import Ledger
from forecaster.store.rows import text_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

NOW = np.datetime64("2026-10-12T00:00:00", "s")
SEASON = 2026
WINDOWS = 20_000 if os.environ.get("FORECASTER_BENCH") == "full" else 2_000
MOST = 60.0
"""Times the baseline, where nothing like it may ever be slow."""


def district() -> list[Kept]:
    """Windows in the middle of a season."""
    votes = Votes(Phase.CLOSING, (NOW, NOW), NOW)
    return [
        Kept(
            WindowKey(SEASON, f"paddock-{n}", "silver_grass", "glyphosate"),
            Phase.OPEN, votes=votes, source="open", basis="5b1c", issue=NOW, edge=NOW,
            told_close=NOW, told_at=NOW, has_hours=True,
        )
        for n in range(WINDOWS)
    ]  # fmt: skip


def timed(work: Callable[[], object]) -> float:
    """Seconds."""
    begun = perf_counter()
    work()
    return perf_counter() - begun


def plain(folder: Path, windows: list[Kept]) -> tuple[float, float]:
    """The baseline: seconds to write and to read."""
    lines = [(str(each.key), text_of(each)) for each in windows]
    path = folder / "plain.sqlite"
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("PRAGMA journal_mode = WAL")
        db.execute("PRAGMA synchronous = FULL")
        db.execute("CREATE TABLE t (key TEXT PRIMARY KEY, body TEXT) WITHOUT ROWID")

        def write() -> None:
            db.execute("BEGIN")
            db.executemany("INSERT INTO t VALUES (?, ?)", lines)
            db.execute("COMMIT")

        return timed(write), timed(db.execute("SELECT * FROM t").fetchall)


@pytest.mark.benchmark
def test_a_district_is_kept_and_read(
    tmp_path: Path, measured: Callable[[str], None]
) -> None:
    """Checksums, tallies and values cost a stated multiple of bare text."""
    windows = district()
    write, read = plain(tmp_path, windows)
    keys = [each.key for each in windows]

    def put(ledger: Ledger) -> None:
        with ledger.writing() as tx:
            tx.put_windows(windows)

    def why(ledger: Ledger, reason: str) -> None:
        with ledger.writing() as tx:
            run = tx.begin_run(NOW)
            tx.note_reasons(run.id, dict.fromkeys(keys, reason))

    folder = tmp_path / "state"
    with Ledger.open(folder, NOW) as ledger:
        spent = {
            "windows, first": (timed(lambda: put(ledger)), write),
            "windows, unchanged": (timed(lambda: put(ledger)), write),
            "windows, read": (timed(lambda: ledger.windows(SEASON)), read),
            "reasons, new": (timed(lambda: why(ledger, "same.open")), write),
            "reasons, the same": (timed(lambda: why(ledger, "same.open")), write),
        }
        assert ledger.windows(SEASON) == {each.key: each for each in windows}
    spent["opened, all looked through"] = (
        timed(lambda: Ledger.open(folder, NOW).close()),
        read,
    )
    lines = [
        f"baseline: the same text of {WINDOWS:,} windows in a plain table of SQLite",
        f"  written in {1e3 * write:.1f} ms, read in {1e3 * read:.1f} ms",
        *(
            f"{name:28s} {1e3 * ours:8.1f} ms  {ours / theirs:5.1f} times"
            for name, (ours, theirs) in spent.items()
        ),
    ]
    measured("\n".join(lines))
    again, first = spent["windows, unchanged"][0], spent["windows, first"][0]
    assert again < 2 * first
    assert spent["windows, first"][0] < MOST * write
    assert spent["reasons, new"][0] < MOST * write
