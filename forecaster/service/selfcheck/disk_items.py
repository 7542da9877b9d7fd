"""db.fs, sec.modes: where the state lies, and who else may get at it."""

from __future__ import annotations

import os
import re
import shutil
import stat
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from forecaster.domain.alerts.finding import Finding, fail, ok, skipped
from forecaster.errors import SecretsError
from forecaster.settings.secrets import FILE as SECRETS
from forecaster.settings.secrets import read_secrets
from forecaster.store.database import FILE
from forecaster.store.one_check import LOCK

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.service.selfcheck.subject import Subject

ROOM_MB = 100.0
MOUNTS = Path("/proc/mounts")
FAR_AWAY = frozenset(
    {
        "nfs", "nfs4", "cifs", "smb3", "smbfs", "9p", "afs", "ceph", "glusterfs",
        "lustre", "ncpfs", "fuse.sshfs", "fuse.rclone", "fuse.davfs", "fuse.glusterfs",
        "davfs",
    }
)  # fmt: skip
"""File systems of another computer. Their locks cannot be relied on, and SQLite's
write-ahead log does not work over them (from memory: sqlite.org, "How To Corrupt An
SQLite Database File" and "Write-Ahead Logging")."""
_OCTAL = re.compile(r"\\([0-7]{3})")


def disk(subject: Subject) -> Finding:
    """db.fs: whether the disk is of this computer and has room."""
    place = subject.state if subject.state.is_dir() else subject.folder
    free = shutil.disk_usage(place).free / 1e6
    kind = _kind(place.resolve())
    if kind in FAR_AWAY:
        return fail(
            f"the state lies on {kind}, a disk of another computer, whose locks cannot "
            "be relied on", "move the farm folder to a disk of this computer", 74,
        )  # fmt: skip
    if free < ROOM_MB:
        return fail(f"{free:.0f} MB are free; {ROOM_MB:.0f} are needed",
                    f'make room on the disk of "{place}"', 74)  # fmt: skip
    where = kind or "the kind of disk is not known"
    return ok(f"{where}, {free / 1000:,.1f} GB free")


def _kind(place: Path) -> str:
    """Of the file system, or nothing where the system does not say."""
    if not MOUNTS.is_file():
        return ""
    return file_system(place, MOUNTS.read_text(encoding="utf-8", errors="replace"))


def file_system(path: Path, mounts: str) -> str:
    r"""The kind of file system a path lies on, by a table as of proc(5).

    Later mounts hide earlier ones; spaces stand as ``\040``.
    """
    best, kind = -1, ""
    for line in mounts.splitlines():
        cells = line.split(" ")
        if len(cells) < 3:  # noqa: PLR2004 - what, where, kind
            continue
        where = _OCTAL.sub(lambda found: chr(int(found[1], 8)), cells[1])
        depth = len(Path(where).parts)
        if path.is_relative_to(where) and depth >= best:
            best, kind = depth, cells[2]
    return kind


def modes(subject: Subject) -> Finding:
    """sec.modes: whether state and secrets are closed to others."""
    if os.name != "posix" or sys.platform == "win32":
        return skipped("Windows keeps lists of readers in place of modes")
    try:
        read_secrets(subject.folder)
    except SecretsError as error:
        return fail(str(error), f'chmod 600 "{subject.folder / SECRETS}"', 77)
    open_ones = [each for each in _private(subject) if _mode(each) & 0o077]
    if open_ones:
        named = ", ".join(f"{each.name} ({_mode(each):04o})" for each in open_ones)
        return fail(f"others may get at {named}",
                    f'chmod -R go-rwx "{subject.state}"', 77)  # fmt: skip
    return ok("state and secrets are closed to others")


def _private(subject: Subject) -> Iterator[Path]:
    """The folder of the state; what is in it counts only where that is missing."""
    inside = (FILE, f"{FILE}-wal", f"{FILE}-shm", LOCK, "backups")
    for each in (subject.state, *(subject.state / name for name in inside)):
        if each.exists():
            yield each


def _mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)
