"""The log of records: linked by hash, only ever longer, and every change is noticed."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from dataclasses import replace
from hashlib import sha256
from typing import TYPE_CHECKING, Any

import pytest
from spray_records import AT, HOUR, add, entry

from forecaster.domain.record.log import (
    Entry,
    Taken,
)
from forecaster.errors import DataError, InputMissingError
from forecaster.store import log_file
from forecaster.store import records as store
from forecaster.store.record_chain import chain_of
from forecaster.store.record_lines import LONGEST_LINE, hash_of
from forecaster.store.records import read_records, verified

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A record, its correction and a second record that was withdrawn."""
    path = tmp_path / "records.jsonl"
    (first,) = add(path, entry(1))
    add(path, entry(2, corrects=first.hash, because="area"))
    (third,) = add(path, entry(3))
    add(path, Taken(0, "", third.hash, "J", "twice", AT + 7 * HOUR))
    return path


def said(path: Path) -> list[str]:
    """The product of each record as it stands."""
    return [each.now.job.said["product"] for each in read_records(path).records]


def test_what_is_written_is_read(log: Path) -> None:
    """Every field comes back, what is not known as NaN; an absent log holds nothing."""
    found = read_records(log)
    assert found.warnings == ()
    assert [each.number for each in found.records] == [1, 3]
    assert [each.number for each in found.standing] == [1]
    whole = found.records[0].entries[0]
    assert repr(whole) == repr(
        Entry(1, whole.hash, entry().job, "J", AT + 6 * HOUR, entry().around)
    )
    assert read_records(log.with_name("none.jsonl")).records == ()
    assert verified(log.with_name("none.jsonl")).line == 0


def test_the_hashes_are_those_of_the_standard_library(log: Path) -> None:
    """SHA-256 (FIPS 180-4) of sorted keys without spaces; each names the last."""
    before = "0" * 64
    for line in log.read_bytes().splitlines():
        fields = json.loads(line)
        stated = fields.pop("hash")
        text = json.dumps(
            fields, sort_keys=True, separators=(",", ":"), ensure_ascii=False
        )
        assert sha256(text.encode("utf-8")).hexdigest() == stated
        assert fields["before"] == before
        before = stated
    assert verified(log).last_hash == read_records(log).last_hash == before
    assert verified(log).entries == 4


@pytest.mark.parametrize("mask", [0x01, 0x20, 0x80])
def test_every_flipped_byte_is_noticed(log: Path, mask: int) -> None:
    """No byte of the log can change unseen, line ends included."""
    whole = log.read_bytes()
    unseen = [
        at
        for at in range(len(whole))
        if not chain_of(whole[:at] + bytes([whole[at] ^ mask]) + whole[at + 1 :]).line
    ]
    assert unseen == []


def test_a_line_taken_out_moved_or_put_in_is_named(log: Path) -> None:
    """The first line that does not follow on the one before."""
    lines = log.read_bytes().splitlines(keepends=True)
    for changed, named in (
        (lines[1:], 1),
        (lines[:1] + lines[2:], 2),
        ([lines[0], lines[2], lines[1], lines[3]], 2),
        ([*lines, lines[0]], 5),
    ):
        log.write_bytes(b"".join(changed))
        chain = verified(log)
        assert chain.line == named
        assert "taken out, put in or moved" in chain.fault
    assert "see 'record --verify'" in read_records(log).warnings[-1]


def test_a_record_too_long_to_be_read_back_is_not_written(log: Path) -> None:
    """Told with its bytes; whatever was to go in with it stays out as well."""
    before = log.read_bytes()
    whole = entry(8)
    winds = whole.job.changes * 6000
    long = replace(whole, job=replace(whole.job, changes=winds))
    with pytest.raises(DataError, match="Nothing was written"):
        add(log, whole, long)
    assert log.read_bytes() == before


def test_a_copied_line_is_no_second_entry(log: Path) -> None:
    """The chain tells it; the record is not its own correction."""
    whole = log.read_bytes()
    log.write_bytes(whole + whole.splitlines(keepends=True)[2])
    assert [len(each.entries) for each in read_records(log).records] == [2, 1]
    assert verified(log).line == 5


def test_a_changed_value_with_a_new_hash_breaks_the_next_link(log: Path) -> None:
    """Whoever rewrites one line must rewrite all that follow."""
    lines = log.read_bytes().splitlines()
    fields = json.loads(lines[0])
    fields["job"]["said"]["product"] = "another"
    fields["hash"] = hash_of(fields)
    again = json.dumps(
        fields, sort_keys=True, separators=(",", ":"), ensure_ascii=False
    )
    log.write_bytes(b"\n".join([again.encode(), *lines[1:]]) + b"\n")
    assert verified(log).line == 2


def test_line_ends_changed_by_an_editor_lose_no_record(log: Path) -> None:
    """The values stand; that the bytes changed is told."""
    log.write_bytes(log.read_bytes().replace(b"\n", b"\r\n"))
    found = read_records(log)
    assert len(found.records) == 2
    assert "its bytes were changed" in verified(log).fault
    assert "its bytes were changed" in found.warnings[0]


def test_cut_at_every_byte_of_the_last_line(tmp_path: Path) -> None:
    """The others stand, the cut is told, the next entry names the damage."""
    path = tmp_path / "records.jsonl"
    add(path, entry(1), entry(2), entry(3))
    whole = path.read_bytes()
    start = whole[:-1].rindex(b"\n") + 1
    for cut in range(start + 1, len(whole) - 1):
        chain = chain_of(whole[:cut])
        assert (chain.line, chain.entries) == (3, 2)
        assert "cut off" in chain.fault
        found = store._log(path, whole[:cut])
        assert len(found.records) == 2
        assert "line 3 cannot be used" in found.warnings[0]
    path.write_bytes(whole[: start + 40])
    (new,) = add(path, entry(4))
    assert path.read_bytes().startswith(whole[: start + 40] + b"\n")
    assert new.number == 3
    assert said(path) == ["label 1", "label 2", "label 4"]
    assert verified(path).line == 0
    assert verified(path).known == (3,)
    now = path.read_bytes()
    path.write_bytes(now[:start] + b"other" + now[start + 40 :])
    assert verified(path).line == 3


def test_a_whole_line_without_its_end_is_a_record(log: Path) -> None:
    """Only the line end was lost."""
    log.write_bytes(log.read_bytes()[:-1])
    assert verified(log).line == 0
    add(log, entry(5))
    assert verified(log).entries == 5


WRITER = """
import sys
from pathlib import Path
sys.path.insert(0, sys.argv[2])
from spray_records import add, entry
print("ready", flush=True)
while True:
    add(Path(sys.argv[1]), entry(1))
"""


@pytest.mark.skipif(os.name == "nt", reason="SIGKILL")
def test_killed_while_writing(tmp_path: Path, root: Path) -> None:
    """Three killed writers: every line before stands and the next record goes in."""
    path = tmp_path / "records.jsonl"
    for pause in (0.02, 0.05, 0.08):
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(path), str(root / "tests" / "shared")],
            stdout=subprocess.PIPE,
            cwd=root,
        )
        assert writer.stdout is not None
        assert writer.stdout.readline() == b"ready\n"
        time.sleep(pause)
        writer.send_signal(signal.SIGKILL)
        writer.wait()
        writer.stdout.close()
    before = len(read_records(path).records)
    add(path, entry(2))
    assert len(read_records(path).records) == before + 1
    assert verified(path).line == 0


def sealed_again(path: Path, **changes: Any) -> None:
    """Change the one line of a log and give it the hash that fits."""
    fields = {**json.loads(path.read_bytes()), **changes}
    fields["hash"] = hash_of(fields)
    text = json.dumps(fields, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    path.write_bytes(text.encode() + b"\n")


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"format": 2}, "another version"),
        ({"kind": "other"}, "another version"),
        ({"number": 0}, "what no record holds"),
        ({"author": ""}, "what no record holds"),
        ({"because": 5}, "what no record holds"),
        ({"corrects": "x"}, "what no record holds"),
        ({"recorded": "yesterday"}, "what no record holds"),
        ({"job": {}}, "what no record holds"),
        ({"around": None}, "what no record holds"),
        ({"corrects": "a" * 64}, "points to an entry"),
    ],
)
def test_a_sound_line_that_is_no_record(
    tmp_path: Path, changes: dict[str, Any], told: str
) -> None:
    """It is told, and nothing falls over."""
    path = tmp_path / "records.jsonl"
    add(path, entry(1))
    sealed_again(path, **changes)
    assert told in read_records(path).warnings[0]


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("finish", "2026-10-14T01:00:00Z"),
        ("said", {"no_such": "x"}),
        ("said", {"product": "a\u202eb"}),
        ("paddock", ""),
        ("wind", {"speed_ms": True, "from_deg": None, "typed": ""}),
        ("withholding", {"says": "typed", "days": -1}),
    ],
)
def test_a_job_that_cannot_be(tmp_path: Path, name: str, value: Any) -> None:
    """Finish before start, unknown fields, invisible letters: not taken."""
    path = tmp_path / "records.jsonl"
    add(path, entry(1))
    sealed_again(path, job={**json.loads(path.read_bytes())["job"], name: value})
    assert read_records(path).records == ()


def test_what_is_no_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder, a file too large, a line too long: told in one error or warning."""
    path = tmp_path / "records.jsonl"
    path.mkdir()
    with pytest.raises(InputMissingError, match="not a plain file"):
        read_records(path)
    path.rmdir()
    path.write_bytes(b"[1]\n" + b"x" * (LONGEST_LINE + 1) + b"\n" * 8)
    assert (
        "lines 1, 2, 3, 4, 5 and 4 more cannot be used"
        in read_records(path).warnings[0]
    )
    monkeypatch.setattr(log_file, "LARGEST_LOG", 3)
    with pytest.raises(InputMissingError, match="no log of records"):
        read_records(path)
