"""Timers and services for systemd, 247 or newer.

Written after its manual: systemd.timer(5), systemd.time(7), systemd.service(5),
systemd.exec(5), systemd.syntax(7).
"""

from __future__ import annotations

import posixpath
import re
from typing import TYPE_CHECKING

from forecaster.render.schedule_failed import FAILED
from forecaster.render.schedule_spec import MINUTE

if TYPE_CHECKING:
    from collections.abc import Iterable

    from forecaster.render.schedule_spec import ScheduleSpec

_BARE = re.compile(r"[A-Za-z0-9_./=:@+,-]+")
_REFUSED = re.compile(r"[\"'`\\]")
USER_FOLDER = "~/.config/systemd/user"
SYSTEM_FOLDER = "/etc/systemd/system"
_ANYWHERE = """\
UMask=0027
NoNewPrivileges=yes
LockPersonality=yes
RestrictRealtime=yes
RestrictSUIDSGID=yes
RestrictNamespaces=yes
RestrictAddressFamilies=AF_UNIX AF_INET AF_INET6 AF_NETLINK
SystemCallArchitectures=native
SystemCallFilter=@system-service
SystemCallFilter=~@privileged @resources
SystemCallErrorNumber=EPERM
"""
_AS_SYSTEM = """\
CapabilityBoundingSet=
AmbientCapabilities=
ProtectSystem=strict
ProtectHome=read-only
PrivateTmp=yes
PrivateDevices=yes
PrivateUsers=yes
ProtectClock=yes
ProtectControlGroups=yes
ProtectHostname=yes
ProtectKernelLogs=yes
ProtectKernelModules=yes
ProtectKernelTunables=yes
ProtectProc=invisible
RemoveIPC=yes
KeyringMode=private
"""
"""A user's own service manager may not do these."""


def systemd_files(spec: ScheduleSpec) -> dict[str, str]:
    """Units by file name: check and delivery, a timer each, and what a failure starts.

    Raises
    ------
    UsageError
        If the paths of ``spec`` are none of such a system.
    """
    spec.on_posix("systemd")
    name = spec.name
    return {
        f"{name}-check.service": _service(
            spec, "check", spec.check, f"OnFailure={name}-failed.service\n"
        ),
        f"{name}-check.timer": _check_timer(spec),
        f"{name}-deliver.service": _service(spec, "delivery", spec.deliver, ""),
        f"{name}-deliver.timer": _deliver_timer(spec),
        f"{name}-failed.service": _failed(spec),
    }


def systemd_install(spec: ScheduleSpec) -> str:
    """What to do with the files, one command a line."""
    call = "systemctl" if spec.whole_system else "systemctl --user"
    folder = SYSTEM_FOLDER if spec.whole_system else USER_FOLDER
    timers = f"{spec.name}-check.timer {spec.name}-deliver.timer"
    linger = (
        ""
        if spec.whole_system
        else "  loginctl enable-linger        # else all of it stops when you log out\n"
    )
    return (
        f"These files belong into {folder}. Then run:\n"
        f"  {call} daemon-reload\n"
        f"  {call} enable --now {timers}\n{linger}"
        f"  {call} start {spec.name}-check.service\n"
        f"  {call} list-timers 'forecaster-*'\n"
        "To be told elsewhere when a check fails, write the address to call into\n"
        f"  {spec.fail_file}\n"
        f"on one line, with chmod 600{_owned(spec)}. Without it the log alone says "
        "so.\n"
    )


def _owned(spec: ScheduleSpec) -> str:
    return f" and chown {spec.user}" if spec.whole_system and spec.user else ""


def _head(spec: ScheduleSpec) -> str:
    return (
        f"# Made from {spec.stamp} by 'forecaster schedule'; make it anew rather than "
        "edit it.\n"
    )


def _check_timer(spec: ScheduleSpec) -> str:
    if spec.daily is None:
        when = f"*-*-* *:{MINUTE:02d}:00 UTC"
        why = "# In UTC: no change of the clock leaves an hour out or doubles one.\n"
    else:
        when = f"*-*-* {spec.daily:%H:%M}:00 {spec.zone}"
        why = "# Local time, at an hour that no change of the clock touches.\n"
    return (
        f"{_head(spec)}[Unit]\nDescription=forecaster: time of a check\n\n"
        f"[Timer]\n{why}OnCalendar={when}\n"
        "# Missed while the computer was off: made good at the next start.\n"
        "Persistent=true\nAccuracySec=1min\nRandomizedDelaySec=2min\n"
        "FixedRandomDelay=true\n\n[Install]\nWantedBy=timers.target\n"
    )


def _deliver_timer(spec: ScheduleSpec) -> str:
    return (
        f"{_head(spec)}[Unit]\nDescription=forecaster: time of a delivery\n\n"
        "[Timer]\nOnCalendar=*-*-* *:0/5:00 UTC\nAccuracySec=30s\n\n"
        "[Install]\nWantedBy=timers.target\n"
    )


def _service(spec: ScheduleSpec, what: str, words: tuple[str, ...], more: str) -> str:
    network = (
        "Wants=network-online.target\nAfter=network-online.target time-sync.target\n"
        if spec.whole_system
        else ""
    )
    writes = f"ReadWritePaths={quoted(spec.farm)}\n" if spec.whole_system else ""
    return (
        f"{_head(spec)}[Unit]\nDescription=forecaster: {what}\n{network}{more}\n"
        "[Service]\nType=oneshot\n"
        f"ExecStart={command_line(words)}\n"
        "# A run that hangs would keep every later one from starting.\n"
        "TimeoutStartSec=10min\nTimeoutStopSec=30s\n"
        f"MemoryMax=512M\nTasksMax=64\n{_who(spec)}{_secrets(spec)}{writes}{_hardening(spec)}"
    )


def _failed(spec: ScheduleSpec) -> str:
    words = ("/bin/sh", "-c", FAILED, spec.name, spec.fail_file)
    return (
        f"{_head(spec)}# Nothing of forecaster is used here: it may be what is broken."
        "\n[Unit]\nDescription=forecaster: a check failed\n\n"
        "[Service]\nType=oneshot\n"
        f"ExecStart={command_line(words)}\n"
        f"TimeoutStartSec=2min\nMemoryMax=64M\nTasksMax=16\n{_who(spec)}"
        f"{_hardening(spec)}"
    )


def _secrets(spec: ScheduleSpec) -> str:
    """How to hand secrets over, commented out.

    A file that is not there would keep the service from starting.
    """
    if not spec.secrets:
        return ""
    folder = posixpath.dirname(spec.fail_file).replace("%", "%%")
    lines = [f"#LoadCredential={name}:{folder}/{name}\n" for name in spec.secrets]
    head = "# Instead of secrets.toml, each in a file of its own, once it is there:\n"
    return head + "".join(lines)


def _who(spec: ScheduleSpec) -> str:
    return f"User={spec.user}\n" if spec.whole_system and spec.user else ""


def _hardening(spec: ScheduleSpec) -> str:
    return _ANYWHERE + (_AS_SYSTEM if spec.whole_system else "")


def command_line(words: Iterable[str]) -> str:
    """Words for ``ExecStart=``.

    The colon keeps systemd from reading ``$`` as a variable; a doubled ``$`` would not
    do, as the program's own path is taken as it stands. A program whose path holds
    quotes or backslashes is refused there, so a shell starts it.
    """
    first, *rest = words
    if _REFUSED.search(first):
        first, rest = "/bin/sh", ["-c", 'exec "$0" "$@"', first, *rest]
    return " ".join([quoted(f":{first}"), *map(quoted, rest)])


def quoted(word: str) -> str:
    """One word as systemd.syntax(7) and its specifiers ask for."""
    if _BARE.fullmatch(word):
        return word
    inside = word.replace("\\", "\\\\").replace('"', '\\"').replace("%", "%%")
    return f'"{inside}"'
