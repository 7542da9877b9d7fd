"""Runs checks, hurts them, and runs them again until they are through."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import driver

HERE = Path(__file__).parent
DRIVER = HERE / "driver.py"
SIDES = ("", "-wal", "-shm", "-journal")
CALLS = (
    "openat", "write", "pwrite64", "fdatasync", "fsync", "ftruncate", "rename",
    "unlink", "mkdir",
)  # fmt: skip
"""System calls that change what is kept."""
STRACE = shutil.which("strace")


def whole(folder: Path, first: int = 0) -> None:
    """Every step from ``first`` on."""
    for step in range(first, driver.STEPS):
        code = driver.run(folder, step)
        assert code in {0, 75}, f"step {step} ended with {code}"


def begun(folder: Path, steps: int) -> Path:
    """A farm with its first steps done."""
    folder.mkdir(parents=True)
    for step in range(steps):
        assert driver.run(folder, step) == 0
    return folder


def start(folder: Path, step: int, *before: str) -> subprocess.Popen[bytes]:
    """One step as a process of its own, behind another program if need be."""
    return subprocess.Popen(
        [*before, sys.executable, "-B", str(DRIVER), str(folder), str(step)],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment(),
    )  # fmt: skip


def environment() -> dict[str, str]:
    """The package under test is the one this process has imported."""
    import forecaster

    top = str(Path(forecaster.__file__).parent.parent)
    return {**os.environ, "PYTHONPATH": os.pathsep.join([top, str(HERE)])}


def struck(folder: Path, step: int, call: str, number: str, blow: str) -> bool:
    """One step in which a call is struck; whether it came to that.

    ``blow`` is what strace is to do: ``signal=KILL``, ``error=ENOSPC`` …; a plus after
    the number strikes every later call, too.
    """
    assert STRACE is not None
    log = folder.with_suffix(".strace")
    paths = [f"--trace-path={path}" for path in kept_paths(folder)]
    process = start(
        folder, step, STRACE, "-f", "-qq", "-o", str(log), *paths,
        "-e", f"trace={call}", "-e", f"inject={call}:{blow}:when={number}",
    )  # fmt: skip
    process.wait(60)
    said = log.read_text(errors="replace")
    log.unlink()
    return "INJECTED" in said or "killed by SIGKILL" in said


def kept_paths(folder: Path) -> list[Path]:
    """Every file a check writes."""
    state = folder / ".alerts"
    day = str(driver.moment(0).astype("datetime64[D]")).replace("-", "")
    return [
        state, *(state / f"state.sqlite{side}" for side in SIDES),
        *(state / f"state.new{side}" for side in SIDES),
        state / "state.mark", state / "state.mark.half", state / "lock",
        state / "lock.since", state / "backups",
        state / "backups" / f"state-{day}.sqlite",
        folder / "phone.sink", folder / "shed.sink",
    ]  # fmt: skip


def kill_after(process: subprocess.Popen[bytes], seconds: float) -> bool:
    """Kill a process after a while; whether it was still at work."""
    time.sleep(seconds)
    alive = process.poll() is None
    process.kill()
    process.wait()
    return alive


def until_through(folder: Path, step: int, tries: int = 4) -> None:
    """Repeat a step until it ends well, as a timer would."""
    for _ in range(tries):
        if driver.run(folder, step) in {0, 75}:
            return
    raise AssertionError(f"step {step} does not get through any more")


def signalled(process: subprocess.Popen[bytes]) -> bool:
    """Whether a process was ended by SIGKILL."""
    return process.returncode == -signal.SIGKILL
