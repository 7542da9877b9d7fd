"""What a schedule is made of, and what of it can be written into one at all."""

from __future__ import annotations

import datetime as dt
import hashlib
import re
import unicodedata
from dataclasses import dataclass
from pathlib import PurePosixPath, PureWindowsPath

from forecaster.errors import UsageError

MINUTE = 7
"""Of the hour, for hourly checks: at minute 0 everyone asks the weather services."""
EARLIEST = dt.time(4, 0)
"""Of a daily check. Clocks change between midnight and 03:00: a time in there is
left out one day of the year and comes twice on another."""
_LETTERS = 24


@dataclass(frozen=True, slots=True)
class ScheduleSpec:
    """One farm's schedule.

    ``farm``, ``program[0]`` and ``fail_file`` are absolute paths of the system the
    schedule is for; ``program`` are the words that start the program.

    Raises
    ------
    UsageError
        If a daily time lies before 04:00, or a path holds what no file of a scheduler
        can hold.
    """

    farm: str
    program: tuple[str, ...]
    zone: str
    """Of the farm; a name of the time-zone database."""
    daily: dt.time | None = None
    """Local time of the one check a day; None: a check every hour."""
    whole_system: bool = False
    """For the computer, else for the user who is logged on."""
    user: str = ""
    """Whom a schedule for the computer runs the program as."""
    odd_change: bool = False
    """Whether the zone's clocks change by something else than whole hours."""
    fail_file: str = ""
    """Where the address is kept that is called when a check fails; may not exist."""
    secrets: tuple[str, ...] = ()
    """Names of secrets the farm uses, which the system may hand over."""

    def __post_init__(self) -> None:
        check_daily(self.daily)
        for text in (*self.program, self.farm, self.user, self.fail_file):
            _writable(text)

    @property
    def name(self) -> str:
        """Of the farm's files and tasks: from its folder, ``[a-z0-9-]`` alone."""
        folder = re.split(r"[\\/]", self.farm.rstrip("\\/"))[-1]
        split = unicodedata.normalize("NFKD", folder).lower()
        plain = "".join(each for each in split if not unicodedata.combining(each))
        slug = "-".join(re.findall("[a-z0-9]+", plain))[:_LETTERS].strip("-")
        mark = hashlib.blake2b(self.farm.encode(), digest_size=3).hexdigest()
        return f"forecaster-{slug or 'farm'}-{mark}"

    @property
    def stamp(self) -> str:
        """Twelve characters that change with anything this schedule is made from."""
        return hashlib.blake2b(repr(self).encode(), digest_size=6).hexdigest()

    @property
    def check(self) -> tuple[str, ...]:
        """The words that start a check."""
        return (*self.program, "check", "--farm", self.farm)

    @property
    def deliver(self) -> tuple[str, ...]:
        """The words that send what is due, and nothing else."""
        return (*self.check, "--deliver")

    def on_posix(self, system: str) -> None:
        """Raise UsageError unless the paths are those of a POSIX system."""
        for path in (self.farm, self.program[0]):
            if not PurePosixPath(path).is_absolute():
                raise _elsewhere(system, path)

    def on_windows(self) -> None:
        """Raise UsageError unless the paths are those of Windows."""
        for path in (self.farm, self.program[0]):
            if not PureWindowsPath(path).is_absolute():
                raise _elsewhere("windows", path)


def check_daily(at: dt.time | None) -> None:
    """Refuse a daily check at a time that a change of the clock may touch.

    Raises
    ------
    UsageError
        If it lies before 04:00.
    """
    if at is not None and at < EARLIEST:
        raise UsageError(
            f'alerts.digest_at = {at:%H:%M} with alerts.check = "daily": allowed is '
            "04:00 to 23:59. Clocks change between midnight and 03:00: a check then "
            "would be left out one day and come twice on another; 05:30 is a good time"
        )


def _writable(text: str) -> None:
    bad = [
        c
        for c in text
        if unicodedata.category(c) in {"Cc", "Cs"} or c in "\ufffe\uffff"
    ]
    if bad:
        raise UsageError(
            f"{text!a}: the character {bad[0]!a} cannot be written into a "
            "schedule; rename the folder"
        )


def _elsewhere(system: str, path: str) -> UsageError:
    return UsageError(
        f"--for {system}: {path!r} is no full path there; run this on the computer "
        "that shall run the checks"
    )
