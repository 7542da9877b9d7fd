"""What the log of records holds, and what of it stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.record.job import Job


@dataclass(frozen=True, slots=True)
class SeenHour:
    """The air of one hour; NaN where not known. m/s, °, °C, %, °C, mm."""

    time: np.datetime64
    wind_speed: float
    wind_from: float
    temperature: float
    humidity: float
    delta_t: float
    rain: float
    verdict: str = ""
    """What the program made of the hour; empty where it was not judged."""


@dataclass(frozen=True, slots=True)
class Beside:
    """Hours of the job by one source; ``issued`` is NaT where not known."""

    source: str
    issued: np.datetime64
    hours: tuple[SeenHour, ...]


@dataclass(frozen=True, slots=True)
class Around:
    """What stands beside a job, each block by itself, None where there is none."""

    forecast: Beside | None = None
    """As judged for those hours, from before the start."""
    observed: Beside | None = None
    against: tuple[str, ...] = ()
    """Why the program would not have sprayed then; empty if nothing spoke against."""


NOTHING_AROUND = Around()


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the log that tells of a job: a record, or a correction of one."""

    number: int
    hash: str
    job: Job
    author: str
    recorded: np.datetime64
    """UTC ``datetime64[s]``"""
    around: Around = NOTHING_AROUND
    corrects: str = ""
    """Hash of the entry it takes the place of; empty for a first record."""
    because: str = ""
    farm: str = ""
    """Name of the farm it was written on; empty where the line does not say."""

    @property
    def unexplained(self) -> tuple[str, ...]:
        """Who or why, of an override, that is missing: names of fields."""
        if not self.around.against:
            return ()
        wanted = ("override_by", "override_reason")
        return tuple(each for each in wanted if not self.job.has(each))


@dataclass(frozen=True, slots=True)
class Taken:
    """A withdrawal: the record stays, and does not count any more."""

    number: int
    hash: str
    withdraws: str
    """Hash of an entry of the record."""
    author: str
    because: str
    recorded: np.datetime64


@dataclass(frozen=True, slots=True)
class Record:
    """One job with all that was ever written of it, the newest last."""

    entries: tuple[Entry, ...]
    taken: Taken | None = None

    @property
    def now(self) -> Entry:
        """What stands."""
        return self.entries[-1]

    @property
    def number(self) -> int:
        """What the record is called: the number of its first entry."""
        return self.entries[0].number

    def holds(self, number: int) -> bool:
        """Whether the entry of this number is one of it."""
        return any(each.number == number for each in self.entries)


@dataclass(frozen=True, slots=True)
class RecordLog:
    """All that could be read of a log, in the order of first recording."""

    records: tuple[Record, ...] = ()
    warnings: tuple[str, ...] = ()
    last_hash: str = ""
    """Of the last sound line: whoever keeps it can prove nothing was cut off."""

    @property
    def standing(self) -> tuple[Record, ...]:
        """Those nobody withdrew."""
        return tuple(each for each in self.records if each.taken is None)

    def record(self, number: int) -> Record | None:
        """The record with the entry of this number, or None."""
        return next((each for each in self.records if each.holds(number)), None)


def assembled(
    lines: tuple[Entry | Taken, ...],
) -> tuple[tuple[Record, ...], tuple[int, ...]]:
    """Records from the lines of a log in order, and the numbers that point nowhere.

    A correction whose record cannot be found stands as a record of its own, so that
    what was sprayed is never lost.
    """
    found: dict[str, list[Entry]] = {}
    home: dict[str, str] = {}
    taken: dict[str, Taken] = {}
    lost: list[int] = []
    seen: set[str] = set()
    for line in lines:
        if line.hash in seen:  # a copy of a line is no second entry
            continue
        seen.add(line.hash)
        points = line.withdraws if isinstance(line, Taken) else line.corrects
        first = home.get(points, "")
        if points and not first:
            lost.append(line.number)
        if isinstance(line, Taken):
            if first:
                taken.setdefault(first, line)
            continue
        first = first or line.hash
        home[line.hash] = first
        found.setdefault(first, []).append(line)
    records = tuple(
        Record(tuple(entries), taken.get(first)) for first, entries in found.items()
    )
    return records, tuple(lost)
