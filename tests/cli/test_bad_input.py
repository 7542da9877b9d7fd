"""Wrong words on the command line, and places that cannot be written."""

from __future__ import annotations

import errno
import json
import os
import stat
import subprocess
import sys
from pathlib import Path
from typing import Protocol

import pytest

from forecaster.cli import main
from forecaster.cli.main import exit_code
from forecaster.service import files
from forecaster.settings.farm import load_farm

MELBOURNE = "on the clock of Australia/Melbourne"


class Refused(Protocol):
    """Runs the program, which must leave with ``code``; gives what it says."""

    def __call__(self, *arguments: object, code: int) -> str: ...


@pytest.fixture
def refused(capsys: pytest.CaptureFixture[str]) -> Refused:
    """One message on standard error, nothing on standard output, no traceback."""

    def run(*arguments: object, code: int) -> str:
        assert exit_code([str(each) for each in arguments]) == code
        out, err = capsys.readouterr()
        assert out == ""
        assert err.startswith("forecaster: ")
        assert "Traceback" not in err
        assert err.replace("\n", "").isprintable()
        return err

    return run


def program(*arguments: object, **more: object) -> subprocess.CompletedProcess[str]:
    """The installed program in a process of its own."""
    command = [sys.executable, "-m", "forecaster", *map(str, arguments)]
    return subprocess.run(  # type: ignore[call-overload,no-any-return]  # free options
        command, text=True, check=False, capture_output="stdout" not in more, **more
    )


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["outlok"], "No such command 'outlok'"),
        (["outlook", "--days", "-1"], "No such option: --days"),
        (["outlook", "--at"], "requires an argument"),
        (["outlook", "extra"], "unexpected extra argument"),
        (["hours"], "Missing argument"),
        (["outlook", "--format", "xml"], "--format 'xml': allowed is text or json"),
        (["hours", "Creek Flat", "--format", ""], "allowed is text or json"),
    ],
)
def test_wrong_words_are_a_usage_error(
    refused: Refused, arguments: list[str], said: str
) -> None:
    """64, what is wrong, and what is allowed or where help is."""
    told = refused(*arguments, code=64)
    assert said in told
    assert "--help" in told or "allowed is" in told


@pytest.mark.parametrize("command", ["hours", "explain"])
@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("Creek Flt", "did you mean Creek Flat?"),
        ("*", "no paddock called '*' on Thornbill Rise; known: Creek Flat, Woolshed"),
        ("$(id)", "no paddock called '$(id)'"),
        ("\x1b[2J", "'\\x1b[2J'"),
    ],
)
def test_an_unknown_paddock_gets_the_nearest_names(
    refused: Refused, command: str, name: str, said: str
) -> None:
    """64; a pattern or a shell's own characters are plain text."""
    assert said in refused(command, name, code=64)


def test_an_unknown_active_gets_the_list(refused: Refused) -> None:
    """64 and the two there are."""
    told = refused("hours", "Creek Flat", "--active", "salt", code=64)
    assert "--active 'salt': known are glyphosate, paraquat" in told


@pytest.mark.parametrize(
    ("at", "said"),
    [
        ("2026-13-01", "is not a moment; write it like 2026-10-12T07:00"),
        ("2027-02-29", "is not a moment"),
        ("tomorrow", "is not a moment"),
        ("1e9", "is not a moment"),
        ("", "is not a moment"),
        # Clocks go from 02:00 to 03:00 on the first Sunday of October and from 03:00
        # to 02:00 on that of April (IANA time-zone database, rule AV).
        ("2026-10-04T02:30", f"does not exist {MELBOURNE}"),
        ("2027-04-04T02:30", f"comes twice {MELBOURNE}"),
    ],
)
def test_a_moment_that_is_none(refused: Refused, at: str, said: str) -> None:
    """64; a local hour that is skipped or doubled is told to name its offset."""
    told = refused("outlook", "--at", at, code=64)
    assert said in told
    assert repr(at) in told


@pytest.mark.parametrize("offset", [":00+10:00", ":00+11:00"])
def test_the_offsets_it_offers_are_understood(refused: Refused, offset: str) -> None:
    """What is offered for the skipped hour can be typed back."""
    at = "2026-10-04T02:30"
    assert f"{at}{offset}" in refused("outlook", "--at", at, code=64)
    assert exit_code(["outlook", "--at", f"{at}{offset}"]) == 0


@pytest.mark.parametrize("at", ["2030-01-01", "2020-01-01T00:00Z", "0001-01-01"])
def test_a_moment_outside_the_weather(refused: Refused, at: str) -> None:
    """69, what hours there are, and how to name another moment."""
    told = refused("outlook", "--at", at, code=69)
    assert "holds hours from 2026-" in told
    assert "--at" in told


def test_a_place_that_cannot_be_written(refused: Refused, tmp_path: Path) -> None:
    """73 for a missing folder and for a folder; nothing is left behind."""
    (tmp_path / "folder").mkdir()
    for out in (tmp_path / "none" / "a.txt", tmp_path / "folder"):
        told = refused("outlook", "--out", out, code=73)
        assert f"{out}: cannot be written (" in told
    assert [path.name for path in tmp_path.iterdir()] == ["folder"]
    assert not list((tmp_path / "folder").iterdir())


def test_an_interrupted_write_leaves_the_old_file_whole(
    refused: Refused, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full disk, then Ctrl-C, at the last step: old bytes, no scraps."""
    out = tmp_path / "outlook.txt"
    out.write_text("old", encoding="utf-8")

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    def interrupted(_: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", full)
    told = refused("outlook", "--out", out, code=73)
    assert "No space left on device" in told
    monkeypatch.setattr(os, "fsync", interrupted)
    assert exit_code(["outlook", "--out", str(out)]) == 130
    assert out.read_text(encoding="utf-8") == "old"
    assert list(tmp_path.iterdir()) == [out]


def test_a_written_file_has_the_rights_of_any_other(tmp_path: Path) -> None:
    """New: as the umask says; older: as it had. A pipe or device is written into."""
    out = tmp_path / "outlook.txt"
    plain = tmp_path / "plain"
    plain.touch()
    assert exit_code(["outlook", "--out", str(out)]) == 0
    assert stat.S_IMODE(out.stat().st_mode) == stat.S_IMODE(plain.stat().st_mode)
    out.chmod(0o640)
    assert exit_code(["outlook", "--out", str(out)]) == 0
    assert stat.S_IMODE(out.stat().st_mode) == 0o640


def test_a_pipe_is_written_into_and_stays_one(tmp_path: Path) -> None:
    """``--out`` on what is no ordinary file must not put a file in its place."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reader = subprocess.Popen(["cat", str(pipe)], stdout=subprocess.PIPE)
    try:
        files.write_whole(pipe, "words\n")
        out, _ = reader.communicate(timeout=10)
    finally:
        reader.kill()
    assert out == b"words\n"
    assert stat.S_ISFIFO(pipe.stat().st_mode)


def test_a_farm_folder_without_a_farm(refused: Refused, tmp_path: Path) -> None:
    """66, the path, and the command that makes one; a missing folder likewise."""
    for folder in (tmp_path, tmp_path / "none"):
        told = refused("outlook", "--farm", folder, code=66)
        assert f"{folder / 'farm.toml'}: no such file" in told
        assert "forecaster init DIR" in told
    assert not list(tmp_path.iterdir())


def test_a_fault_of_the_program_is_told_as_one(
    refused: Refused, monkeypatch: pytest.MonkeyPatch
) -> None:
    """70 without a traceback, which FORECASTER_DEBUG=1 brings back."""
    from forecaster.service import wiring

    def broken(*_: object) -> None:
        raise ZeroDivisionError("float division by zero")

    monkeypatch.setattr(wiring, "load_farm", broken)
    told = refused("outlook", code=70)
    assert "ZeroDivisionError: float division by zero" in told
    assert "report it" in told
    monkeypatch.setenv("FORECASTER_DEBUG", "1")
    with pytest.raises(ZeroDivisionError):
        exit_code(["outlook"])


def test_no_words_at_all_ask_for_help(capsys: pytest.CaptureFixture[str]) -> None:
    """The names of the commands, as with --help."""
    assert exit_code([]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    for command in ("outlook", "hours", "explain", "init"):
        assert f"\n  {command} " in out


@pytest.mark.parametrize("form", ["text", "json"])
@pytest.mark.parametrize("command", ["hours", "explain"])
def test_commands_of_one_paddock_answer_on_standard_output(
    capsys: pytest.CaptureFixture[str], command: str, form: str
) -> None:
    """Names are matched without regard to capitals; json is one document."""
    assert exit_code([command, "creek FLAT", "--format", form]) == 0
    out, err = capsys.readouterr()
    assert "Creek Flat" in out
    assert err == ""
    if form == "json":
        json.loads(out)


def test_ctrl_c_between_commands_is_130(monkeypatch: pytest.MonkeyPatch) -> None:
    """128 + 2, as a shell counts a program ended by SIGINT (POSIX, 2.8.2)."""

    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(main, "app", interrupted)
    assert exit_code(["outlook"]) == 130


def test_run_leaves_with_the_exit_code(capsys: pytest.CaptureFixture[str]) -> None:
    """The entry point of the installed command; help and version are no errors."""
    for arguments, code in ((["--version"], 0), (["--help"], 0), (["nonsense"], 64)):
        with pytest.raises(SystemExit) as left:
            main.run(arguments)
        assert left.value.code == code
    assert "forecaster 0." in capsys.readouterr().out


def test_output_that_is_no_terminal_stream_is_left_alone(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A stream that cannot change its encoding is used as it is."""
    import io

    stream = io.StringIO()
    monkeypatch.setattr(sys, "stdout", stream)
    monkeypatch.setattr(sys, "stderr", io.StringIO())
    assert exit_code(["--version"]) == 0
    assert stream.getvalue().startswith("forecaster ")


def test_the_program_in_a_process_of_its_own(tmp_path: Path) -> None:
    """Exit code, one message on standard error, empty standard output, no traceback."""
    folder = tmp_path / "farm"
    folder.mkdir()
    (folder / "farm.toml").write_text("[farm]\nname = Home\n", encoding="utf-8")
    for arguments, code, said in (
        (("outlok",), 64, "No such command"),
        (("outlook", "--farm", folder), 78, "farm.toml:2:8: not TOML"),
    ):
        done = program(*arguments)
        assert done.returncode == code
        assert done.stdout == ""
        assert said in done.stderr
        assert "Traceback" not in done.stderr
    assert [path.name for path in folder.iterdir()] == ["farm.toml"]


def test_a_name_in_any_script_leaves_a_console_that_has_none(tmp_path: Path) -> None:
    """An ASCII console (PYTHONIOENCODING) does not stop the outlook."""
    farm = (
        '[farm]\nname = "Дальнее 🐑"\nzone = "Australia/Perth"\nlatitude = -33\n'
        'longitude = 117\n[weather]\nkind = "demo"\n[[paddock]]\nname = "遠い畑"\n'
        "hectares = 9\nweeds = { capeweed = 9 }\n"
    )
    (tmp_path / "farm.toml").write_text(farm, encoding="utf-8")
    load_farm(tmp_path)
    environment = {**os.environ, "PYTHONIOENCODING": "ascii"}
    done = program("outlook", "--farm", tmp_path, env=environment, encoding="utf-8")
    assert done.returncode == 0
    assert "Дальнее 🐑" in done.stdout
    assert "遠い畑" in done.stdout


def closed_pipe() -> int:
    """The writing end of a pipe that nobody reads."""
    reader, writer = os.pipe()
    os.close(reader)
    return writer


def test_a_closed_pager_is_no_error() -> None:
    """The reader has gone before the first line: 0 and silence."""
    writer = closed_pipe()
    try:
        done = program("outlook", stdout=writer, stderr=subprocess.PIPE)
    finally:
        os.close(writer)
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.parametrize("arguments", [["outlook"], ["--help"], ["hours", "House"]])
def test_a_pager_closed_at_any_command(
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    arguments: list[str],
) -> None:
    """Short and long output, and help, all end with 0."""
    with os.fdopen(closed_pipe(), "w", encoding="utf-8") as stream:
        monkeypatch.setattr(sys, "stdout", stream)
        assert exit_code(arguments) == 0
        monkeypatch.undo()
    assert capsys.readouterr().err == ""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="Linux has this device")
def test_a_full_disk_behind_standard_output(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """73 and one message, not a fault of the program."""
    said = "forecaster: standard output cannot be written ("
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        done = program("outlook", stdout=full, stderr=subprocess.PIPE)
        monkeypatch.setattr(sys, "stdout", full)
        code = exit_code(["hours", "House"])
        monkeypatch.undo()
    assert done.returncode == code == 73
    for told in (done.stderr, capsys.readouterr().err):
        assert told.startswith(said)
        assert told.count("\n") == 1
