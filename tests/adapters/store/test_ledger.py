"""What is kept comes back as it was; what is damaged is never read as sound."""

from __future__ import annotations

import json
import os
import random
import sqlite3
from contextlib import closing, suppress
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

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
    Run,
    Sending,
    Snooze,
    Votes,
    WindowKey,
)
from forecaster.errors import BusyError, NewerStateError, StateError
from forecaster.store import backup
from forecaster.store.database import FILE
from forecaster.store.ledger import Ledger
from forecaster.store.one_check import alone
from forecaster.store.rows import text_of, value_of

if TYPE_CHECKING:
    from pathlib import Path

NOW = np.datetime64("2026-10-12T00:00:00", "s")
HOUR = np.timedelta64(3600, "s")
KEY = WindowKey(2026, "back-road", "silver_grass", "glyphosate")

moments = st.integers(0, 4_000_000_000).map(lambda s: np.datetime64(s, "s"))
maybe = st.none() | moments
names = st.text(max_size=12)
keys = st.builds(WindowKey, st.integers(1900, 2200), names, names, names)
numbers = st.floats(allow_nan=False)
spans = st.builds(Span, maybe, maybe, maybe)
VALUES = {
    Kept: st.builds(
        Kept, keys, st.sampled_from(Phase), st.integers(1, 99),
        st.none() | st.builds(
            Votes, st.sampled_from(Phase), st.lists(moments).map(tuple), moments
        ),
        names, names, maybe, maybe, numbers, maybe, maybe, maybe,
        st.none() | st.booleans(), maybe, st.booleans(), st.booleans(), st.booleans(),
        maybe, st.booleans(), st.integers(1, 99),
        st.lists(st.sampled_from(Change), max_size=2).map(tuple), st.integers(0, 9),
    ),
    FarmKept: st.builds(
        FarmKept, st.none() | st.sampled_from(Freshness), maybe, maybe, maybe, maybe
    ),
    Event: st.builds(
        Event, names, st.sampled_from(Change), st.sampled_from(Rank), moments, moments,
        st.none() | keys, st.integers(0, 9), names, st.integers(0, 9),
    ),
    Message: st.builds(
        Message, names, st.sampled_from(Rank), st.lists(names, max_size=3).map(tuple),
        moments,
    ),
    Delivery: st.builds(
        Delivery, names, names, st.sampled_from(Sending), moments, st.integers(0, 99),
        names, names, maybe, st.booleans(),
    ),
    Run: st.builds(
        Run, st.integers(0, 9), moments, maybe, names, names, maybe,
        st.none() | st.integers(0, 99), st.booleans(),
        st.dictionaries(names, st.integers(0, 9), max_size=3),
        st.lists(names, max_size=2).map(tuple),
    ),
    Snooze: st.builds(Snooze, names, names, moments, moments, names),
    Reading: st.builds(
        Reading, keys, names, names, numbers, numbers, st.booleans(), spans, spans,
        maybe, numbers,
        st.lists(st.builds(GoodBlock, moments, moments, numbers, numbers, numbers),
                 max_size=2).map(tuple),
        numbers, numbers, st.booleans(), names, names,
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", list(VALUES), ids=lambda kind: kind.__name__)
def test_round_trip(kind: type) -> None:
    """Each value comes back equal, whatever is in it."""

    @settings(max_examples=40, deadline=None)
    @given(VALUES[kind])
    def check(value: object) -> None:
        assert value_of(kind, text_of(value)) == value

    check()


@pytest.mark.parametrize(
    "text",
    ["", "{}", "[]", "null", "7", '{"key": "x"}', '{"message": 1, "channel": "x"}',
     text_of(Delivery("m", "c", Sending.SENT, NOW))[:-1] + ',"more":1}',
     text_of(Delivery("m", "c", Sending.SENT, NOW)).replace("sent", "flown")],
)  # fmt: skip
def test_what_is_no_delivery_is_refused(text: str) -> None:
    """Neither a field too few nor one too many."""
    with pytest.raises(ValueError, match=r"."):
        value_of(Delivery, text)


WRONG = {
    "a text": ("key", 5), "a choice": ("change", "flown"), "a moment": ("at", 5),
    "a moment of another form": ("at", "2026-10"), "a number": ("epoch", "1"),
    "truth for a number": ("epoch", True), "a list": ("window", "x"),
    "a list too short": ("window", [2026, "x"]),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_a_field_of_another_kind_is_refused(name: str) -> None:
    """A value is what its field says, or the row is not read."""
    event = Event("e", Change.OPENED, Rank.PUSH, NOW, NOW, KEY, 1)
    field, value = WRONG[name]
    plain = {**json.loads(text_of(event)), field: value}
    with pytest.raises(ValueError, match="not a Event"):
        value_of(Event, json.dumps(plain))


@pytest.mark.parametrize(
    ("field", "value"), [("jitter", "wide"), ("jitter", True), ("sprayed", 1),
                         ("reminded", "closing"), ("votes", 7)],
)  # fmt: skip
def test_so_is_a_field_of_a_window(field: str, value: object) -> None:
    """Numbers, truths, lists and what lies inside."""
    plain = {**json.loads(text_of(Kept(KEY))), field: value}
    with pytest.raises(ValueError, match="not a Kept"):
        value_of(Kept, json.dumps(plain))


def test_any_character_can_be_kept(tmp_path: Path) -> None:
    """Half of a surrogate pair, as names of files may hold, stops no check."""
    with Ledger.open(tmp_path, NOW) as ledger:
        with ledger.writing() as tx:
            run = tx.begin_run(NOW)
            tx.put_run(replace(run, notes=("\udcff\x00é",)))
        (kept,) = ledger.runs(NOW, NOW)
    assert kept.notes == ("\udcff\x00é",)


def test_what_stands_already_is_not_written_again(tmp_path: Path) -> None:
    """A check in which nothing changed leaves the windows' rows alone."""
    windows = [Kept(KEY, Phase.OPEN), Kept(KEY._replace(paddock="hill"), Phase.OPEN)]
    with Ledger.open(tmp_path, NOW) as ledger:
        counts = []
        for phase in (Phase.OPEN, Phase.OPEN, Phase.CLOSING):
            with ledger.writing() as tx:
                before = ledger._db.total_changes
                tx.put_windows([replace(windows[0], phase=phase), windows[1]])
                counts.append(ledger._db.total_changes - before)
        assert counts[1] == 0
        assert counts[0] > counts[2] > 0
        assert ledger.windows(2026)[KEY].phase is Phase.CLOSING


def test_a_claim_of_a_wrong_clock_holds_nobody(tmp_path: Path) -> None:
    """Made by a clock years ahead, it would keep the message back for years."""
    with Ledger.open(filled(tmp_path), NOW) as ledger:
        (waiting,) = ledger.due(NOW)
        ahead = NOW + 24 * 365 * HOUR
        taken = ledger.claim(waiting, ahead, 600)
        assert taken is not None
        (again,) = ledger.due(NOW)
        assert again == taken
        assert ledger.claim(waiting, NOW, 600) is None, "it stands otherwise by now"
        assert ledger.claim(again, NOW, 600) is not None
        assert ledger.due(NOW) == []


def filled(folder: Path) -> Path:
    """A state with a row in every table."""
    event = Event("e1", Change.OPENED, Rank.PUSH, NOW, NOW, KEY, 1, run=1)
    with Ledger.open(folder, NOW) as ledger:
        with ledger.writing() as tx:
            run = tx.begin_run(NOW)
            tx.put_farm(FarmKept(Freshness.FRESH, season=2026))
            tx.put_windows([Kept(KEY, Phase.OPEN)])
            tx.add_events([event])
            tx.add_messages([Message("m1", Rank.PUSH, ("e1",), NOW)])
            tx.add_deliveries([Delivery("m1", "phone", Sending.WAITING, NOW)])
            tx.note_reasons(run.id, {KEY: "event.opened"})
            tx.add_snooze(Snooze("back-road", "", NOW, NOW + 24 * HOUR))
        ledger.back_up(NOW)
    return folder


def test_kept_and_read(tmp_path: Path) -> None:
    """What was written is there after it is opened again."""
    with Ledger.open(filled(tmp_path), NOW) as ledger:
        assert ledger.farm() == FarmKept(Freshness.FRESH, season=2026)
        assert ledger.windows(2026) == {KEY: Kept(KEY, Phase.OPEN)}
        assert ledger.windows(2025) == {}
        assert [each.key for each in ledger.events()] == ["e1"]
        assert ledger.events(after_run=1) == []
        assert [each.paddock for each in ledger.snoozes(NOW)] == ["back-road"]
        assert ledger.snoozes(NOW + 25 * HOUR) == []
        assert ledger.reasons(1) == {str(KEY): (1, "event.opened")}
        assert not (ledger.opened.lost)
        assert not (ledger.opened.restored)


def test_an_event_is_kept_once(tmp_path: Path) -> None:
    """The database refuses a second one of the same key."""
    with Ledger.open(filled(tmp_path), NOW) as ledger:
        again = Event("e1", Change.CLOSED, Rank.PUSH, NOW, NOW, KEY, 1, run=2)
        with ledger.writing() as tx:
            tx.add_events([again])
        assert [each.change for each in ledger.events()] == [Change.OPENED]


def test_nothing_of_a_transaction_that_fails(tmp_path: Path) -> None:
    """All of it, or nothing."""
    with Ledger.open(filled(tmp_path), NOW) as ledger:
        with suppress(RuntimeError), ledger.writing() as tx:
            tx.put_windows([Kept(KEY, Phase.CLOSED)])
            raise RuntimeError
        assert ledger.windows(2026)[KEY].phase is Phase.OPEN


def test_a_delivery_is_claimed_by_one(tmp_path: Path) -> None:
    """Compare and set; free again when the lease is over."""
    with Ledger.open(filled(tmp_path), NOW) as one, Ledger.open(tmp_path, NOW) as other:
        (mine,), (theirs,) = one.due(NOW), other.due(NOW)
        claimed = one.claim(mine, NOW, 60)
        assert claimed is not None
        assert claimed.attempts == 1
        assert other.claim(theirs, NOW, 60) is None
        assert other.due(NOW) == []
        assert len(other.due(NOW + HOUR)) == 1
        one.finish(replace(claimed, state=Sending.SENT, ended=NOW))
        assert other.due(NOW + HOUR) == []
        assert other.last_sent() == {"phone": NOW}


def test_reasons_are_kept_where_they_change(tmp_path: Path) -> None:
    """One row for a season of the same."""
    with Ledger.open(tmp_path, NOW) as ledger:
        for reason in ("same.open", "same.open", "hold.band", "hold.band", "same.open"):
            with ledger.writing() as tx:
                run = tx.begin_run(NOW)
                tx.note_reasons(run.id, {KEY: reason})
        assert ledger.reasons(2) == {str(KEY): (1, "same.open")}
        assert ledger.reasons(4) == {str(KEY): (3, "hold.band")}
        assert ledger.reasons(9) == {str(KEY): (5, "same.open")}


def test_one_check_at_a_time(tmp_path: Path) -> None:
    """The second is told since when the first has run."""
    with alone(tmp_path / "a", NOW):
        with pytest.raises(BusyError) as error, alone(tmp_path / "a", NOW + HOUR):
            pass
        assert error.value.since == NOW


def test_the_only_copy_of_a_day_and_a_week(tmp_path: Path) -> None:
    """One a day; seven, and the first of each month."""
    with Ledger.open(tmp_path, NOW) as ledger:
        for day in range(60):
            ledger.back_up(NOW + day * 24 * HOUR)
            ledger.back_up(NOW + (day * 24 + 1) * HOUR)
    names = [path.name for path in backup.of(tmp_path)]
    assert names[:2] == ["state-20261210.sqlite", "state-20261209.sqlite"]
    assert names[7:] == [
        "state-20261201.sqlite", "state-20261101.sqlite", "state-20261012.sqlite",
    ]  # fmt: skip


# ------------------------------------------------------------------- damage


def _damages() -> dict[str, object]:
    """Fifty ways to hurt a file."""
    dice = random.Random(7)
    ways: dict[str, object] = {}
    for share in (0, 0.001, 0.01, 0.1, 0.3, 0.5, 0.7, 0.9, 0.99):
        ways[f"cut at {share}"] = lambda old, share=share: old[: int(len(old) * share)]
    for place in (0, 16, 20, 100, 1024, 4096, 8192, 20_000, 40_000, 60_000):
        ways[f"zeros at {place}"] = lambda old, place=place: (
            old[:place] + bytes(512) + old[place + 512 :]
        )
        noise = dice.randbytes(512)
        ways[f"noise at {place}"] = lambda old, place=place, noise=noise: (
            old[:place] + noise + old[place + 512 :]
        )
    for size in (1, 15, 16, 100, 4096, 70_000):
        ways[f"{size} bytes of noise"] = lambda _, size=size: dice.randbytes(size)
        ways[f"{size} zeros"] = lambda _, size=size: bytes(size)
    for text in (
        b"hello",
        b"SQLite format 3\x00",
        b"<html></html>",
        b"{}",
        b"\xff\xfe",
    ):
        ways[f"text {text!r}"] = lambda _, text=text: text
    ways["twice as long"] = lambda old: old + old
    ways["lines turned"] = lambda old: old.replace(b"back-road", b"daor-kcab")
    ways["a phase turned"] = lambda old: old.replace(
        b'"phase":"open"', b'"phase":"shut"'
    )
    ways["an hour on"] = lambda old: old.replace(b"T00:00:00", b"T01:00:00")
    return ways


DAMAGES = _damages()


def test_there_are_fifty_kinds_of_damage() -> None:
    """F8."""
    assert len(DAMAGES) >= 50


@pytest.mark.parametrize("way", DAMAGES)
def test_damage_is_seen_and_a_copy_used(tmp_path: Path, way: str) -> None:
    """F8: set aside, never deleted, and said; never read as if it were sound."""
    filled(tmp_path)
    path = tmp_path / FILE
    hurt = DAMAGES[way](path.read_bytes())  # type: ignore[operator]
    path.write_bytes(hurt)
    with Ledger.open(tmp_path, NOW + HOUR) as ledger:
        assert not ledger.opened.lost
        assert ledger.windows(2026) == {KEY: Kept(KEY, Phase.OPEN)}
        if ledger.opened.restored:
            (aside,) = tmp_path.glob("state-damaged-*.sqlite")
            kept = aside.read_bytes()
            assert kept == hurt


def test_without_a_copy_the_history_is_lost_and_said(tmp_path: Path) -> None:
    """E28."""
    filled(tmp_path)
    for each in backup.of(tmp_path):
        each.write_bytes(b"no copy")
    (tmp_path / FILE).write_bytes(b"no database")
    with Ledger.open(tmp_path, NOW) as ledger:
        assert ledger.opened.lost
        assert ledger.windows(2026) == {}


def test_a_state_that_is_gone_is_lost(tmp_path: Path) -> None:
    """E28: the note beside it remembers."""
    filled(tmp_path)
    (tmp_path / FILE).unlink()
    with Ledger.open(tmp_path, NOW) as ledger:
        assert ledger.opened.restored
        assert ledger.windows(2026) == {KEY: Kept(KEY, Phase.OPEN)}
        first = ledger.installation
    for each in backup.of(tmp_path):
        each.unlink()
    (tmp_path / FILE).unlink()
    with Ledger.open(tmp_path, NOW) as ledger:
        assert ledger.opened.lost
        assert ledger.installation == first
    with Ledger.open(tmp_path, NOW) as ledger:
        assert ledger.installation == first


def test_a_copy_put_back_is_seen(tmp_path: Path) -> None:
    """E27: it is older than the note beside it."""
    filled(tmp_path)
    old = (tmp_path / FILE).read_bytes()
    with Ledger.open(tmp_path, NOW) as ledger, ledger.writing() as tx:
        tx.begin_run(NOW)
    (tmp_path / FILE).write_bytes(old)
    with Ledger.open(tmp_path, NOW) as ledger:
        assert ledger.opened.restored


# --------------------------------------------------------- ours, and when not


def test_another_programs_database_is_left_alone(tmp_path: Path) -> None:
    """By its application id."""
    with closing(sqlite3.connect(tmp_path / FILE)) as db:
        db.execute("CREATE TABLE sheep (name TEXT)")
        db.commit()
    before = (tmp_path / FILE).read_bytes()
    with pytest.raises(NewerStateError, match="another program"):
        Ledger.open(tmp_path, NOW)
    assert (tmp_path / FILE).read_bytes() == before


@pytest.mark.skipif(os.name != "posix", reason="modes and links are POSIX's")
def test_the_state_is_open_to_its_owner_only(tmp_path: Path) -> None:
    """R26; a link to elsewhere is refused."""
    folder = tmp_path / "state"
    filled(folder)
    assert folder.stat().st_mode & 0o077 == 0
    assert (folder / FILE).stat().st_mode & 0o077 == 0
    (tmp_path / "link").symlink_to(folder)
    with pytest.raises(StateError, match="link"):
        Ledger.open(tmp_path / "link", NOW)
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / FILE).symlink_to(folder / FILE)
    with pytest.raises(StateError, match="link"):
        Ledger.open(tmp_path / "other", NOW)


def test_a_place_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    """One line, no traceback."""
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(StateError, match="cannot be read or written"):
        Ledger.open(tmp_path / "file" / "state", NOW)
