"""The last good answer: whole or not there, and never trusted when damaged."""

from __future__ import annotations

import errno
import json
import os
import random
import threading
from dataclasses import replace
from hashlib import sha256
from itertools import product
from typing import TYPE_CHECKING, Any

import pytest

from forecaster.domain.place import Place
from forecaster.errors import OutputError
from forecaster.sources import atomic_file, lastgood
from forecaster.sources.lastgood import LastGood

if TYPE_CHECKING:
    from pathlib import Path

    import numpy as np

    from forecaster.sources.request import Request

BODY = b'{"hourly":{"rain":[0.2,1.4]}}\n\x00\xff'


@pytest.fixture
def store(tmp_path: Path) -> LastGood:
    """A store in a folder that does not exist yet."""
    return LastGood(tmp_path / "kept")


def only_file(tmp_path: Path) -> Path:
    """The file the store wrote."""
    (found,) = (tmp_path / "kept").glob("*.kept")
    return found


def test_what_is_kept_comes_back(
    store: LastGood, asked: Request, now: np.datetime64
) -> None:
    """Body, moment and address, byte for byte; the newest replaces the one before."""
    assert store.load(asked) is None
    store.save(asked, b"old", now - 60)
    store.save(asked, BODY, now)
    kept = store.load(asked)
    assert kept is not None
    assert (kept.body, kept.retrieved_at, kept.url) == (BODY, now, asked.url)
    store.save(asked, b"", now)
    assert (store.load(asked) or kept).body == b""


def test_sources_products_and_places_are_kept_apart(
    store: LastGood, asked: Request, now: np.datetime64
) -> None:
    """Each has its own file; 11 m is another place, 1 mm is not."""
    store.save(asked, BODY, now)
    near = replace(asked, place=replace(asked.place, latitude=-34.533000001))
    assert store.load(near) is not None
    for other in (
        replace(asked, source="other"),
        replace(asked, product="days"),
        replace(asked, place=Place(-34.5331, 138.75, 68.0, "Australia/Adelaide")),
        replace(asked, source="stub-hours", product=""),
    ):
        assert store.load(other) is None
    later = replace(asked, url=asked.url + "&start=2026-09-15")
    assert store.load(later) is not None


def test_the_file_is_for_its_owner(
    store: LastGood, asked: Request, now: np.datetime64, tmp_path: Path
) -> None:
    """Nobody else may read where somebody farms (where the system has modes)."""
    store.save(asked, BODY, now)
    mode = only_file(tmp_path).stat().st_mode & 0o777
    assert mode == 0o600 or os.name == "nt"


def seal(rest: bytes, schema: int = 1) -> bytes:
    """A file whose checksum fits whatever is in it."""
    digest = sha256(rest).hexdigest()
    return f"forecaster last-good {schema} {digest}\n".encode() + rest


HEAD = {
    "source": "stub",
    "product": "hours",
    "latitude": "-34.5330",
    "longitude": "138.7500",
    "url": "http://127.0.0.1/",
    "retrieved_at": "2026-09-14T20:30:00Z",
    "length": 2,
}


def test_the_written_form_is_the_one_documented(
    store: LastGood, asked: Request, now: np.datetime64, tmp_path: Path
) -> None:
    """A file sealed by hand, with the standard library's SHA-256, is read."""
    store.save(asked, BODY, now)
    only_file(tmp_path).write_bytes(seal(json.dumps(HEAD).encode() + b"\n{}"))
    kept = store.load(asked)
    assert kept is not None
    assert (kept.body, kept.retrieved_at) == (b"{}", now)


@pytest.mark.parametrize(
    "case",
    [
        (b"", "not written by this program"),
        (b"{}", "not written by this program"),
        (b"\x1f\x8b\x08 something else", "not written by this program"),
        (seal(b"{}\n{}", 2), "another version"),
        (seal(b"{}\n{}", 0), "another version"),
        (b"forecaster last-good 1 " + b"0" * 64 + b"\n{}\n{}", "checksum"),
        (seal(b"\n{}"), "line 1"),
        (seal(b"[]\n{}"), "another source"),
        (seal(json.dumps(HEAD | {"source": "x"}).encode() + b"\n{}"), "another source"),
        (seal(json.dumps(HEAD).encode() + b"\n{}{}"), "another length"),
        (
            seal(json.dumps(HEAD | {"retrieved_at": "soon"}).encode() + b"\n{}"),
            "datetime",
        ),
    ],
)
def test_a_file_that_is_not_ours_is_set_aside(
    store: LastGood,
    asked: Request,
    now: np.datetime64,
    tmp_path: Path,
    case: tuple[bytes, str],
) -> None:
    """Foreign, newer, damaged or another's: renamed, told once, never trusted."""
    content, words = case
    store.save(asked, BODY, now)
    path = only_file(tmp_path)
    path.write_bytes(content)
    told: list[str] = []
    assert store.load(asked, told.append) is None
    assert words in told[0]
    assert "set aside as" in told[0]
    assert path.with_name(path.name + ".aside").read_bytes() == content
    assert store.load(asked, told.append) is None
    assert len(told) == 1
    store.save(asked, BODY, now)
    assert store.load(asked) is not None


def test_no_cut_and_no_flipped_bit_is_trusted(
    store: LastGood, asked: Request, now: np.datetime64, tmp_path: Path
) -> None:
    """Cut at every byte, and 400 single bits turned over, by a seeded choice."""
    store.save(asked, BODY, now)
    path = only_file(tmp_path)
    whole = path.read_bytes()
    damaged = [whole[:end] for end in range(len(whole))]
    chance = random.Random(7)
    for _ in range(400):
        flipped = bytearray(whole)
        flipped[chance.randrange(len(whole))] ^= 1 << chance.randrange(8)
        damaged.append(bytes(flipped))
    for content in damaged:
        path.write_bytes(content)
        assert store.load(asked) is None


def test_a_large_file_is_neither_read_nor_written(
    store: LastGood,
    asked: Request,
    now: np.datetime64,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The cap holds in both directions; the copy before stays."""
    store.save(asked, BODY, now)
    size = only_file(tmp_path).stat().st_size
    monkeypatch.setattr(lastgood, "LARGEST", size)
    with pytest.raises(OutputError, match="larger"):
        store.save(asked, BODY + b"1", now)
    assert store.load(asked) is not None
    monkeypatch.setattr(lastgood, "LARGEST", size - 1)
    told: list[str] = []
    assert store.load(asked, told.append) is None
    assert "too large" in told[0]


def test_a_folder_or_link_in_its_place_is_set_aside(
    store: LastGood, asked: Request, now: np.datetime64, tmp_path: Path
) -> None:
    """Only a plain file is read."""
    store.save(asked, BODY, now)
    path = only_file(tmp_path)
    path.unlink()
    path.mkdir()
    told: list[str] = []
    assert store.load(asked, told.append) is None
    assert "not a plain file" in told[0]
    path.with_name(path.name + ".aside").rmdir()
    try:
        path.symlink_to(tmp_path / "elsewhere")
    except OSError:
        return
    assert store.load(asked, told.append) is None
    assert "not a plain file" in told[1]
    assert not path.is_symlink()


def refuse(number: int) -> Any:
    """A function that fails as the system does."""

    def fail(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    return fail


def test_a_full_disk_leaves_the_old_copy(
    store: LastGood,
    asked: Request,
    now: np.datetime64,
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> None:
    """Full, read-only or forbidden at any step: our error, the old file whole."""
    monkeypatch.setattr(atomic_file, "PAUSE_S", 0.0)
    store.save(asked, BODY, now)
    steps = ("tempfile.mkstemp", "os.fsync", "pathlib.Path.replace")
    for where, number in product(steps, (errno.ENOSPC, errno.EROFS, errno.EACCES)):
        with monkeypatch.context() as patch:
            patch.setattr(where, refuse(number))
            with pytest.raises(OutputError, match=os.strerror(number)):
                store.save(asked, b"new", now)
        kept = store.load(asked)
        assert kept is not None
        assert kept.body == BODY
        assert len(list((tmp_path / "kept").iterdir())) == 1


def test_a_file_that_cannot_be_read_or_moved_is_told(
    store: LastGood,
    asked: Request,
    now: np.datetime64,
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> None:
    """No traceback, whatever the system says."""
    store.save(asked, BODY, now)
    told: list[str] = []
    with monkeypatch.context() as patch:
        patch.setattr("pathlib.Path.open", refuse(errno.EIO))
        assert store.load(asked, told.append) is None
    assert os.strerror(errno.EIO) in told[0]
    only_file(tmp_path).write_bytes(b"")
    monkeypatch.setattr("pathlib.Path.replace", refuse(errno.EROFS))
    assert store.load(asked, told.append) is None
    assert told[1].endswith("it is not used")


def test_readers_and_writers_at_once(
    store: LastGood, asked: Request, now: np.datetime64
) -> None:
    """Every reader sees one whole body or another, never a mixture."""
    bodies = [bytes([65 + number]) * 50_000 for number in range(3)]
    store.save(asked, bodies[0], now)
    told: list[str] = []
    seen: list[bytes] = []

    def write(body: bytes) -> None:
        for _ in range(15):
            store.save(asked, body, now)

    def read() -> None:
        for _ in range(60):
            kept = store.load(asked, told.append)
            seen.append(kept.body if kept else b"")

    threads = [threading.Thread(target=write, args=(body,)) for body in bodies]
    threads += [threading.Thread(target=read) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert told == []
    assert len(seen) == 120
    assert set(seen) <= set(bodies)
