"""What is remembered of a host between calls: when it may be asked again.

A service that says "too many requests" is left alone until the moment it named. One
that failed three times in a row rests for ten minutes. Both are on disk, so a new
process keeps to them.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.errors import LimitedError, TemporaryError
from forecaster.sources.atomic_file import write_whole
from forecaster.sources.retry_after import LONGEST

if TYPE_CHECKING:
    from pathlib import Path

FAILURES = 3
"""Failures in a row before a rest. Common practice, no source."""
REST_S = 600
"""Common practice, no source."""
SCHEMA = 1
LARGEST = 4096

_unwritten: dict[Path, HostMemory] = {}


@dataclass(frozen=True, slots=True)
class HostMemory:
    """Moments are seconds since 1970, UTC; 0 is long ago."""

    written: int = 0
    not_before: int = 0
    why: str = ""
    failures: int = 0
    rest_until: int = 0

    def check(self, now: int) -> None:
        """Let a request through only if the host may be asked.

        Raises
        ------
        LimitedError
            If it asked us to wait.
        TemporaryError
            If it rests after failures.
        """
        if now < self.not_before:
            raise LimitedError(
                f"asked us to wait until {_clock(self.not_before)} ({self.why})",
                self.not_before,
            )
        if now < self.rest_until:
            raise TemporaryError(
                f"failed {self.failures} times in a row; "
                f"it is left alone until {_clock(self.rest_until)}"
            )

    def limited(self, now: int, wait: int, why: str) -> HostMemory:
        """It wants to be left alone for ``wait`` seconds."""
        return replace(self, written=now, not_before=now + wait, why=why)

    def failed(self, now: int) -> HostMemory:
        """One more failure; from the third on, a rest."""
        failures = min(self.failures + 1, 999)
        rest = now + REST_S if failures >= FAILURES else 0
        return replace(self, written=now, failures=failures, rest_until=rest)

    def worked(self, now: int) -> HostMemory:
        """It answered."""
        return HostMemory(written=now)


def recall(path: Path, now: int) -> HostMemory:
    """What the file holds; nothing if there is none or it cannot be understood.

    If the clock was set back since, waits keep their length and start again now.
    """
    memory = _unwritten.get(path) or _read(path)
    back = memory.written - now
    if back > 0:
        memory = replace(
            memory,
            written=now,
            not_before=max(0, memory.not_before - back),
            rest_until=max(0, memory.rest_until - back),
        )
        keep(path, memory)
    return memory


def keep(path: Path, memory: HostMemory) -> bool:
    """Whether it could be written; if not, this process alone remembers."""
    text = json.dumps({"schema": SCHEMA, **asdict(memory)})
    try:
        write_whole(path, text.encode())
    except OSError:
        _unwritten[path] = memory
        return False
    _unwritten.pop(path, None)
    return True


def _read(path: Path) -> HostMemory:
    try:
        with path.open("rb") as file:
            found = json.loads(file.read(LARGEST))
        if found.pop("schema") != SCHEMA:
            return HostMemory()
        memory = HostMemory(**found)
        numbers = [
            memory.written,
            memory.not_before,
            memory.failures,
            memory.rest_until,
        ]
        sound = all(type(each) is int and 0 <= each < 2**40 for each in numbers)
    except (OSError, ValueError, TypeError, AttributeError, KeyError, RecursionError):
        return HostMemory()
    longest = memory.written + LONGEST
    if not sound or not isinstance(memory.why, str):
        return HostMemory()
    if max(memory.not_before, memory.rest_until) > longest:
        return HostMemory()
    return memory


def _clock(seconds: int) -> str:
    text = np.datetime_as_string(np.datetime64(seconds, "s"), unit="m")
    return str(text).replace("T", " ") + " UTC"
