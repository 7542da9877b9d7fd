"""Which paddocks count as sprayed: by the farm file or by a record that stands."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from forecaster.errors import InputMissingError
from forecaster.service.moments import local_day
from forecaster.settings.farm_dates import LONGEST_AGO, Happened
from forecaster.settings.names import same_name
from forecaster.store.records import RECORDS_FILE, read_records

if TYPE_CHECKING:
    import datetime as dt
    from pathlib import Path

    import numpy as np

    from forecaster.domain.record.log import RecordLog
    from forecaster.settings.farm import Farm, Paddock


def records_path(farm: Farm) -> Path:
    """Where the farm's records are kept."""
    return farm.folder / RECORDS_FILE


def farm_on(
    farm: Farm, now: np.datetime64, latest: dt.date
) -> tuple[Farm, tuple[str, ...]]:
    """The farm as it was at ``now``, sprayed paddocks and all, and what to say of it.

    ``latest`` is the later of that day and the calendar. A date typed in the farm file
    and a record count alike; the later one stands. A record that ended after ``now``
    has not happened yet, and one older than a season closes nothing, as a typed date
    would not. What cannot be read of the log is told and closes nothing.

    Raises
    ------
    SettingsError
        If a typed date lies in the future or in another season.
    """
    zone = farm.place.zone
    today = local_day(now, zone)
    then = farm.on(today, latest)
    try:
        log = read_records(records_path(farm))
    except InputMissingError as error:
        return then, (f"{error}; no record is used",)
    recorded = _days(log, now, today, zone)
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
    paddocks = tuple(_sprayed(each, recorded) for each in then.paddocks)
    return replace(then, paddocks=paddocks), (*log.warnings, *told)


def _days(
    log: RecordLog, now: np.datetime64, today: dt.date, zone: str
) -> dict[str, dt.date]:
    """The last day each paddock was sprayed on, by its name."""
    found: dict[str, dt.date] = {}
    for record in log.standing:
        job = record.now.job
        day = local_day(job.finish, zone)
        if job.finish > now or (today - day).days > LONGEST_AGO[Happened.SPRAYED]:
            continue
        name = same_name(job.paddock)
        found[name] = max(day, found.get(name, day))
    return found


def _sprayed(paddock: Paddock, recorded: dict[str, dt.date]) -> Paddock:
    days = [paddock.sprayed, recorded.get(same_name(paddock.name))]
    return replace(
        paddock, sprayed=max((each for each in days if each is not None), default=None)
    )
