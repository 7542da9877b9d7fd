"""The disk is full, read-only, damaged or shared; weather is had all the same."""

from __future__ import annotations

import errno
import json
import os
import sqlite3
import subprocess
import sys
import threading
import time
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from filelock import FileLock

from forecaster.errors import TemporaryError
from forecaster.sources import answer_table, atomic_file, http_session
from forecaster.sources.canonical_url import authority

if TYPE_CHECKING:
    import numpy as np

    from forecaster.sources.request import Request
    from tests.adapters.http.conftest import Getter
    from tests.adapters.http.stub import Stub

BODY = b'{"hourly":{"rain":[0.2]}}' * 400
HEADER = 16
"""Bytes of the magic string that begins an SQLite file (sqlite.org/fileformat)."""


@pytest.fixture
def cache(tmp_path: Path) -> Path:
    """Where the HTTP cache is kept."""
    return tmp_path / "http" / "answers.sqlite"


def middle_out(content: bytes) -> bytes:
    """The same with its pages after the first overwritten."""
    return content[:4096] + b"\xa5" * (len(content) - 4096)


@pytest.mark.parametrize(
    "damage",
    [
        lambda _: b"This is a text file, not a database at all." * 20,
        lambda content: content[:HEADER] + bytes(200),
        lambda content: content[: len(content) // 2],
        lambda content: content[:50],
        middle_out,
    ],
    ids=["text", "head", "half", "stump", "middle"],
)
def test_a_damaged_cache_is_set_aside(
    stub: Stub, get: Getter, cache: Path, damage: Any
) -> None:
    """Begun anew, the old file kept beside it, said once; the next call is cached."""
    stub.say(200, BODY)
    get()
    damaged = damage(cache.read_bytes())
    cache.write_bytes(damaged)
    first = get()
    assert first.body == BODY
    assert "damaged" in first.notes[0]
    assert cache.with_name("answers.sqlite.damaged").read_bytes() == damaged
    assert get().from_cache
    assert stub.count == 2


def test_an_empty_cache_file_is_filled(stub: Stub, get: Getter, cache: Path) -> None:
    """No bytes is no damage."""
    cache.parent.mkdir()
    cache.write_bytes(b"")
    stub.say(200, BODY)
    assert get().notes == ()
    assert get().from_cache


@pytest.mark.parametrize(
    "statement", ["PRAGMA application_id=7", "PRAGMA user_version=2"]
)
def test_a_foreign_or_newer_cache_is_set_aside(
    stub: Stub, get: Getter, cache: Path, statement: str
) -> None:
    """Another program's database, or one of a version to come."""
    stub.say(200, BODY)
    get()
    with closing(sqlite3.connect(cache)) as file:
        file.execute(statement)
    again = get()
    assert "another program or version" in again.notes[0]
    assert (again.from_cache, get().from_cache) == (False, True)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE answer SET body=CAST(replace(body, '0.2', '9.2') AS BLOB)",
        "UPDATE answer SET expires=expires+1",
        "UPDATE answer SET digest=x'00'",
    ],
)
def test_a_changed_entry_is_not_used(
    stub: Stub, get: Getter, cache: Path, statement: str
) -> None:
    """A checksum covers body, ages and head of every entry."""
    stub.say(200, BODY)
    get()
    with closing(sqlite3.connect(cache)) as file, file:
        file.execute(statement)
    again = get()
    assert (again.body, again.from_cache) == (BODY, False)
    assert "damaged and is not used" in again.notes[0]
    assert get().from_cache


def test_a_damaged_cache_that_cannot_be_moved(
    stub: Stub, get: Getter, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As on Windows while somebody reads it: go on without."""
    stub.say(200, BODY)
    get()
    cache.write_bytes(b"no database" * 100)

    def refuse(*_: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(answer_table, "replace", refuse)
    again = get()
    assert again.body == BODY
    assert "going on without it" in again.notes[0]


def test_a_cache_damaged_again_at_once(
    stub: Stub, get: Getter, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A disk that damages every new file is given up after one more try."""

    def damaged(_: object) -> None:
        raise sqlite3.DatabaseError("database disk image is malformed")

    monkeypatch.setattr(answer_table, "_prepare", damaged)
    stub.say(200, BODY)
    notes = get().notes
    assert [each.split("(")[0] for each in notes] == [
        "the HTTP cache was damaged ",
        "the HTTP cache is damaged ",
    ]


def test_a_cache_another_process_holds_does_not_hold_us(
    stub: Stub, get: Getter, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A writer that never ends: the wait has an end, and the weather comes."""
    monkeypatch.setattr(http_session, "BUSY_S", 0.1)
    stub.say(200, BODY)
    get()
    later = get().retrieved_at + 3600
    with closing(sqlite3.connect(cache, isolation_level=None)) as holder:
        holder.execute("BEGIN IMMEDIATE")
        start = time.monotonic()
        other = get(now=later)
        assert time.monotonic() - start < 1.0
        assert other.body == BODY
        assert "locked" in other.notes[0]


def test_a_read_only_cache_is_done_without(
    stub: Stub, get: Getter, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """SQLite's own read-only mode: kept answers are read, new ones not kept."""
    stub.say(200, BODY)
    get()
    opened: Any = sqlite3.connect

    def read_only(path: Path, **settings: Any) -> sqlite3.Connection:
        address = f"file:{path.as_posix()}?mode=ro"
        file: sqlite3.Connection = opened(address, uri=True, **settings)
        return file

    monkeypatch.setattr(sqlite3, "connect", read_only)
    later = get(now=get().retrieved_at + 3600)
    assert (later.body, later.from_cache) == (BODY, False)
    assert "readonly" in later.notes[0]
    assert cache.exists()


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EROFS])
def test_a_disk_that_takes_nothing(
    stub: Stub, get: Getter, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    """Full or read-only at every rename, folder and lock: fetched, and said."""

    def refuse(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "replace", refuse)
    monkeypatch.setattr(Path, "replace", refuse)
    monkeypatch.setattr(Path, "mkdir", refuse)
    monkeypatch.setattr(FileLock, "acquire", refuse)
    stub.say(501)
    stub.say(200, BODY)
    with pytest.raises(TemporaryError) as caught:
        get()
    assert any("written down" in note for note in caught.value.__notes__)
    got = get()
    assert got.body == BODY
    words = os.strerror(number)
    assert any(f"no lock file can be made ({words})" in note for note in got.notes)
    assert any(f"cannot be used ({words})" in note for note in got.notes)


def test_a_file_being_read_is_replaced_on_the_next_try(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Windows refuses to rename over an open file; a moment later it may be closed."""
    monkeypatch.setattr(atomic_file, "PAUSE_S", 0.001)
    true = Path.replace
    tries: list[int] = []

    def sometimes(part: Path, path: Path) -> Path:
        tries.append(1)
        if len(tries) % atomic_file.TRIES:
            raise PermissionError(errno.EACCES, "in use")
        return true(part, path)

    monkeypatch.setattr(Path, "replace", sometimes)
    atomic_file.write_whole(tmp_path / "a", b"new")
    assert (tmp_path / "a").read_bytes() == b"new"
    assert len(tries) == atomic_file.TRIES

    def never(*_: object) -> None:
        raise PermissionError(errno.EACCES, "in use")

    monkeypatch.setattr(Path, "replace", never)
    with pytest.raises(PermissionError):
        atomic_file.write_whole(tmp_path / "a", b"newer")
    assert [path.read_bytes() for path in tmp_path.iterdir()] == [b"new"]


def test_the_cache_does_not_grow_without_end(
    stub: Stub,
    get: Getter,
    asked: Request,
    cache: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The oldest answers go when there are too many."""
    monkeypatch.setattr(answer_table, "MOST_ANSWERS", 3)
    stub.say(200, BODY)
    for number in range(5):
        url = f"{asked.url}&n={number}"
        get(request=replace(asked, url=url), now=asked.made + number)
    table = answer_table.AnswerTable(cache, now=0, longest=0, tell=print)
    with closing(table):
        assert len(table) == 3
        assert len(set(table)) == 3


def test_one_request_at_a_time_in_one_process(
    stub: Stub, get: Getter, asked: Request
) -> None:
    """Six threads, one host: never two at once, and each answer once."""
    body = stub.text(200, BODY)

    def act(connection: Any) -> None:
        time.sleep(0.02)
        connection.sendall(body)

    stub.play(act)
    threads = [
        threading.Thread(
            target=get,
            kwargs={"request": replace(asked, url=f"{asked.url}&n={number % 3}")},
        )
        for number in range(6)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert (stub.most_at_once, stub.count) == (1, 3)


def test_a_host_that_is_being_asked_is_waited_for_in_time(
    stub: Stub, get: Getter, tmp_path: Path, asked: Request
) -> None:
    """Another run that never ends costs the budget, not more."""
    folder = tmp_path / "http" / "hosts"
    folder.mkdir(parents=True)
    stub.say(200, BODY)
    name = atomic_file.safe_name(authority(asked.url))
    with FileLock(folder / f"{name}.lock"), pytest.raises(TemporaryError) as caught:
        run_in_thread(lambda: get(budget=0.1))
    assert "another run is still asking" in str(caught.value)
    assert stub.count == 0
    assert get().body == BODY


def run_in_thread(work: Any) -> None:
    """Raise here what ``work`` raises there; a lock belongs to a thread."""
    caught: list[BaseException] = []

    def run() -> None:
        try:
            work()
        except TemporaryError as error:
            caught.append(error)

    thread = threading.Thread(target=run)
    thread.start()
    thread.join()
    raise caught[0]


CHILD = """
import json, sys
from pathlib import Path
import numpy as np
from forecaster.domain.place import Place
from forecaster.sources.http import fetch
from forecaster.sources.lastgood import LastGood
from forecaster.sources.request import Request
url, folder, made = sys.argv[1], Path(sys.argv[2]), np.datetime64(sys.argv[3])
place = Place(-34.533, 138.75, 68.0, "Australia/Adelaide")
store = LastGood(folder / "kept")
for number in range(10):
    request = Request("stub", "hours", f"{url}&n={number}", place, made, 3600)
    got = fetch(request, folder=folder / "http", now=made)
    store.save(request, got.body, got.retrieved_at)
    kept = store.load(request, print)
    assert kept is not None and kept.body == got.body
    assert got.notes == (), got.notes
"""


def test_two_processes_at_once(
    stub: Stub, asked: Request, tmp_path: Path, now: np.datetime64
) -> None:
    """Same folder, same ten questions: ten requests, one at a time, no fault."""
    stub.say(200, json.dumps({"rain": [0.2] * 2000}).encode())
    command = [sys.executable, "-c", CHILD, asked.url, str(tmp_path), str(now)]
    children = [
        subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        for _ in range(2)
    ]
    for child in children:
        out, err = child.communicate(timeout=30)
        assert (child.returncode, out, err) == (0, b"", b"")
    assert (stub.count, stub.most_at_once) == (10, 1)
