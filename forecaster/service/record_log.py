"""The farm's records: written, corrected, withdrawn and told."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from forecaster.domain.record.log import Entry, Record, RecordLog, Taken
from forecaster.errors import UsageError
from forecaster.service.farm_sprayed import of_other_farms, records_path
from forecaster.service.look_count import checked_text
from forecaster.service.look_log import author, reason_of
from forecaster.service.moments import day_on
from forecaster.service.own_log import own_farm
from forecaster.service.record_around import around, around_again
from forecaster.service.record_doubts import doubts
from forecaster.service.record_words import job_asked
from forecaster.service.wiring import paddock_called
from forecaster.settings.names import same_name
from forecaster.sources.season import season_span
from forecaster.store.records import add_entries, read_records

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    import numpy as np

    from forecaster.domain.record.job import Job
    from forecaster.service.look_dates import Present
    from forecaster.service.record_words import Asked
    from forecaster.settings.farm import Farm

NOT_YET = ""


@dataclass(frozen=True, slots=True)
class Written:
    """What came of what was handed in."""

    new: tuple[Entry, ...]
    known: tuple[Entry, ...]
    """Those that are in the log already."""
    remarks: tuple[str, ...]
    warnings: tuple[str, ...]


def log_of(farm: Farm, paddock: str | None = None) -> RecordLog:
    """The whole log, or the records of one paddock, oldest spray first.

    Raises
    ------
    UsageError
        If neither the farm nor the log has such a paddock.
    InputMissingError
        If the log is there and cannot be read.
    """
    log = read_records(records_path(farm))
    log = replace(log, warnings=(*log.warnings, *of_other_farms(log, farm)))
    found = log.records
    if paddock is not None:
        wanted = same_name(paddock)
        found = tuple(e for e in found if same_name(e.now.job.paddock) == wanted)
        if not found:
            paddock_called(farm, paddock)
    return replace(log, records=tuple(sorted(found, key=lambda e: e.now.job.start)))


def of_season(log: RecordLog, farm: Farm, now: np.datetime64) -> RecordLog:
    """The records of the season that ``now`` lies in."""
    first, _ = season_span(farm.place, now)
    zone = farm.place.zone
    kept = tuple(
        each for each in log.records if day_on(each.now.job.start, zone) >= first
    )
    return replace(log, records=kept)


def write(farm: Farm, jobs: Sequence[Job], by: str | None, present: Present) -> Written:
    """Write jobs down, all or none; one the log holds already is left alone.

    Raises
    ------
    UsageError
        If the farm is the demo or who did it is not known.
    OutputError, InputMissingError
        If the log cannot be written or read; it is then as it was.
    """
    path, who = records_path(own_farm(farm, "records")), author(by)
    told: list[str] = []
    made: list[Entry] = []
    for job in jobs:
        beside, said = around(farm, job, present.clock)
        told += said
        made.append(Entry(0, NOT_YET, job, who, present.clock, beside, farm=farm.name))
    known: list[Entry] = []

    def choose(log: RecordLog) -> list[Entry]:
        standing = [each.now for each in log.standing]
        new: list[Entry] = []
        for entry in made:
            before = [e for e in standing if _same(e.job, entry.job)]
            known.extend(before)
            if before or any(_same(e.job, entry.job) for e in new):
                continue
            there = [e.job for e in (*standing, *new)]
            told.extend(doubts(entry.job, farm, there))
            new.append(entry)
        return new

    added, before = add_entries(path, choose)
    new = tuple(each for each in added if isinstance(each, Entry))
    return Written(new, tuple(known), tuple(dict.fromkeys(told)), before.warnings)


def correct(
    farm: Farm,
    number: int,
    asked: Asked,
    *,
    because: str | None,
    by: str | None,
    present: Present,
) -> Written:
    """Put right what a record says; what it said stays in the log.

    Raises
    ------
    UsageError
        If there is no such record that stands, or nothing would change.
    OutputError, InputMissingError
        If the log cannot be written or read; it is then as it was.
    """
    path, who = records_path(own_farm(farm, "records")), author(by)
    why = checked_text(because or "", "--because")
    before = log_of(farm)
    old = _standing(before, number).now
    job = job_asked(asked, farm, present, old.job)
    beside, told = around_again(farm, job, old, present.clock)
    if job == old.job and beside == old.around:
        raise UsageError(
            f"record {number} says so already, and no hour of it was observed since; "
            "nothing was added. Say what is right, such as hectares=24"
        )
    entry = Entry(0, NOT_YET, job, who, present.clock, beside, old.hash, why, farm.name)
    added, log = add_entries(path, _once(number, old.hash, entry))
    new = tuple(each for each in added if isinstance(each, Entry))
    rest = [e.now.job for e in before.standing if e.now.hash != old.hash]
    return Written(new, (), (*told, *doubts(job, farm, rest)), log.warnings)


def withdraw(
    farm: Farm,
    number: int,
    *,
    because: str | None,
    by: str | None,
    now: np.datetime64,
) -> Record:
    """Take a record back; it stays in the log, with the reason.

    Raises
    ------
    UsageError
        If the reason is missing, or there is no such record that stands.
    OutputError, InputMissingError
        If the log cannot be written or read; it is then as it was.
    """
    path, who = records_path(own_farm(farm, "records")), author(by)
    why = reason_of(because, "wrong paddock")
    record = _standing(log_of(farm), number)
    taken = Taken(0, NOT_YET, record.now.hash, who, why, now)
    added, _ = add_entries(path, _once(number, record.now.hash, taken))
    last = next(each for each in added if isinstance(each, Taken))
    return replace(record, taken=last)


def _once(
    number: int, last: str, line: Entry | Taken
) -> Callable[[RecordLog], list[Entry | Taken]]:
    """Add the line only if the record is still as it was read."""

    def choose(log: RecordLog) -> list[Entry | Taken]:
        if _standing(log, number).now.hash != last:
            raise UsageError(
                f"record {number} was corrected by another run just now; look at it "
                "with 'forecaster record --list', then try again"
            )
        return [line]

    return choose


def _standing(log: RecordLog, number: int) -> Record:
    record = log.record(number)
    if record is None:
        raise UsageError(
            f"no record has the number {number}; 'forecaster record --list' prints "
            "them all"
        )
    if record.taken is not None:
        raise UsageError(
            f"record {number} was withdrawn already, by {record.taken.author}: "
            f"{record.taken.because}"
        )
    return record


def _same(one: Job, other: Job) -> bool:
    return (same_name(one.paddock), one.active, one.start, one.finish) == (
        same_name(other.paddock),
        other.active,
        other.start,
        other.finish,
    )
