"""``history``, ``snooze`` and ``selfcheck`` as a user runs them."""

from __future__ import annotations

import json
import shutil
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.cli.main import exit_code
from forecaster.service import clock
from forecaster.service.alerts.farm_check import check_farm
from forecaster.settings.shipped import demo_folder

if TYPE_CHECKING:
    from pathlib import Path

NOW = np.datetime64("2026-10-11T20:07:00", "s")
HOUR = np.timedelta64(3600, "s")


@pytest.fixture(autouse=True)
def _at_the_demo_s_moment(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """07:07 on 12 October at the farm, in an empty folder."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(clock, "utc_now", lambda: NOW)


@pytest.fixture
def farm(tmp_path: Path) -> str:
    """A farm of one's own."""
    folder = tmp_path / "farm"
    shutil.copytree(demo_folder(), folder)
    return str(folder)


@pytest.fixture(scope="module")
def state(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What is kept after one check of it."""
    folder = tmp_path_factory.mktemp("once") / "farm"
    shutil.copytree(demo_folder(), folder)
    assert check_farm(folder, lambda: NOW - HOUR).exit == 0
    return folder / ".alerts"


@pytest.fixture
def checked(farm: str, tmp_path: Path, state: Path) -> str:
    """A farm that was checked once."""
    shutil.copytree(state, tmp_path / "farm" / ".alerts")
    return farm


def run(capsys: pytest.CaptureFixture[str], code: int, *arguments: str) -> str:
    """What a run prints that ends with ``code``; an error is one message."""
    assert exit_code(list(arguments)) == code
    captured = capsys.readouterr()
    assert "Traceback" not in captured.err
    return captured.out or captured.err


@pytest.mark.parametrize("command", ["history", "selfcheck", "snooze"])
def test_the_demo_keeps_nothing(
    capsys: pytest.CaptureFixture[str], command: str
) -> None:
    """64, and how to name a farm."""
    said = run(capsys, 64, command)
    assert f"forecaster {command} needs a farm of your own" in said
    assert run(capsys, 66, command, "--farm", "nowhere")


def test_history_of_a_check(capsys: pytest.CaptureFixture[str], checked: str) -> None:
    """What was told at 06:07, in text, JSON and a file."""
    said = run(capsys, 0, "history", "--farm", checked)
    assert "1 check, the first Mon 12 Oct 06:07" in said
    assert "- file: accepted Mon 12 Oct 06:07" in said
    options = ("--on", "2026-10-12", "--paddock", "back road", "--active", "paraquat")
    tree = json.loads(
        run(capsys, 0, "history", "--farm", checked, "--format", "json", *options)
    )
    assert [each["paddock"] for each in tree["windows"]] == ["Back Road"]
    assert tree["first_day"] == "2026-10-12"
    run(capsys, 0, "history", "--farm", checked, "--out", "page.txt")
    assert "Messages" in run(capsys, 0, "history", "--farm", checked)


def test_history_without_a_check(capsys: pytest.CaptureFixture[str], farm: str) -> None:
    """66, and the command that begins it."""
    said = run(capsys, 66, "history", "--farm", farm)
    assert f"forecaster check --farm {farm}" in said


def test_snooze_list_and_end(capsys: pytest.CaptureFixture[str], checked: str) -> None:
    """From asking for quiet to ending it."""
    here = ("snooze", "--farm", checked)
    said = run(capsys, 0, *here, "House", "--until", "2026-10-14T06:00", "--by", "Jo")
    assert "House: quiet until Wed 14 Oct 2026 06:00 AEDT (UTC+11:00)." in said
    assert "still comes through" in said
    assert "House: until Wed 14 Oct" in run(capsys, 0, *here, "--list")
    assert run(capsys, 0, *here, "House", "--end") == "House: told again from now on.\n"
    assert run(capsys, 0, *here, "--list") == "No snooze is in force.\n"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), "which paddock?"),
        (("House", "--list"), "--list stands alone"),
        (("House", "--end", "--days", "1"), "leave out --days"),
        (("House", "--days", "9"), "allowed is 1 to 7"),
        (("Hous", "--days", "1"), "did you mean House"),
    ],
)
def test_snoozes_that_are_refused(
    capsys: pytest.CaptureFixture[str],
    checked: str,
    arguments: tuple[str, ...],
    words: str,
) -> None:
    """64, each in its own words."""
    assert words in run(capsys, 64, "snooze", "--farm", checked, *arguments)


def test_selfcheck_in_text_and_json(
    capsys: pytest.CaptureFixture[str], checked: str
) -> None:
    """One line each; the exit is 0 only if nothing failed."""
    here = ("selfcheck", "--farm", checked, "--offline")
    only = ("--only", "db.rows", "--only", "cfg.parse")
    said = run(capsys, 0, *here, *only)
    assert [line.split()[:2] for line in said.splitlines()[:2]] == [
        ["ok", "cfg.parse"], ["ok", "db.rows"],
    ]  # fmt: skip
    assert said.endswith("2 ok, 0 warnings, 0 failed, 0 skipped\n")
    tree = json.loads(run(capsys, 0, *here, *only, "--format", "json"))
    assert [each["state"] for each in tree["findings"]] == ["ok", "ok"]
    assert (tree["farm"], tree["exit"]) == ("Thornbill Rise", 0)
    listed = run(capsys, 0, *here, "--list")
    assert "chan.file" in listed
    assert len(listed.splitlines()) == 22


def test_selfcheck_tells_every_fault(
    capsys: pytest.CaptureFixture[str], checked: str, tmp_path: Path
) -> None:
    """78; the fault with its place, and one edit as the remedy."""
    path = tmp_path / "farm" / "farm.toml"
    path.write_text(path.read_text("utf-8").replace("elevation_m = 420", "e = 1"))
    here = ("selfcheck", "--farm", checked, "--offline")
    said = run(capsys, 78, *here)
    assert "FAIL    cfg.semantic" in said
    assert "farm.toml:" in said
    assert f"-> edit {path}" in said
    assert json.loads(run(capsys, 78, *here, "--format", "json"))["farm"] == "farm"


def test_selfcheck_that_cannot_be(
    capsys: pytest.CaptureFixture[str], checked: str
) -> None:
    """A test message needs the network; an id has to be known."""
    here = ("selfcheck", "--farm", checked, "--offline")
    assert "leave out --offline" in run(capsys, 64, *here, "--send-test")
    assert "did you mean" in run(capsys, 64, *here, "--only", "db.row")
