"""``forecaster schedule``: printed, or written whole or not at all."""

from __future__ import annotations

import codecs
import datetime as dt
import os
import re
import sys
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from forecaster.cli.main import exit_code
from forecaster.errors import OutputError
from forecaster.render.schedule_spec import ScheduleSpec
from forecaster.service.new_farm import make
from forecaster.service.schedules import (
    make_schedule,
    spec_of,
    this_system,
    write_schedule,
)
from forecaster.settings.farm import load_farm

NOW = np.datetime64("2026-08-20T03:00", "m")
posix = pytest.mark.skipif(os.name != "posix", reason="paths of this computer")


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    """A new farm's folder."""
    return make(tmp_path / "my farm", None, "My farm").parent


def settings(farm: Path, text: str) -> None:
    """Put ``text`` before the farm's settings."""
    file = farm / "farm.toml"
    file.write_text(f"{text}\n{file.read_text(encoding='utf-8')}", encoding="utf-8")


@posix
@pytest.mark.parametrize("system", ["systemd", "cron"])
def test_everything_is_printed_and_nothing_is_written(
    system: str, farm: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The files, each under its name, and what to do with them."""
    before = sorted(farm.rglob("*"))
    assert exit_code(["schedule", "--farm", str(farm), "--for", system]) == 0
    said = capsys.readouterr().out
    spec = spec_of(load_farm(farm), NOW)
    made = make_schedule(spec, system, NOW)
    for name, text in made.files.items():
        assert f"===== {name}\n{text}" in said
    assert said.endswith(f"===== what to do\n{made.install}")
    assert sorted(farm.rglob("*")) == before
    assert sys.executable in spec.program
    assert spec.farm == str(farm.resolve())


@posix
def test_what_changes_is_shown_when_it_is_written(
    farm: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """New files; then no difference; then the line that changed."""
    place = tmp_path / "a" / "units"
    asked = ["schedule", "--farm", str(farm), "--for", "systemd", "--write", str(place)]
    assert exit_code(asked) == 0
    said = capsys.readouterr().out
    names = sorted(each.name for each in place.iterdir())
    assert len(names) == 5
    assert all(f"  {name}\n" in said for name in names)
    assert "\n+OnCalendar=*-*-* *:07:00 UTC\n" in said
    assert "daemon-reload" in said
    assert exit_code(asked) == 0
    assert "Nothing changed.\n" in capsys.readouterr().out
    settings(farm, '[alerts]\ncheck = "daily"\ndigest_at = 06:15:00\n')
    assert exit_code(asked) == 0
    said = capsys.readouterr().out
    assert "\n-OnCalendar=*-*-* *:07:00 UTC\n" in said
    zone = load_farm(farm).place.zone
    assert f"\n+OnCalendar=*-*-* 06:15:00 {zone}\n" in said


@posix
def test_all_files_are_written_or_none(
    farm: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A folder stands where the last one should go: the others are as they were."""
    made = make_schedule(spec_of(load_farm(farm), NOW), "systemd", NOW)
    place = tmp_path / "units"
    first, second, *_, last = made.files
    (place / last).mkdir(parents=True)
    (place / first).write_text("older", encoding="utf-8")
    asked = ["schedule", "--farm", str(farm), "--for", "systemd", "--write", str(place)]
    assert exit_code(asked) == 73
    said = capsys.readouterr().err
    assert str(place / last) in said
    assert "--write" in said
    assert (place / first).read_text(encoding="utf-8") == "older"
    assert not (place / second).exists()
    assert len(list(place.iterdir())) == 2
    with pytest.raises(OutputError, match="cannot be made"):
        write_schedule(made, place / first / "below a file")


def test_tasks_of_windows_are_written_in_the_encoding_they_name(tmp_path: Path) -> None:
    """UTF-16 with its mark: XML 1.0, 4.3.3. A second time nothing differs."""
    spec = ScheduleSpec("C:\\höf 牧場", ("C:\\py.exe",), "Australia/Perth")
    made = make_schedule(spec, "windows", NOW)
    assert "+<?xml" in write_schedule(made, tmp_path)
    for name in made.files:
        content = (tmp_path / name).read_bytes()
        assert content[:2] in {codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE}
        assert spec.farm in "".join(ET.fromstring(content).itertext())  # noqa: S314 - our own
    assert write_schedule(made, tmp_path) == ""


def test_what_cannot_be_asked_for_is_refused(
    farm: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """No farm, both ways at once, no such scheduler, a time of clock changes."""
    base = ["schedule", "--farm", str(farm)]
    assert exit_code([*base, "--print", "--write", str(tmp_path)]) == 64
    assert "choose one" in capsys.readouterr().err
    assert exit_code([*base, "--for", "launchd"]) == 64
    assert "allowed is systemd or cron or windows" in capsys.readouterr().err
    monkeypatch.chdir(tmp_path)
    assert exit_code(["schedule"]) == 64
    assert "needs a farm of your own" in capsys.readouterr().err
    assert exit_code(["schedule", "--farm", "away"]) == 66
    settings(farm, '[alerts]\ncheck = "daily"\ndigest_at = 02:30:00\n')
    assert exit_code(base) == 64
    assert "alerts.digest_at = 02:30" in capsys.readouterr().err


def test_a_daily_digest_alone_makes_no_daily_check(farm: Path) -> None:
    """The digest's time may be any while checks are hourly."""
    settings(farm, "[alerts]\ndigest_at = 02:30:00\n")
    assert spec_of(load_farm(farm), NOW).daily is None


def test_names_of_secrets_come_from_the_farms_settings(farm: Path) -> None:
    """Each once, the watcher's too."""
    settings(
        farm,
        '[alerts]\ncheck = "daily"\nheartbeat = "watcher"\n'
        '[[alerts.channel]]\nname = "a"\nkind = "apprise"\nsecret = "phone"\n'
        '[[alerts.channel]]\nname = "b"\nkind = "apprise"\nsecret = "phone"\n'
        '[[alerts.channel]]\nname = "c"\nkind = "file"\nfile = "a.txt"\n',
    )
    spec = spec_of(load_farm(farm), NOW)
    assert spec.secrets == ("watcher", "phone")
    assert spec.daily == dt.time(5, 30)


@posix
def test_a_schedule_of_the_computer_runs_as_the_owner_of_the_farm(
    farm: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Who may write there; where the system cannot say, who asks."""
    spec = spec_of(load_farm(farm), NOW, whole_system=True)
    assert spec.user == farm.owner()
    assert spec.fail_file == f"/etc/forecaster/{spec.name}.fail"

    def unknown(_: Path) -> str:
        raise KeyError("uid not found")

    monkeypatch.setattr(Path, "owner", unknown)
    monkeypatch.setenv("LOGNAME", "grower")
    assert spec_of(load_farm(farm), NOW, whole_system=True).user == "grower"


@posix
def test_the_address_for_failures_lies_with_the_users_settings(
    farm: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """XDG base directory specification: XDG_CONFIG_HOME, else ~/.config."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "c"))
    spec = spec_of(load_farm(farm), NOW)
    assert spec.fail_file == str(tmp_path / "c" / "forecaster" / f"{spec.name}.fail")
    monkeypatch.delenv("XDG_CONFIG_HOME")
    monkeypatch.setenv("HOME", str(tmp_path))
    spec = spec_of(load_farm(farm), NOW)
    assert re.fullmatch(rf"{tmp_path}/\.config/forecaster/.*\.fail", spec.fail_file)


def test_the_scheduler_is_the_one_this_computer_has(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """sd_booted(3): systemd runs where /run/systemd/system is a folder."""
    monkeypatch.setattr(sys, "platform", "win32")
    assert this_system() == "windows"
    monkeypatch.setattr(sys, "platform", "linux")
    for there, system in ((True, "systemd"), (False, "cron")):
        monkeypatch.setattr(Path, "is_dir", lambda _, there=there: there)
        assert this_system() == system
