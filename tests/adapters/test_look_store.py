"""The log of looks: nothing lost, nothing written over, whatever happens meanwhile."""

from __future__ import annotations

import errno
import json
import os
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from filelock import FileLock

from forecaster.domain.growth.look import Look
from forecaster.domain.growth.look_log import LookEntry
from forecaster.domain.growth.stage import Stage
from forecaster.domain.withdrawal import Withdrawal
from forecaster.errors import InputMissingError, OutputError, UsageError
from forecaster.store import append_file, log_file, looks
from forecaster.store.look_lines import look_line, withdrawal_line
from forecaster.store.looks import add_looks, read_looks, withdraw_look
from forecaster.store.sealed_line import LONGEST_LINE

MOMENT = np.datetime64("2026-10-11T01:00", "s")
LATER = np.datetime64("2026-10-12T20:15:30", "s")


def entry(id_: str = "a", heads: int = 60, **changes: Any) -> LookEntry:
    """One look of the log."""
    look = Look(
        id_, "Creek Flat", "silver_grass", MOMENT,
        ((None, 40), (Stage.HEADING, heads)), "J", "gate side", "p.jpg",
    )  # fmt: skip
    typed = (("not out", 40), ("peeping", heads))
    return LookEntry(replace(look, **changes), typed, LATER)


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A log of three looks."""
    path = tmp_path / "looks.jsonl"
    assert len(add_looks(path, [entry("a"), entry("b"), entry("c")]).new) == 3
    return path


def ids(path: Path) -> list[str]:
    """Which looks can be read."""
    return [each.look.id for each in read_looks(path).entries]


def test_what_is_written_is_read(log: Path) -> None:
    """Every field comes back; an absent log holds nothing."""
    found = read_looks(log)
    assert found.entries == (entry("a"), entry("b"), entry("c"))
    assert found.warnings == ()
    assert read_looks(log.with_name("none.jsonl")).entries == ()


def test_each_line_is_json_that_others_can_read(log: Path) -> None:
    """One object a line (jsonlines.org), times in UTC, counts by class name."""
    rows = [json.loads(line) for line in log.read_text(encoding="utf-8").splitlines()]
    assert [row["id"] for row in rows] == ["a", "b", "c"]
    assert rows[0]["counts"] == {"not_out": 40, "heading": 60}
    assert rows[0]["typed"] == [["not out", 40], ["peeping", 60]]
    assert rows[0]["moment"] == "2026-10-11T01:00:00Z"


def test_the_same_look_again_adds_nothing(log: Path) -> None:
    """Known ids are left alone; only the new one is appended, once."""
    before = log.read_bytes()
    added = add_looks(log, [entry("a", note="other"), entry("d"), entry("d")])
    assert [each.look.id for each in added.new] == ["d"]
    assert added.known == (entry("a"),)
    assert log.read_bytes() == before + look_line(entry("d")) + b"\n"
    assert add_looks(log, [entry("d")]).new == ()


def test_a_withdrawn_look_stays(log: Path) -> None:
    """The log only grows; the look is marked; a second withdrawal is refused."""
    before = log.read_bytes()
    gone = Withdrawal("b", "J", "wrong grass", LATER)
    assert withdraw_look(log, gone) == replace(entry("b"), withdrawn=gone)
    assert log.read_bytes().startswith(before)
    found = read_looks(log)
    assert [each.look.id for each in found.standing] == ["a", "c"]
    assert found.entry("b") == replace(entry("b"), withdrawn=gone)
    whole = log.read_bytes()
    with pytest.raises(UsageError, match="withdrawn already, by J: wrong grass"):
        withdraw_look(log, gone)
    with pytest.raises(UsageError, match="'forecaster look --list' prints them all"):
        withdraw_look(log, replace(gone, entry="zzzzzz"))
    assert log.read_bytes() == whole
    add_looks(log, [entry("2026-10-11-hill-1")])
    with pytest.raises(UsageError, match="did you mean 2026-10-11-hill-1"):
        withdraw_look(log, replace(gone, entry="2026-10-11-hill-2"))


def test_a_torn_last_line_costs_no_other(log: Path) -> None:
    """Cut anywhere in the last line: two looks stand, one warning; then it goes on."""
    whole = log.read_bytes()
    start = whole[:-1].rindex(b"\n") + 1
    for cut in range(start + 1, len(whole) - 1):
        found = looks._log(log, whole[:cut])
        assert [each.look.id for each in found.entries] == ["a", "b"]
        assert len(found.warnings) == 1
        assert "line 3 cannot be read" in found.warnings[0]
    log.write_bytes(whole[: start + 40])
    assert add_looks(log, [entry("d")]).warnings
    assert log.read_bytes().startswith(whole[: start + 40] + b"\n")
    assert ids(log) == ["a", "b", "d"]


def test_a_whole_line_without_its_end_is_a_look(log: Path) -> None:
    """Only the line end was lost: nothing is missing, and the next one is apart."""
    log.write_bytes(log.read_bytes()[:-1])
    assert ids(log) == ["a", "b", "c"]
    assert read_looks(log).warnings == ()
    add_looks(log, [entry("d")])
    assert ids(log) == ["a", "b", "c", "d"]


def test_a_line_that_is_just_being_written_is_waited_for(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A reader that meets half a line looks again before it calls it torn."""
    whole = log.read_bytes()
    log.write_bytes(whole[:-30])
    monkeypatch.setattr(time, "sleep", lambda _: log.write_bytes(whole))
    assert ids(log) == ["a", "b", "c"]
    assert read_looks(log).warnings == ()


@pytest.mark.parametrize(
    "damage",
    [
        lambda line: line.replace(b'"heading": 60', b'"heading": 66'),
        lambda line: line.replace(b"Creek", b"Crook"),
        lambda line: line[: len(line) // 2],
        lambda line: line.replace(b"{", b"", 1),
        lambda _: b"null",
        lambda _: b'{"kind": "look"}',
        lambda _: b"\xff\xfe\x00",
        lambda _: b"[" * 60_000,
        lambda _: b'{"a": 1' + b"0" * 5000 + b"}",
        lambda _: b'{"a": 1, "a": 1}',
        lambda line: line + b" " * 10 + b"x" * LONGEST_LINE,
    ],
)
def test_a_damaged_line_in_the_middle_costs_no_other(log: Path, damage: Any) -> None:
    """A count changed by hand does not pass the checksum; the rest stands."""
    first, second, third = log.read_bytes().splitlines()
    log.write_bytes(b"\n".join([first, damage(second), third, b""]))
    assert ids(log) == ["a", "c"]
    (warning,) = read_looks(log).warnings
    assert "line 2 cannot be read" in warning
    assert "record it again" in warning


FORGED = [
    {"paddock": ""}, {"paddock": "a\x1b[2J"}, {"paddock": 5}, {"author": "x" * 81},
    {"note": "a\nb"}, {"moment": "today"}, {"moment": "2026-13-01T00:00:00Z"},
    {"counts": {"heading": -1}}, {"counts": {"heading": True}}, {"counts": {}},
    {"counts": {"heading": 10**9}}, {"counts": {"headng": 1}}, {"counts": [1]},
    {"typed": [["a"]]}, {"typed": 5}, {"id": "../x"}, {"id": "a" * 65}, {"id": None},
]  # fmt: skip


@pytest.mark.parametrize("change", FORGED, ids=str)
def test_a_line_with_a_checksum_but_no_look(log: Path, change: dict[str, Any]) -> None:
    """Whoever writes lines of their own cannot smuggle in what we never write."""
    from forecaster.store.sealed_line import sealed_line

    fields = json.loads(look_line(entry("x")))
    del fields["sum"]
    forged = sealed_line(fields | change)
    log.write_bytes(log.read_bytes() + forged + b"\n")
    assert ids(log) == ["a", "b", "c"]
    assert "line 4 cannot be read (it holds what no look holds)" in "".join(
        read_looks(log).warnings
    )


def test_an_editor_may_change_line_ends_and_add_a_mark(log: Path) -> None:
    """Saved by an editor with CR LF, a byte-order mark and empty lines: all read."""
    text = log.read_text(encoding="utf-8").replace("\n", "\r\n\r\n")
    log.write_bytes(b"\xef\xbb\xbf" + text.encode())
    assert ids(log) == ["a", "b", "c"]
    assert read_looks(log).warnings == ()


def test_two_logs_joined_by_hand(log: Path) -> None:
    """The same line twice counts once; another look of the same id is told."""
    more = [entry("a"), entry("b", heads=7)]
    gone = withdrawal_line(Withdrawal("nowhere", "J", "x", LATER))
    log.write_bytes(
        b"".join(line + b"\n" for line in [*map(look_line, more), gone])
        + log.read_bytes()
    )
    found = read_looks(log)
    assert [each.look.id for each in found.entries] == ["a", "b", "c"]
    assert found.entries[1] == entry("b", heads=7)
    told = " ".join(found.warnings)
    assert "line 5: the id of an earlier look" in told
    assert "not in the log: nowhere" in told


def test_lines_of_a_later_version_are_left_and_told(log: Path) -> None:
    """A sound line of a kind we do not know is not damage."""
    from forecaster.store.sealed_line import sealed_line

    strange = sealed_line({"format": 2, "kind": "look", "id": "z"})
    log.write_bytes(log.read_bytes() + (strange + b"\n") * 7)
    assert ids(log) == ["a", "b", "c"]
    (warning,) = read_looks(log).warnings
    assert "lines 4, 5, 6, 7, 8 and 2 more: written by another version" in warning


PLACES = ["folder", "too large", "unreadable"]


@pytest.mark.parametrize("place", PLACES)
def test_a_log_that_cannot_be_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, place: str
) -> None:
    """One clear error; never taken for an empty log and written after."""
    path = tmp_path / "looks.jsonl"
    if place == "folder":
        path.mkdir()
    else:
        path.write_bytes(b"x\n")
    if place == "too large":
        monkeypatch.setattr(log_file, "LARGEST_LOG", 1)
    if place == "unreadable":

        def refuse(_: Path) -> bytes:
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

        monkeypatch.setattr(Path, "read_bytes", refuse)
    with pytest.raises(InputMissingError, match=r"looks\.jsonl: "):
        read_looks(path)
    with pytest.raises(InputMissingError):
        add_looks(path, [entry()])


def full(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk that takes nothing, only a part, or fails while it settles."""
    write = os.write

    def refuse(*_: Any) -> int:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    def part(handle: int, content: Any) -> int:
        monkeypatch.setattr(os, "write", refuse)
        return write(handle, content[:25])

    monkeypatch.setattr(os, "fsync" if kind == "settles" else "write",
                        part if kind == "part" else refuse)  # fmt: skip


@pytest.mark.parametrize("kind", ["nothing", "part", "settles"])
def test_a_full_disk_changes_nothing(
    log: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str
) -> None:
    """One clear error; the log is as it was, and a new one is not left behind."""
    before = log.read_bytes()
    fresh = tmp_path / "new" / "looks.jsonl"
    fresh.parent.mkdir()
    for path in (log, fresh):
        with monkeypatch.context() as patch:
            full(kind, patch)
            with pytest.raises(OutputError, match=os.strerror(errno.ENOSPC)) as caught:
                add_looks(path, [entry("d"), entry("e")])
        assert "nothing was changed" in str(caught.value)
    assert log.read_bytes() == before
    assert not fresh.exists()
    add_looks(log, [entry("d")])
    assert ids(log) == ["a", "b", "c", "d"]


LIMITED = """
import resource, sys
from pathlib import Path
sys.path.insert(0, sys.argv[2])
from test_look_store import entry
from forecaster.errors import OutputError
from forecaster.store.looks import add_looks
path = Path(sys.argv[1])
size = path.stat().st_size + 100
resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))
try:
    add_looks(path, [entry("d")])
except OutputError as error:
    print(error)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="no such limit on Windows")
def test_the_system_takes_a_part_and_then_refuses(log: Path) -> None:
    """A real half-taken write (a file-size limit) is taken back by the program."""
    before = log.read_bytes()
    done = subprocess.run(
        [sys.executable, "-c", LIMITED, str(log), str(Path(__file__).parent)],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert os.strerror(errno.EFBIG) in done.stdout
    assert log.read_bytes() == before


def test_ctrl_c_while_writing_changes_nothing(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was written of the line is taken back."""
    before = log.read_bytes()

    def stop(_: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", stop)
    with pytest.raises(KeyboardInterrupt):
        add_looks(log, [entry("d")])
    assert log.read_bytes() == before


def test_another_run_holds_the_log(log: Path) -> None:
    """73 after a while, and nothing changed."""
    before = log.read_bytes()
    with (
        FileLock(log.with_name(".looks.jsonl.lock")),
        pytest.raises(OutputError, match="another run is writing to it"),
        append_file.alone(log, wait=0.05),
    ):
        pass
    assert log.read_bytes() == before


@pytest.mark.parametrize(
    "error", [PermissionError(13, "denied"), NotImplementedError()]
)
def test_no_lock_file_can_be_made(
    log: Path, monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    """A folder that cannot be written, or a file system without locks."""

    def refuse(*_: Any, **__: Any) -> None:
        raise error

    monkeypatch.setattr(FileLock, "acquire", refuse)
    with pytest.raises(OutputError, match="no lock file can be made"):
        add_looks(log, [entry("d")])
    assert ids(log) == ["a", "b", "c"]


def test_a_log_that_is_no_file_is_not_written(tmp_path: Path) -> None:
    """Whatever stands under its name is left alone."""
    (tmp_path / "looks.jsonl").mkdir()
    with pytest.raises(OutputError, match="not a plain file"):
        append_file.append(tmp_path / "looks.jsonl", [b"{}"])


MANY = """
import sys
from pathlib import Path
sys.path.insert(0, sys.argv[2])
from test_look_store import entry
from forecaster.store.looks import add_looks
print("ready", flush=True)
for number in range(int(sys.argv[4])):
    add_looks(Path(sys.argv[1]), [entry(f"{sys.argv[3]}-{number}")])
"""


def writer(path: Path, name: str, count: int) -> subprocess.Popen[str]:
    """A process that adds looks one by one."""
    here = str(Path(__file__).parent)
    command = [sys.executable, "-c", MANY, str(path), here, name, str(count)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True)


def test_two_processes_at_once(tmp_path: Path) -> None:
    """Every look of both is there, once, and in each one's own order."""
    path = tmp_path / "looks.jsonl"
    running = [writer(path, name, 25) for name in ("x", "y")]
    for process in running:
        process.communicate(timeout=60)
        assert process.returncode == 0
    found = ids(path)
    assert len(found) == 50
    for name in ("x", "y"):
        own = [each for each in found if each.startswith(name)]
        assert own == [f"{name}-{number}" for number in range(25)]
    assert read_looks(path).warnings == ()


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL on Windows")
def test_killed_while_appending(tmp_path: Path) -> None:
    """Killed at ten moments: never more than a torn tail, and the next one goes on."""
    path = tmp_path / "looks.jsonl"
    for number in range(10):
        process = writer(path, f"k{number}", 100_000)
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
        time.sleep(0.02 + 0.011 * number)
        process.send_signal(signal.SIGKILL)
        process.communicate()
        before = ids(path)
        added = add_looks(path, [entry(f"after-{number}")])
        assert len(added.new) == 1
        assert ids(path) == [*before, f"after-{number}"]
    for number in range(10):
        own = [each for each in ids(path) if each.startswith(f"k{number}-")]
        assert own == [f"k{number}-{n}" for n in range(len(own))]
    assert sum(each.startswith("k") for each in ids(path)) > 10


CUT = """
import os, signal, sys
from pathlib import Path
sys.path.insert(0, sys.argv[2])
from test_look_store import entry
from forecaster.store.looks import add_looks
write = os.write
def half(handle, content):
    write(handle, content[: len(content) // 2])
    os.kill(os.getpid(), signal.SIGKILL)
os.write = half
add_looks(Path(sys.argv[1]), [entry("d")])
"""


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL on Windows")
def test_killed_in_the_middle_of_a_line(log: Path) -> None:
    """Half a line on the disk: told once, three looks stand, and it goes on."""
    command = [sys.executable, "-c", CUT, str(log), str(Path(__file__).parent)]
    assert subprocess.run(command, check=False).returncode == -signal.SIGKILL
    assert not log.read_bytes().endswith(b"\n")
    found = read_looks(log)
    assert [each.look.id for each in found.entries] == ["a", "b", "c"]
    assert len(found.warnings) == 1
    add_looks(log, [entry("d")])
    assert ids(log) == ["a", "b", "c", "d"]
