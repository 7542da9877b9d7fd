"""Forecasts kept as issued: whole or not there, never twice, no damaged one read."""

from __future__ import annotations

import errno
import gzip
import json
import os
import random
import subprocess
import sys
from dataclasses import dataclass, replace
from hashlib import sha256
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from forecaster.errors import InputMissingError, OutputError, UnusableError
from forecaster.sources import atomic_file, kept_forecasts
from forecaster.sources.kept_forecasts import (
    PARSERS,
    KeptForecast,
    KeptForecasts,
    read_kept,
)
from forecaster.sources.lastgood import LastGood
from forecaster.sources.refresh import refresh
from forecaster.sources.request import Parsed, Request

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.place import Place
    from forecaster.sources.conduct import Conduct
    from tests.adapters.http.stub import Stub

BODY = b'{"hourly":{"rain":[0.2,1.4]}}\n\x00\xff' * 20


@dataclass(frozen=True)
class Shelf:
    """A folder that does not exist yet, and what is kept in it."""

    folder: Path
    asked: Request

    def keep(self, body: bytes, *, later: int = 0, **changes: str) -> None:
        """Keep an answer to the usual request, so many seconds later."""
        request = replace(self.asked, **changes)  # type: ignore[arg-type]  # texts
        KeptForecasts(self.folder).keep(request, body, self.asked.made + later)

    def read(self, place: Place | None = None) -> list[KeptForecast]:
        """All that can be read."""
        return list(read_kept(self.folder, place or self.asked.place, lambda *_: None))

    def found(self) -> tuple[list[bytes], list[str]]:
        """All bodies that can be read, and what is told of the rest."""
        told: list[str] = []

        def tell(name: str, why: str) -> None:
            told.append(f"{name}: {why}")

        kept = read_kept(self.folder, self.asked.place, tell)
        return [each.body for each in kept], told

    @property
    def file(self) -> Path:
        """The only one that was written."""
        (path,) = self.folder.glob("*/*.gz")
        return path

    @property
    def files(self) -> list[Path]:
        """All of the usual product, hidden ones too."""
        return list((self.folder / "openmeteo-forecast").iterdir())


@pytest.fixture
def shelf(asked: Request, tmp_path: Path) -> Shelf:
    """The usual request, of a product that is a forecast."""
    usual = replace(asked, source="openmeteo", product="forecast")
    return Shelf(tmp_path / "forecasts", usual)


def test_what_is_kept_is_named_by_its_moment_and_comes_back(shelf: Shelf) -> None:
    """Body, moment and address, and the request to read it with again."""
    shelf.keep(BODY)
    shelf.keep(b"many", product="ensemble")
    shelf.keep(b"later", later=3600)
    folder = shelf.folder
    names = [path.relative_to(folder).as_posix() for path in folder.glob("*/*")]
    assert sorted(names) == [
        "openmeteo-ensemble/20260914T203000Z.gz",
        "openmeteo-forecast/20260914T203000Z.gz",
        "openmeteo-forecast/20260914T213000Z.gz",
    ]
    many, first, later = shelf.read()
    assert (many.body, first.body, later.body) == (b"many", BODY, b"later")
    assert first.request == replace(shelf.asked, fresh_for=0)
    assert later.request.made == shelf.asked.made + 3600
    assert many.product == ("openmeteo", "ensemble")


def test_a_kept_forecast_is_never_written_again(shelf: Shelf) -> None:
    """Another body of the same second leaves the first as it is, to the byte."""
    shelf.keep(BODY)
    before = shelf.file.read_bytes()
    shelf.keep(b"another")
    assert shelf.file.read_bytes() == before


def test_what_is_no_forecast_is_not_kept(shelf: Shelf) -> None:
    """Past years, observed days, earlier runs."""
    for name in ("archive", "previous runs", "days"):
        shelf.keep(BODY, product=name)
    shelf.keep(BODY, source="silo", product="days")
    assert not shelf.folder.exists()
    assert len(PARSERS) == 5


HEAD = {
    "source": "openmeteo",
    "product": "forecast",
    "latitude": "-34.5330",
    "longitude": "138.7500",
    "url": "http://127.0.0.1/",
    "retrieved_at": "2026-09-14T20:30:00Z",
    "length": 2,
}


def sealed(head: object, body: bytes = b"{}", form: str = "forecast 1") -> bytes:
    """A file made by hand with the standard library, its checksum right."""
    rest = json.dumps(head).encode() + b"\n" + body
    first = f"forecaster {form} {sha256(rest).hexdigest()}\n".encode()
    return gzip.compress(first + rest, mtime=0)


def test_the_written_form_is_the_one_documented(shelf: Shelf) -> None:
    """A file made by hand is read; one of ours unpacks to two lines and the body."""
    shelf.keep(BODY)
    path = shelf.file
    first, line, body = gzip.decompress(path.read_bytes()).split(b"\n", 2)
    assert first.split()[3] == sha256(line + b"\n" + body).hexdigest().encode()
    assert body == BODY
    assert json.loads(line)["retrieved_at"] == "2026-09-14T20:30:00Z"
    path.write_bytes(sealed(HEAD))
    assert shelf.found() == ([b"{}"], [])


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "not written by this program"),
        (b"{}", "cannot be unpacked"),
        (gzip.compress(b"{}", mtime=0), "not written by this program"),
        (sealed(HEAD, form="last-good 1"), "not written by this program"),
        (sealed(HEAD, form="forecast 2"), "another version"),
        (sealed([]), "another source"),
        (sealed(HEAD | {"product": "archive"}), "no forecast"),
        (sealed(HEAD | {"latitude": "-38.0"}), "another place"),
        (sealed(HEAD | {"longitude": "east"}), "another place"),
        (sealed(HEAD, b"{}{}"), "another length"),
        (sealed(HEAD | {"retrieved_at": "soon"}), "datetime"),
        (sealed(HEAD)[:-12], "cannot be unpacked"),
    ],
)
def test_a_file_that_is_not_ours_is_told_and_passed_over(
    shelf: Shelf,
    content: bytes,
    words: str,
) -> None:
    """Once, by name; it stays where it is, and the others are read."""
    shelf.keep(BODY)
    path = shelf.file.with_name("20260915T000000Z.gz")
    path.write_bytes(content)
    bodies, told = shelf.found()
    assert bodies == [BODY]
    (line,) = told
    assert line.startswith("20260915T000000Z.gz: ")
    assert words in line
    assert path.read_bytes() == content


def test_other_files_are_told_and_hidden_ones_are_not_looked_at(shelf: Shelf) -> None:
    """A note, a link, and what a killed writer left."""
    shelf.keep(BODY)
    (shelf.folder / "notes.txt").write_text("mine")
    (shelf.folder / ".20260915T000000Z.gz.x1").write_bytes(b"half")
    bodies, told = shelf.found()
    assert bodies == [BODY]
    assert told == ["notes.txt: is no kept forecast"]
    try:
        (shelf.folder / "20260915T000000Z.gz").symlink_to(shelf.file)
    except OSError:
        return
    assert "20260915T000000Z.gz: is no kept forecast" in shelf.found()[1]


def test_no_cut_and_no_flipped_bit_gives_another_body(shelf: Shelf) -> None:
    """Cut at every byte, and 400 single bits turned over, by a seeded choice."""
    shelf.keep(BODY)
    path = shelf.file
    whole = path.read_bytes()
    damaged = [whole[:end] for end in range(len(whole))]
    chance = random.Random(7)
    for _ in range(400):
        flipped = bytearray(whole)
        flipped[chance.randrange(len(whole))] ^= 1 << chance.randrange(8)
        damaged.append(bytes(flipped))
    for content in damaged:
        path.write_bytes(content)
        bodies, told = shelf.found()
        # Some bits of the packing mean nothing; then the body is as it was.
        assert bodies == [BODY] or (bodies == [] and len(told) == 1)


def test_a_large_file_is_not_read(
    shelf: Shelf,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A few bytes that unpack to many are cut off at the cap."""
    shelf.keep(b"0" * 4_000_000)
    assert shelf.file.stat().st_size < 10_000
    monkeypatch.setattr(kept_forecasts, "LARGEST", 1_000_000)
    bodies, told = shelf.found()
    assert bodies == []
    assert "too large" in told[0]


def test_a_farm_that_moved_a_little_still_reads_its_own(shelf: Shelf) -> None:
    """2 km on: read as of the place it was asked for, at the farm's own height."""
    shelf.keep(BODY)
    moved = replace(shelf.asked.place, latitude=-34.55, elevation=90.0)
    (each,) = shelf.read(moved)
    assert (each.request.place.latitude, each.request.place.elevation) == (-34.533, 90)


def test_no_folder_is_one_clear_error(shelf: Shelf) -> None:
    """With what makes one."""
    with pytest.raises(InputMissingError, match="keep_forecasts"):
        shelf.found()


def refuse(number: int) -> Any:
    """A function that fails as the system does."""

    def fail(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    return fail


def test_a_full_disk_leaves_nothing_behind(
    shelf: Shelf,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Full, read-only or forbidden at any step: our error, no file, no half one."""
    monkeypatch.setattr(atomic_file, "PAUSE_S", 0.0)
    steps = ("tempfile.mkstemp", "os.fsync", "pathlib.Path.replace")
    for where, number in product(steps, (errno.ENOSPC, errno.EROFS, errno.EACCES)):
        with monkeypatch.context() as patch:
            patch.setattr("pathlib.Path.hardlink_to", refuse(number))
            patch.setattr(where, refuse(number))
            with pytest.raises(OutputError, match=os.strerror(number)):
                shelf.keep(BODY)
        assert shelf.files == []
    shelf.keep(BODY)
    assert shelf.found() == ([BODY], [])


@pytest.mark.parametrize("fault", [OSError(errno.EPERM, "no"), NotImplementedError()])
def test_a_disk_without_second_names_keeps_all_the_same(
    shelf: Shelf,
    monkeypatch: pytest.MonkeyPatch,
    fault: Exception,
) -> None:
    """As on a stick: the file is moved to its name instead."""

    def fail(*_: object) -> None:
        raise fault

    monkeypatch.setattr("pathlib.Path.hardlink_to", fail)
    shelf.keep(BODY)
    shelf.keep(b"another")
    assert shelf.found() == ([BODY], [])
    assert len(shelf.files) == 1


def test_of_two_writers_the_first_counts(
    shelf: Shelf,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The other came between looking and writing; its file stays as it is."""
    true = Path.hardlink_to

    def late(path: Path, part: Path) -> None:
        path.write_bytes(sealed(HEAD))
        true(path, part)

    monkeypatch.setattr("pathlib.Path.hardlink_to", late)
    shelf.keep(BODY)
    assert shelf.found() == ([b"{}"], [])
    assert len(shelf.files) == 1


KILLED = """
import os, sys
from pathlib import Path
import numpy as np
from forecaster.domain.place import Place
from forecaster.sources.kept_forecasts import KeptForecasts
from forecaster.sources.request import Request

def die(*_):
    os._exit(9)

setattr(*eval(sys.argv[2]), die)
now = np.datetime64("2026-09-14T20:30", "s")
place = Place(-34.533, 138.75, 68.0, "Australia/Adelaide")
asked = Request("openmeteo", "forecast", "http://127.0.0.1/", place, now, 0)
KeptForecasts(Path(sys.argv[1])).keep(asked, b"{}" * 5000, now)
"""


@pytest.mark.parametrize("where", ["(os, 'fsync')", "(Path, 'hardlink_to')"])
def test_a_writer_killed_in_the_middle_leaves_nothing_that_is_read(
    shelf: Shelf, where: str
) -> None:
    """The process ends at once while the file is forced to disk, or named."""
    done = subprocess.run(
        [sys.executable, "-c", KILLED, str(shelf.folder), where], check=False
    )
    assert done.returncode == 9
    assert shelf.found() == ([], [])
    assert list(shelf.folder.rglob("*.gz")) == []


def test_a_file_that_cannot_be_opened_is_told(
    shelf: Shelf,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """No traceback, whatever the system says."""
    shelf.keep(BODY)
    monkeypatch.setattr("pathlib.Path.open", refuse(errno.EIO))
    bodies, told = shelf.found()
    assert bodies == []
    assert os.strerror(errno.EIO) in told[0]


def parse(body: bytes, request: Request) -> Parsed:
    """Rain and nothing else is weather."""
    if not body.startswith(b"rain="):
        raise UnusableError(f"{request.source}: looks like a login page")
    return Parsed()


def test_a_refresh_keeps_what_came_anew_and_was_found_good(
    stub: Stub,
    shelf: Shelf,
    quick: Conduct,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Once; not out of the cache, not a login page; a full disk only warns."""

    def ask(moment: np.datetime64) -> Any:
        return refresh(
            shelf.asked,
            parse,
            folder=tmp_path / "http",
            store=LastGood(tmp_path / "good"),
            archives=(KeptForecasts(shelf.folder),),
            now=moment,
            budget=5.0,
            conduct=quick,
        )

    now = shelf.asked.made
    stub.say(200, b"rain=0.2")
    assert ask(now).warnings == ()
    assert ask(now + 60).fresh
    assert shelf.found() == ([b"rain=0.2"], [])
    stub.say(200, b"<html>Please log in</html>")
    assert not ask(now + 2 * 3600).fresh
    stub.say(200, b"rain=0.4")
    with monkeypatch.context() as patch:
        patch.setattr(kept_forecasts, "write_new", refuse(errno.ENOSPC))
        told = ask(now + 4 * 3600)
    assert told.fresh
    assert "could not be kept for later" in told.warnings[0]
    assert os.strerror(errno.ENOSPC) in told.warnings[0]
    assert shelf.found() == ([b"rain=0.2"], [])
