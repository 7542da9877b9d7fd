"""What the log of records holds, and what of it stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.record.job import Job


@dataclass(frozen=True, slots=True)
class SeenHour:
    """The air of one hour; NaN where not known. m/s, °, °C, %, mm."""

    time: np.datetime64
    wind_speed: float
    wind_from: float
    temperature: float
    humidity: float
    delta_t: float
    rain: float


@dataclass(frozen=True, slots=True)
class Beside:
    """Hours of the job by one source: a forecast as issued, or the nearest station."""

    source: str
    issued: np.datetime64
    hours: tuple[SeenHour, ...]


@dataclass(frozen=True, slots=True)
class Called:
    """What the program itself made of those hours, if it could."""

    against: tuple[str, ...]
    """Why they were not to be sprayed; empty if nothing spoke against."""
    basis: str
    """What that rests on; empty if it could not be told."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the log that tells of a job: a record, or a correction of one."""

    number: int
    id: str
    hash: str
    job: Job
    author: str
    recorded: np.datetime64
    """UTC ``datetime64[s]``"""
    forecast: Beside | None = None
    observed: Beside | None = None
    called: Called | None = None
    corrects: str = ""
    """Hash of the entry it takes the place of; empty for a first record."""
    because: str = ""

    @property
    def unexplained(self) -> tuple[str, ...]:
        """What spoke against the job, if name or reason is missing."""
        said = self.job.said
        told = said.get("override_by") and said.get("override_reason")
        return () if self.called is None or told else self.called.against


@dataclass(frozen=True, slots=True)
class Taken:
    """A withdrawal: the record stays, and does not count any more."""

    number: int
    id: str
    withdraws: str
    """Hash of the entry."""
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
    def id(self) -> str:
        """The name of the record, that of its first entry."""
        return self.entries[0].id


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

    def record(self, wanted: str) -> Record | None:
        """The record of this id, or None."""
        return next((each for each in self.records if each.id == wanted), None)
