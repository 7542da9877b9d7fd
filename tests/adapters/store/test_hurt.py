"""Damage of every kind: never read as sound, always set aside, said until told."""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from states import HOUR, KEYS, NOW, by_hand, check, everything, filled

from forecaster.domain.alerts.records import (
    Change,
    Event,
    FarmKept,
    Freshness,
    Rank,
    Sending,
)
from forecaster.errors import NewerStateError, StateError
from forecaster.store import backup, database, marker, meta, migrations, opening
from forecaster.store.database import FILE, SIDES, SUSPECT
from forecaster.store.ledger import Ledger
from forecaster.store.reader import Reader
from forecaster.store.soundness import verify
from forecaster.store.tables import COLUMNS, sealed

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

FLIPS = int(os.environ.get("FORECASTER_FLIPS", "150"))
HEAD = 100
"""Bytes of SQLite's own head (the documentation of its file format)."""


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sound state, to be copied."""
    return filled(tmp_path_factory.mktemp("whole") / "state")


@pytest.fixture
def state(whole: Path, tmp_path: Path) -> Path:
    """A sound state, to be hurt."""
    return shutil.copytree(whole, tmp_path / "state")


def left(folder: Path) -> list[Path]:
    """Files set aside."""
    return sorted(folder.glob("state-damaged-*"))


# ------------------------------------------------------------------ flipped bits


def _flip(sound: bytes, bit: int) -> bytes:
    hurt = bytearray(sound)
    hurt[bit // 8] ^= 1 << (bit % 8)
    return bytes(hurt)


def _bits(size: int) -> list[int]:
    """Of the head every eleventh, of the rest by chance; with FLIPS so many."""
    dice = random.Random(11)
    step = 1 if FLIPS > 1000 else 11
    return [
        *range(0, HEAD * 8, step),
        *(dice.randrange(size * 8) for _ in range(FLIPS)),
    ]


def test_a_flipped_bit_is_harmless_or_healed(whole: Path, tmp_path: Path) -> None:
    """F9: all that can be read is as it was, or an error that the next opening mends.

    Nothing is refused for good: a bit of the head makes it no other program's file.
    """
    with Ledger.open(whole, NOW) as ledger:
        wanted = everything(ledger)
    sound = (whole / FILE).read_bytes()
    met = healed = 0
    for number, bit in enumerate(_bits(len(sound))):
        folder = tmp_path / str(number)
        shutil.copytree(whole, folder)
        (folder / FILE).write_bytes(_flip(sound, bit))
        try:
            with Ledger.open(folder, NOW + HOUR) as ledger:
                healed += ledger.opened.restored
                assert not ledger.opened.lost
                assert everything(ledger) == wanted, f"bit {bit}"
        except StateError:
            met += 1
            with Ledger.open(folder, NOW + HOUR) as ledger:
                assert ledger.opened.restored
                assert everything(ledger) == wanted, f"bit {bit}"
        shutil.rmtree(folder)
    assert healed > FLIPS / 10
    assert met < FLIPS / 10


@pytest.mark.parametrize("byte", [18, 19, *range(60, 64), *range(68, 72)])
def test_a_flipped_bit_of_the_head_makes_nobody_elses_file(
    state: Path, byte: int
) -> None:
    """File format, schema and application id, where SQLite keeps them.

    Offsets: SQLite, "Database File Format", section 1.3. Such a file would be
    read-only, a newer program's or another's for good.
    """
    sound = (state / FILE).read_bytes()
    for bit in (0, 7):
        (state / FILE).write_bytes(_flip(sound, byte * 8 + bit))
        with Ledger.open(state, NOW) as ledger:
            assert ledger.opened.restored
            assert len(ledger.windows(2026)) == len(KEYS)


@pytest.mark.parametrize("at", [0.2, 0.5, 0.9])
def test_a_flipped_bit_of_the_log_is_said(
    state: Path, tmp_path: Path, at: float
) -> None:
    """SQLite drops the log from there on without a word; the note beside it knows."""
    folder = tmp_path / "flipped"
    with Ledger.open(state, NOW) as ledger:
        check(ledger, 3)
        shutil.copytree(state, folder)  # as a killed check leaves it: log and all
    log = folder / f"{FILE}-wal"
    size = log.stat().st_size
    assert size > 4096
    log.write_bytes(_flip(log.read_bytes(), int(size * at) * 8))
    with Ledger.open(folder, NOW) as ledger:
        assert ledger.opened.restored


# --------------------------------------------------------------- changed by hand

CHANGES = {
    "whose it is": "UPDATE meta SET value = 'x' WHERE name = 'installation'",
    "a window": "UPDATE windows SET body = replace(body, 'open', 'shut') "
    "WHERE key LIKE '%-3/%'",
    "a window gone": "DELETE FROM windows WHERE key LIKE '%-3/%'",
    "an event gone": "DELETE FROM events WHERE key = 'e1-1'",
    "a sight gone": "DELETE FROM sights WHERE key LIKE '%-3/%'",
    "a run gone": "DELETE FROM runs WHERE id = 2",
    "a claim for ever": "UPDATE deliveries SET lease = '2999-01-01T00:00:00'",
    "an old run": "UPDATE runs SET body = replace(body, 'false', 'true ')",
    "a number as text": "UPDATE events SET run = CAST(run AS BLOB)",
    "nobody's": "DELETE FROM meta WHERE name = 'installation'",
    "no number": "UPDATE meta SET value = 'many' WHERE name = 'commits'",
}


@pytest.mark.parametrize("name", CHANGES)
def test_a_row_changed_or_gone_is_seen(state: Path, name: str) -> None:
    """SQLite finds nothing wrong with such a file; checksums and tallies do."""
    with Ledger.open(state, NOW) as ledger:
        wanted = everything(ledger)
    by_hand(state, CHANGES[name])
    with closing(sqlite3.connect(state / FILE)) as db:
        assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    with Ledger.open(state, NOW) as ledger:
        assert ledger.opened.restored
        assert everything(ledger) == wanted
    assert len(left(state)) == 1


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE reasons SET reason = 'x' WHERE run = 1",
        "DELETE FROM reasons WHERE run = 2",
    ],
)
@pytest.mark.parametrize("by", ["check", "reader"])
def test_damage_met_while_reading_is_mended_at_the_next_opening(
    state: Path, change: str, by: str
) -> None:
    """Reasons are not looked through each time; an error leaves word for the next."""
    by_hand(state, change)
    with Ledger.open(state, NOW) as ledger:
        assert not ledger.opened.restored
        if by == "check":
            with pytest.raises(StateError, match="reasons"):
                ledger.reasons(3)
    if by == "reader":
        with Reader.of(state) as reader, pytest.raises(StateError, match="reasons"):
            reader.every_row()
    assert (state / SUSPECT).exists()
    with Ledger.open(state, NOW) as ledger:
        assert ledger.opened.restored
        assert len(ledger.reasons(3)) == len(KEYS)
    assert not (state / SUSPECT).exists()


def test_no_copy_is_made_of_damage(state: Path) -> None:
    """The copies from before it stay the newest."""
    by_hand(state, "DELETE FROM reasons WHERE run = 2")
    with Ledger.open(state, NOW) as ledger, pytest.raises(StateError, match="reasons"):
        ledger.back_up(NOW + 24 * HOUR)
    assert [path.name for path in backup.of(state)] == ["state-20261012.sqlite"]
    with Ledger.open(state, NOW) as ledger:
        assert ledger.opened.restored


def test_the_database_tallies_its_rows_itself(state: Path) -> None:
    """Rows put in, put over and taken out by plain SQL leave the tally right."""
    with closing(sqlite3.connect(state / FILE, isolation_level=None)) as db:
        row = sealed("sights", "k", "{}")
        db.execute("INSERT INTO sights VALUES (?, ?, ?)", row)
        db.execute("UPDATE sights SET body = ?, sum = ? WHERE key = 'k'",
                   sealed("sights", "k", "[]")[1:])  # fmt: skip
        db.execute("DELETE FROM events WHERE key = 'e1-1'")
        verify(db, COLUMNS)


# ------------------------------------------------------------- logs and other files


def test_a_log_that_went_missing_is_said(state: Path, tmp_path: Path) -> None:
    """What was sent since is not known any more: never taken for the whole truth."""
    folder = tmp_path / "without"
    with Ledger.open(state, NOW) as ledger:
        (first, *_) = ledger.due(NOW)
        claimed = ledger.claim(first, NOW, 60)
        assert claimed is not None
        ledger.finish(replace(claimed, state=Sending.SENT, ended=NOW))
        shutil.copytree(state, folder)  # as a killed check leaves it
    assert (folder / f"{FILE}-wal").stat().st_size
    (folder / f"{FILE}-wal").unlink()
    with Ledger.open(folder, NOW) as ledger:
        assert ledger.opened.restored
        assert ledger.opened.words == opening.OLDER


def test_the_log_of_a_file_that_is_gone_is_not_used(
    state: Path, tmp_path: Path
) -> None:
    """It would be taken for the log of the copy that is put back."""
    folder = tmp_path / "gone"
    with Ledger.open(state, NOW) as ledger:
        with ledger.writing() as tx:
            windows = ledger.windows(2026).values()
            tx.put_windows([replace(each, sprayed=True) for each in windows])
        shutil.copytree(state, folder)
    (folder / FILE).unlink()
    with Ledger.open(folder, NOW) as ledger:
        assert ledger.opened.restored
        assert not any(each.sprayed for each in ledger.windows(2026).values())
    assert len(left(folder)) == len(SIDES) - 1


@pytest.mark.parametrize("what", ["log", "file"])
def test_another_farms_state_is_not_used(
    state: Path, tmp_path: Path, what: str
) -> None:
    """Sound as it is; the note knows whose state belongs here."""
    other, mixed = filled(tmp_path / "other"), tmp_path / "mixed"
    with Ledger.open(state, NOW) as ledger:
        mine = everything(ledger)
    with Ledger.open(other, NOW) as ledger:
        for number in range(3, 9):
            check(ledger, number)
        shutil.copytree(state, mixed)
        names = [f"{FILE}-wal"] if what == "log" else [FILE, f"{FILE}-wal"]
        for name in names:
            shutil.copy(other / name, mixed / name)
    with Ledger.open(mixed, NOW) as ledger:
        assert ledger.opened.restored
        assert everything(ledger) == mine
    assert left(mixed)


def test_a_copy_of_another_farm_is_not_used(state: Path, tmp_path: Path) -> None:
    """Nor a damaged one, nor a newer program's: the next best is."""
    other = filled(tmp_path / "other")
    copies = state / backup.FOLDER
    shutil.copy(other / FILE, copies / "state-20261231.sqlite")
    (copies / "state-20261230.sqlite").write_bytes(b"")
    newer = copies / "state-20261229.sqlite"
    shutil.copy(state / FILE, newer)
    _make_newer(newer)
    (state / FILE).unlink()
    with Ledger.open(state, NOW) as ledger:
        assert "the copy state-20261012.sqlite is used" in ledger.opened.words


def test_the_copy_that_came_furthest_is_used(state: Path) -> None:
    """Not the one with the latest name: that may be the work of a wrong clock."""
    early = state / backup.FOLDER / "state-20261012.sqlite"
    early.rename(early.with_name("state-21001012.sqlite"))
    with Ledger.open(state, NOW) as ledger:
        check(ledger, 3)
        ledger.back_up(NOW + 24 * HOUR)
    (state / FILE).write_bytes(b"no database")
    with Ledger.open(state, NOW) as ledger:
        assert "the copy state-20261013.sqlite is used" in ledger.opened.words
        assert len(ledger.runs(NOW, NOW + 9 * HOUR)) == 4


# -------------------------------------------------------------- said until told


@pytest.mark.parametrize("copies", [True, False], ids=["restored", "lost"])
def test_what_was_found_is_said_until_an_event_tells_it(
    state: Path, copies: bool
) -> None:
    """A check killed between the two does not make it forgotten."""
    if not copies:
        shutil.rmtree(state / backup.FOLDER)
    (state / FILE).write_bytes(b"no database")
    with Ledger.open(state, NOW) as ledger, ledger.writing() as tx:
        tx.begin_run(NOW)  # and the check dies
    change = Change.RESTORED if copies else Change.HISTORY_LOST
    with Ledger.open(state, NOW) as ledger:
        found = ledger.opened
        assert (found.lost, found.restored) == (not copies, copies)
        assert "the state was damaged (it is no database)" in found.words
        with ledger.writing() as tx:
            tx.add_events([Event("told", change, Rank.PUSH, NOW, NOW, because="")])
    with Ledger.open(state, NOW) as ledger:
        assert not ledger.opened.lost
        assert not ledger.opened.restored
        assert not ledger.opened.words


def test_two_misfortunes_are_both_said(state: Path) -> None:
    """The second does not hide the first."""
    shutil.rmtree(state / backup.FOLDER)
    (state / FILE).write_bytes(b"no database")
    with Ledger.open(state, NOW) as ledger:
        assert ledger.opened.lost
        ledger.back_up(NOW)
    (state / FILE).write_bytes(b"")
    with Ledger.open(state, NOW) as ledger:
        assert ledger.opened.lost
        assert ledger.opened.restored
        assert "there is no sound copy of it; the state was damaged (it is empty)" in (
            ledger.opened.words
        )


# ------------------------------------------------------------------- the note


@pytest.mark.parametrize(
    "note", [None, b"", b"\x00" * 40, b"[]", b'{"installation": "x", "run": 1}',
             b'{"installation":"x","run":9,"commits":99,"sum":5}', b"\xff\xfe"],
)  # fmt: skip
def test_a_note_that_cannot_be_trusted_harms_nothing(
    state: Path, note: bytes | None
) -> None:
    """A sound state stays in use and leaves a new note."""
    before = marker.read(state)
    assert before is not None
    path = state / marker.FILE
    if note is None:
        path.unlink()
    else:
        path.write_bytes(note)
    with Ledger.open(state, NOW) as ledger:
        assert not ledger.opened.restored
        assert not ledger.opened.lost
    assert marker.read(state) == before
    assert not left(state)


def test_a_note_that_cannot_be_written_stops_nothing(
    state: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is kept is kept; only less would be noticed."""
    (state / f"{marker.FILE}.half").mkdir()
    with Ledger.open(state, NOW) as ledger:
        check(ledger, 3)
    monkeypatch.undo()
    with Ledger.open(state, NOW) as ledger:
        assert len(ledger.runs(NOW, NOW + 9 * HOUR)) == 4


# ------------------------------------------------------ out of reach is not hurt

IN_THE_WAY = {
    "locked": sqlite3.SQLITE_BUSY,
    "no memory": sqlite3.SQLITE_NOMEM,
    "read only": sqlite3.SQLITE_READONLY,
    "disk error": sqlite3.SQLITE_IOERR_READ,
    "full": sqlite3.SQLITE_FULL,
    "cannot be opened": sqlite3.SQLITE_CANTOPEN,
}


def _raising(code: int) -> Callable[[object], None]:
    def refuse(_: object) -> None:
        error = sqlite3.OperationalError("refused")
        error.sqlite_errorcode = code
        raise error

    return refuse


@pytest.mark.parametrize("name", IN_THE_WAY)
def test_a_state_out_of_reach_is_not_set_aside(
    state: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    """A disk in trouble: one error, the file stays, and is used once that is over."""
    with monkeypatch.context() as patch:
        patch.setattr(opening, "look_through", _raising(IN_THE_WAY[name]))
        with pytest.raises(StateError, match="refused"):
            Ledger.open(state, NOW)
    assert not left(state)
    assert not (state / SUSPECT).exists()
    with Ledger.open(state, NOW) as ledger:
        assert not ledger.opened.restored


def test_a_disk_in_trouble_while_a_copy_is_put_back(
    state: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The damaged file is aside, the copies wait: the next check uses them."""
    from forecaster.store import building

    (state / FILE).write_bytes(b"no database")
    with monkeypatch.context() as patch:
        patch.setattr(building, "migrate", _raising(sqlite3.SQLITE_FULL))
        with pytest.raises(StateError, match="refused"):
            Ledger.open(state, NOW)
    with Ledger.open(state, NOW) as ledger:
        assert ledger.opened.restored
        assert len(ledger.windows(2026)) == len(KEYS)


# --------------------------------------------------------- ours, and when not


def _make_newer(path: Path, *, ours: bool = True) -> None:
    """As a later program would leave it: the number in both places, a table more."""
    number = migrations.NEWEST + 1
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("CREATE TABLE later (name TEXT)")
        db.execute(f"PRAGMA user_version = {number}")
        if ours:
            meta.put(db, meta.SCHEMA, str(number))
        else:
            db.execute("DROP TABLE meta")


@pytest.mark.parametrize("ours", [True, False], ids=["meta", "no meta"])
def test_a_newer_state_is_left_alone(state: Path, ours: bool) -> None:
    """F43: nothing is touched, also where it speaks of itself in another way."""
    _make_newer(state / FILE, ours=ours)
    before = (state / FILE).read_bytes()
    with pytest.raises(NewerStateError, match="newer forecaster"):
        Ledger.open(state, NOW)
    assert (state / FILE).read_bytes() == before
    assert not left(state)


def test_a_row_of_a_later_program_is_not_taken_for_damage(state: Path) -> None:
    """Its checksum is right; only this program does not know the word."""
    with Ledger.open(state, NOW) as ledger, ledger.writing() as tx:
        tx.put_farm(FarmKept(Freshness.AGEING))
    with closing(sqlite3.connect(state / FILE, isolation_level=None)) as db:
        body = db.execute("SELECT body FROM farm").fetchone()[0]
        row = sealed("farm", 1, body.replace("ageing", "ripening"))
        db.execute("UPDATE farm SET body = ?, sum = ?", row[1:])
    with (
        Ledger.open(state, NOW) as ledger,
        pytest.raises(NewerStateError, match="ripening"),
    ):
        ledger.farm()
    assert not (state / SUSPECT).exists()


@pytest.mark.skipif(os.name != "posix", reason="links are POSIX's")
@pytest.mark.parametrize(
    "name", [f"{FILE}-wal", f"{FILE}-shm", marker.FILE, backup.FOLDER]
)
def test_a_link_beside_the_file_is_refused(
    state: Path, tmp_path: Path, name: str
) -> None:
    """R26: SQLite and we would write through it."""
    target = tmp_path / "elsewhere"
    if (state / name).exists():
        (state / name).rename(target)
    (state / name).symlink_to(target)
    with pytest.raises(StateError, match="is a link"):
        Ledger.open(state, NOW)


@pytest.mark.skipif(os.name != "posix", reason="modes are POSIX's")
def test_all_files_are_open_to_their_owner_only(state: Path) -> None:
    """R26: also those SQLite makes, copies, and what is set aside."""
    (state / FILE).write_bytes(b"no database")
    with Ledger.open(state, NOW) as ledger:
        check(ledger, 3)
        ledger.back_up(NOW + 24 * HOUR)
        modes = {path.name: path.stat().st_mode & 0o077 for path in state.rglob("*")}
    assert {name for name, mode in modes.items() if mode} == set()
    assert database.FILE in modes
