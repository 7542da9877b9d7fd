"""A farm's schedule: made, read back and proved over a year, then written."""

from __future__ import annotations

import getpass
import os
import sys
from dataclasses import dataclass, replace
from difflib import unified_diff
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from forecaster.errors import OutputError, UsageError
from forecaster.render.schedule_cron import cron_files, cron_install
from forecaster.render.schedule_spec import ScheduleSpec, check_daily
from forecaster.render.schedule_systemd import systemd_files, systemd_install
from forecaster.render.schedule_windows import windows_files, windows_install
from forecaster.service.files import write_whole
from forecaster.service.program import own_command
from forecaster.service.schedule_reading import strikes_of
from forecaster.service.schedule_times import (
    YEAR,
    clock_changes,
    prove_daily,
    prove_hourly,
)

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable

    from forecaster.settings.farm import Farm

    Files = Callable[[ScheduleSpec], dict[str, str]]
    Words = Callable[[ScheduleSpec], str]

_MAKERS: dict[str, tuple[Files, Words]] = {
    "systemd": (systemd_files, systemd_install),
    "cron": (cron_files, cron_install),
    "windows": (windows_files, windows_install),
}
SYSTEMS = tuple(_MAKERS)
_LATE = np.timedelta64(6, "m")
"""Two deliveries are never further apart."""


@dataclass(frozen=True, slots=True)
class Schedule:
    """Files of one schedule by name, and what to do with them."""

    files: dict[str, str]
    install: str
    encoding: str


def this_system() -> str:
    """What this computer starts programs with.

    systemd is there where ``/run/systemd/system`` is: sd_booted(3).
    """
    if sys.platform == "win32":
        return "windows"
    return "systemd" if Path("/run/systemd/system").is_dir() else "cron"


def daily_time(farm: Farm) -> dt.time | None:
    """When a farm that checks once a day does so, on its clock; None: every hour.

    Raises
    ------
    UsageError
        If a change of the clock may touch that time.
    """
    if farm.alerts.every == "hourly":
        return None
    check_daily(farm.alerts.digest_at)
    return farm.alerts.digest_at.replace(second=0, microsecond=0)


def spec_of(
    farm: Farm, now: np.datetime64, *, whole_system: bool = False
) -> ScheduleSpec:
    """What a schedule for ``farm`` is made of, on this computer.

    Raises
    ------
    UsageError
        If the time or a path cannot be written into one.
    """
    folder, zone = farm.folder.resolve(), farm.place.zone
    bare = ScheduleSpec(str(folder), own_command(), zone, daily_time(farm))
    place = _settings_folder(whole_system=whole_system)
    return replace(
        bare,
        whole_system=whole_system,
        user=_owner(folder) if whole_system else "",
        odd_change=not all(
            each.whole_hours for each in clock_changes(zone, now, now + YEAR)
        ),
        fail_file=str(place / f"{bare.name}.fail"),
        secrets=_secret_names(farm),
    )


def make_schedule(spec: ScheduleSpec, system: str, now: np.datetime64) -> Schedule:
    """The files of a schedule, proved over the changes of the coming year.

    Raises
    ------
    UsageError
        If there is no such system, or ``spec`` cannot be written for it.
    InternalError
        If they would leave a check out, or double one.
    """
    if system not in _MAKERS:
        raise UsageError(f"--for {system!r}: allowed is {' or '.join(SYSTEMS)}")
    files_of, install_of = _MAKERS[system]
    files = files_of(spec)
    check = strikes_of(system, files, "check", spec.zone)
    if spec.daily is None:
        prove_hourly(check, spec.zone, now)
    else:
        prove_daily(check, spec.zone, now)
    deliver = strikes_of(system, files, "deliver", spec.zone)
    prove_hourly(deliver, spec.zone, now, _LATE)
    encoding = "utf-16" if system == "windows" else "utf-8"
    return Schedule(files, install_of(spec), encoding)


def write_schedule(schedule: Schedule, folder: Path) -> str:
    """Write all files into ``folder``, or none; what changed, line by line.

    Raises
    ------
    OutputError
        If one cannot be written; those written before it are as they were again.
    """
    before = {name: _there(folder / name) for name in schedule.files}
    changed = "".join(
        _difference(folder / name, _text(before[name], schedule.encoding), text)
        for name, text in schedule.files.items()
    )
    done: list[str] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in schedule.files.items():
            write_whole(
                folder / name, text, encoding=schedule.encoding, option="--write"
            )
            done.append(name)
    except OSError as error:
        raise OutputError(
            f"{folder}: cannot be made ({error.strerror}); choose another folder with "
            "--write"
        ) from None
    except OutputError:
        for name in done:
            _put_back(folder / name, before[name])
        raise
    return changed


def _there(path: Path) -> bytes | None:
    """What lies there now; None: nothing that can be read."""
    try:
        return path.read_bytes()
    except OSError:
        return None


def _text(content: bytes | None, encoding: str) -> str:
    return "" if content is None else content.decode(encoding, errors="replace")


def _put_back(path: Path, content: bytes | None) -> None:
    if content is None:
        path.unlink(missing_ok=True)
    else:
        path.write_bytes(content)


def _difference(path: Path, old: str, new: str) -> str:
    lines = unified_diff(
        old.splitlines(keepends=True),
        new.splitlines(keepends=True),
        fromfile=f"{path} (as it was)" if old else "nothing",
        tofile=str(path),
    )
    return "".join(lines)


def _owner(farm: Path) -> str:
    """Whose folder it is: who may write there."""
    try:
        return farm.owner()
    except (NotImplementedError, KeyError):  # Windows; a user without a name
        return getpass.getuser()


def _secret_names(farm: Farm) -> tuple[str, ...]:
    named = (farm.alerts.heartbeat, *(each.secret for each in farm.alerts.channels))
    return tuple(dict.fromkeys(name for name in named if name))


def _settings_folder(*, whole_system: bool) -> Path:
    if whole_system:
        return Path("/etc/forecaster")
    base = os.environ.get("XDG_CONFIG_HOME")
    return (Path(base) if base else Path.home() / ".config") / "forecaster"
