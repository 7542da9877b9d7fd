"""Power may fail at any moment: what is sent was settled on the disk before.

Killing a program shows nothing of this: the system still holds what was written. So the
calls themselves are read: SQLite, "PRAGMA synchronous": with FULL the log is synced at
each commit.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from typing import TYPE_CHECKING

import harness
import pytest

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.skipif(
    harness.STRACE is None, reason="strace is not installed"
)
CALLS = "pwrite64,fdatasync,fsync,write"


def calls_of(folder: Path, step: int) -> list[tuple[str, str]]:
    """Each call on a file of the farm, and the file, in order."""
    strace = shutil.which("strace")
    assert strace is not None
    log = folder.with_suffix(".calls")
    subprocess.run(
        [strace, "-f", "-y", "-qq", "-o", str(log), "-e", f"trace={CALLS}",
         sys.executable, "-B", str(harness.DRIVER), str(folder), str(step)],
        check=True, env=harness.environment(), timeout=60,
    )  # fmt: skip
    found = re.findall(r"\b(\w+)\(\d+<([^>]*)>", log.read_text(errors="replace"))
    return [(call, path) for call, path in found if path.startswith(str(folder))]


def test_what_is_sent_was_settled_before(tmp_path: Path) -> None:
    """F4: the log of the state is settled when a channel is written to."""
    farm = harness.begun(tmp_path / "farm", 3)
    unsettled = sent = 0
    for call, path in calls_of(farm, 3):
        if path.endswith("-wal"):
            unsettled = 0 if call in {"fdatasync", "fsync"} else unsettled + 1
        if path.endswith(".sink") and call == "write":
            sent += 1
            assert unsettled == 0
    assert sent >= 2
