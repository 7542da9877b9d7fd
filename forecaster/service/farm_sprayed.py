"""Which paddocks count as sprayed: by the farm file or by a record that stands."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.planning.withholding import NOT_TYPED, longer
from forecaster.domain.record.after import recorded
from forecaster.domain.record.log import RecordLog
from forecaster.domain.record.topping import southern_month, tops
from forecaster.errors import InputMissingError
from forecaster.service.moments import day_on, local_day
from forecaster.service.springs import with_springs
from forecaster.settings.farm_dates import LONGEST_AGO, Happened
from forecaster.settings.names import plain, same_name
from forecaster.settings.paddock_springs import year_typed_in
from forecaster.settings.record_rules import after_numbers
from forecaster.settings.stage_words import class_of
from forecaster.store.records import RECORDS_FILE, read_records

if TYPE_CHECKING:
    import datetime as dt
    from pathlib import Path

    from forecaster.domain.place import Place
    from forecaster.domain.planning.withholding import Withholding
    from forecaster.domain.record.job import Job
    from forecaster.settings.farm import Farm, Paddock


def records_path(farm: Farm) -> Path:
    """Where the farm's records are kept."""
    return farm.folder / RECORDS_FILE


def of_other_farms(log: RecordLog, farm: Farm) -> tuple[str, ...]:
    """What to say of records that were written on a farm of another name.

    They count: a farm may have been given a new name.
    """
    found = [
        (each.number, each.now.farm)
        for each in log.records
        if each.now.farm and same_name(each.now.farm) != same_name(farm.name)
    ]
    if not found:
        return ()
    number, name = found[0]
    said = (
        f"{records_path(farm)}: {len(found)} of {len(log.records)} records were "
        f"written on another farm, such as record {number} on {plain(name)}; they "
        "count. If the file was copied here, put this farm's own back"
    )
    return (said,)


def farm_on(
    farm: Farm, now: np.datetime64, latest: dt.date
) -> tuple[Farm, tuple[str, ...]]:
    """The farm as it was at ``now``, sprayed paddocks and all, and what to say of it.

    ``latest`` is the later of that day and the calendar. A date typed in the farm file
    and a record count alike; the later one stands. A record that ended after ``now``
    has not happened yet, and one older than a season closes nothing, as a typed date
    would not; its year and active stay known. What cannot be read of the log is told
    and closes nothing.

    Raises
    ------
    SettingsError
        If a typed date lies in the future or in another season.
    """
    today = local_day(now, farm.place.zone)
    log = records_or_none(farm)
    then, gainsaid = with_springs(
        farm.on(today, latest), log, now, year_typed_in(farm, latest)
    )
    jobs = _jobs(log, now, today, farm.place)
    strange = sorted(
        record.now.job.paddock
        for record in log.standing
        if same_name(record.now.job.paddock)
        not in {same_name(each.name) for each in farm.paddocks}
    )
    told = (
        (f"records of paddocks that farm.toml no longer has: {', '.join(strange[:5])}",)
        if strange
        else ()
    )
    paddocks = tuple(
        _sprayed(each, jobs.get(same_name(each.name), []), then)
        for each in then.paddocks
    )
    return replace(then, paddocks=paddocks), (
        *log.warnings,
        *of_other_farms(log, farm),
        *told,
        *gainsaid,
    )


def records_or_none(farm: Farm) -> RecordLog:
    """The farm's records; none, and why, where the log cannot be read."""
    try:
        return read_records(records_path(farm))
    except InputMissingError as error:
        return RecordLog(warnings=(f"{error}; no record is used",))


def first_by_file(paddock: Paddock, farm: Farm, day: dt.date) -> np.datetime64 | None:
    """The first day for stock after a spray on ``day`` that only the farm file knows.

    It does not say with what it was sprayed, so it must hold for every active; None:
    the days of one are not known.
    """
    typed = [
        farm.labels[active].withholding if active in farm.labels else NOT_TYPED
        for active in paddock.actives
    ]
    days = [each.not_before(np.datetime64(day, "D")) for each in typed]
    known = [each for each in days if each is not None]
    return max(known) if known and len(known) == len(days) else None


def with_sprays(farm: Farm) -> Farm:
    """The farm with the days on which records say that heads were sprayed.

    A log that cannot be read says nothing of them.
    """
    days: dict[str, list[dt.date]] = {}
    for record in records_or_none(farm).standing:
        job = record.now.job
        if closes_window(job, farm.place):
            day = local_day(job.finish, farm.place.zone)
            days.setdefault(same_name(job.paddock), []).append(day)
    paddocks = tuple(
        replace(each, sprays=tuple(days.get(same_name(each.name), ())))
        for each in farm.paddocks
    )
    return replace(farm, paddocks=paddocks)


def sprayed_before(paddock: Paddock, day: dt.date) -> dt.date | None:
    """The last day before ``day`` on which its heads were sprayed in the season."""
    typed = () if paddock.sprayed is None else (paddock.sprayed,)
    longest = LONGEST_AGO[Happened.SPRAYED]
    days = (*paddock.sprays, *typed)
    return max((e for e in days if 0 < (day - e).days <= longest), default=None)


def _jobs(
    log: RecordLog, now: np.datetime64, today: dt.date, place: Place
) -> dict[str, list[Job]]:
    """Jobs of the season that met heads and have ended, by the name of the paddock."""
    found: dict[str, list[Job]] = {}
    for record in log.standing:
        job = record.now.job
        age = (today - local_day(job.finish, place.zone)).days
        late = age > LONGEST_AGO[Happened.SPRAYED]
        if job.finish > now or late or not closes_window(job, place):
            continue
        found.setdefault(same_name(job.paddock), []).append(job)
    return found


def closes_window(job: Job, place: Place) -> bool:
    """Whether a job is the topping of its season, by its stage or else its month."""
    month = southern_month(
        local_day(job.finish, place.zone).month, southern=place.latitude < 0
    )
    first = round(after_numbers().topping_month.value)
    return tops(month, heads_out=_heads_out(job), first_month=first)


def _heads_out(job: Job) -> bool | None:
    """What its stage says of heads; None: it is not told, or in other words."""
    try:
        return class_of(job.said.get("stage", "")) is not None
    except ValueError:
        return None


def _sprayed(paddock: Paddock, jobs: list[Job], farm: Farm) -> Paddock:
    """The paddock with its jobs; where the farm file names a later day, that counts.

    Days of a job are those typed for it or for the farm's label, whichever are more;
    they hold beside another day of the farm file, and its days beside them.
    """
    if not jobs:
        return paddock

    def day_of(moment: np.datetime64) -> np.datetime64:
        return day_on(moment, farm.place.zone)

    told = recorded(
        [(each.active, each.finish, _held(each, farm)) for each in jobs], day_of
    )
    day = local_day(told.finish, farm.place.zone)
    if paddock.sprayed is not None and paddock.sprayed > day:
        return replace(paddock, earlier=told)
    started = min(local_day(each.start, farm.place.zone) for each in jobs)
    if paddock.sprayed is not None and paddock.sprayed < started:
        first = first_by_file(paddock, farm, paddock.sprayed)
        told = replace(told, not_before=told.holds(first))
    return replace(paddock, sprayed=day, recorded=told)


def _held(job: Job, farm: Farm) -> Withholding:
    label = farm.labels.get(job.active)
    return longer(job.withholding, NOT_TYPED if label is None else label.withholding)
