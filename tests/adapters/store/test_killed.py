"""Killed at any line of the store: what it leaves is old or new, never half.

Each line that touches a file is a place to be killed at (a real SIGKILL, in a process
of its own); what SQLite does between two of them is SQLite's to keep safe, and is
struck call by call in ``tests/faults``.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
from states import KEYS, NOW, RUNS, check, everything, filled

import forecaster
from forecaster.domain.alerts.records import Kept, Phase
from forecaster.errors import StateError
from forecaster.store import backup, building, marker, meta, migrations
from forecaster.store.database import FILE
from forecaster.store.ledger import Ledger
from forecaster.store.rows import text_of
from forecaster.store.soundness import verify
from forecaster.store.tables import COLUMNS, put, sealed

FULL = os.environ.get("FORECASTER_FAULTS") == "full"
EVERY = 1 if FULL else 25
"""Lines from one kill to the next."""
HERE = Path(__file__).parent


def old_state(folder: Path) -> Path:
    """A state of the first schema, its rows still in the log, as after a kill."""
    made = folder.with_name(f"{folder.name}-made")
    made.mkdir()
    with closing(sqlite3.connect(made / FILE, isolation_level=None)) as db:
        db.execute("PRAGMA journal_mode = WAL")
        migrations.migrate(db, 1)
        meta.put(db, meta.INSTALLATION, "mine")
        meta.put(db, meta.COMMITS, "7")
        for key in KEYS:
            kept = Kept(key, Phase.OPEN)
            row = sealed("windows", str(key), key.season, text_of(kept))
            db.execute(put("windows", over=True), row)
        marker.write(made, marker.Mark("mine", 0, 7))
        return shutil.copytree(made, folder)


def version(folder: Path) -> int:
    """The schema of the file, without a look at anything else."""
    with closing(sqlite3.connect(folder / FILE)) as db:
        return int(db.execute("PRAGMA user_version").fetchone()[0])


def windows(folder: Path) -> list[Phase]:
    """Phases of the windows, by a fresh opening that finds nothing wrong."""
    with Ledger.open(folder, NOW) as ledger:
        assert not ledger.opened.lost
        assert not ledger.opened.restored
        return [each.phase for each in ledger.windows(2026).values()]


def test_an_old_state_is_brought_up_to_date(tmp_path: Path) -> None:
    """E39: every row is there, whose it is as well, and the new table."""
    folder = old_state(tmp_path / "state")
    assert version(folder) == 1
    assert windows(folder) == [Phase.OPEN] * len(KEYS)
    assert version(folder) == migrations.NEWEST
    with Ledger.open(folder, NOW) as ledger:
        assert ledger.installation == "mine"
        assert ledger.reasons(9) == {}


def test_a_step_that_fails_leaves_the_old_state(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """F43, F48: a full disk in the middle."""
    folder = old_state(tmp_path / "state")

    def half(db: sqlite3.Connection) -> None:
        db.execute("CREATE TABLE reasons (half TEXT)")
        error = sqlite3.OperationalError("database or disk is full")
        error.sqlite_errorcode = sqlite3.SQLITE_FULL
        raise error

    with monkeypatch.context() as patch:
        patch.setattr(migrations, "STEPS", (migrations.STEPS[0], half))
        with pytest.raises(StateError, match="full"):
            Ledger.open(folder, NOW)
    assert version(folder) == 1
    assert windows(folder) == [Phase.OPEN] * len(KEYS)


def test_an_old_state_that_others_read_waits(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is not replaced under somebody's feet, and stays as it was."""
    folder = old_state(tmp_path / "state")
    monkeypatch.setattr(building, "BUSY_S", 0.05)
    with closing(sqlite3.connect(folder / FILE, isolation_level=None)) as other:
        other.execute("BEGIN")
        other.execute("SELECT count(*) FROM windows").fetchone()
        with pytest.raises(StateError, match="locked"):
            Ledger.open(folder, NOW)
        assert version(folder) == 1
    assert windows(folder) == [Phase.OPEN] * len(KEYS)


def test_a_damaged_old_state_is_set_aside(tmp_path: Path) -> None:
    """It is never carried over into the new schema as if it were sound."""
    folder = old_state(tmp_path / "state")
    with closing(sqlite3.connect(folder / FILE)) as db:
        db.execute("UPDATE windows SET body = replace(body, 'open', 'shut')")
        db.commit()
    with Ledger.open(folder, NOW) as ledger:
        assert ledger.opened.lost
        assert ledger.windows(2026) == {}
    assert len(list(folder.glob("state-damaged-*.sqlite"))) == 1


# ------------------------------------------------------------------------ kills


class Doing:
    """A first start; others say what is different. Judged after a kill at any line."""

    def start(self, folder: Path) -> None:
        """Make what it begins with."""
        folder.mkdir()

    def do(self, folder: Path) -> None:
        """What may be killed."""
        Ledger.open(folder, NOW).close()

    def judge(self, folder: Path) -> None:
        """Open again, and hold it to the promise."""
        assert windows(folder) == []


class Migration(Doing):
    """The old file or the new one, with every row."""

    def start(self, folder: Path) -> None:
        old_state(folder)

    def judge(self, folder: Path) -> None:
        assert version(folder) in {1, migrations.NEWEST}
        assert windows(folder) == [Phase.OPEN] * len(KEYS)


class Restoring(Doing):
    """The copy is used, the damaged file is still there, and it is said."""

    def start(self, folder: Path) -> None:
        filled(folder)
        (folder / FILE).write_bytes(b"no database")

    def judge(self, folder: Path) -> None:
        with Ledger.open(folder, NOW) as ledger:
            assert ledger.opened.restored
            assert not ledger.opened.lost
            found = everything(ledger)
        assert len(found["windows"]) == len(KEYS)
        (aside,) = folder.glob("state-damaged-*.sqlite")
        assert aside.read_bytes() == b"no database"


class Losing(Doing):
    """Without a copy: that history is lost is said."""

    def start(self, folder: Path) -> None:
        filled(folder)
        shutil.rmtree(folder / backup.FOLDER)
        (folder / FILE).write_bytes(b"")

    def judge(self, folder: Path) -> None:
        with Ledger.open(folder, NOW) as ledger:
            assert ledger.opened.lost
            assert everything(ledger)["windows"] == {}


class Checking(Doing):
    """All of a check or nothing of it, and nothing to say of it."""

    def start(self, folder: Path) -> None:
        filled(folder)

    def do(self, folder: Path) -> None:
        with Ledger.open(folder, NOW) as ledger:
            check(ledger, RUNS)

    def judge(self, folder: Path) -> None:
        assert windows(folder) == [Phase.OPEN] * len(KEYS)
        with Ledger.open(folder, NOW) as ledger:
            found = everything(ledger)
        runs = len(found["runs"])
        assert runs in {RUNS, RUNS + 1}
        assert len(found["events"]) == runs * len(KEYS)
        assert len(found["deliveries"]) == runs * 2
        assert len(found["snoozes"]) == runs


class Copying(Checking):
    """Every copy that has a name is whole."""

    def do(self, folder: Path) -> None:
        with Ledger.open(folder, NOW) as ledger:
            ledger.back_up(NOW + np.timedelta64(1, "D"))

    def judge(self, folder: Path) -> None:
        super().judge(folder)
        for copy in backup.of(folder):
            with closing(sqlite3.connect(copy)) as db:
                verify(db, COLUMNS)


DOINGS = {
    each.__name__: each()
    for each in (Doing, Migration, Restoring, Losing, Checking, Copying)
}
KILLER = """
import os, signal, sys
from collections import Counter
from pathlib import Path
import forecaster.store
from test_killed import DOINGS

STORE = str(Path(forecaster.store.__file__).parent)
top, doing, every = Path(sys.argv[1]), DOINGS[sys.argv[2]], int(sys.argv[3])
PURE = {"rows.py", "tables.py", "soundness.py"}  # they only work things out
left, met = 0, Counter()

def trace(frame, event, _):
    global left
    path = frame.f_code.co_filename
    if not path.startswith(STORE) or os.path.basename(path) in PURE:
        return None
    if event == "line":
        met[path, frame.f_lineno] += 1
        left -= met[path, frame.f_lineno] <= 3  # of a loop, its first rounds
        if not left:
            os.kill(os.getpid(), signal.SIGKILL)
    return trace

doing.start(top / "0")
doing.do(top / "0")  # what is worked out once is worked out before
doing.judge(top / "0")
kills = 0
while True:
    left = 1 + kills * every
    here = top / str(left)
    doing.start(here)
    child = os.fork()
    if not child:
        sys.settrace(trace)
        doing.do(here)
        sys.settrace(None)
        os._exit(0)
    _, status = os.waitpid(child, 0)
    doing.judge(here)
    if not os.WIFSIGNALED(status):
        assert status == 0, status
        break
    kills += 1
print(kills)
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork on Windows")
@pytest.mark.parametrize("name", DOINGS)
def test_killed_at_any_line(tmp_path: Path, name: str) -> None:
    """E39, F43, F3: the promise of each holds, wherever it was killed."""
    top = str(Path(forecaster.__file__).parent.parent)
    done = subprocess.run(
        [sys.executable, "-B", "-c", KILLER, str(tmp_path), name, str(EVERY)],
        capture_output=True, text=True, check=False,
        env={**os.environ, "PYTHONPATH": os.pathsep.join([top, str(HERE)])},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-3000:]
    assert int(done.stdout) > 60 / EVERY
