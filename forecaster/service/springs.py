"""What paddocks met in earlier springs: as typed, and by the spray record."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from forecaster.service.moments import local_day
from forecaster.settings.names import same_name
from forecaster.settings.paddock_springs import typed_springs

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    import numpy as np

    from forecaster.domain.choice.springs import Used
    from forecaster.domain.record.job import Job
    from forecaster.domain.record.log import RecordLog
    from forecaster.settings.farm import Farm, Paddock


def with_springs(
    farm: Farm, log: RecordLog, now: np.datetime64, this_year: int
) -> tuple[Farm, tuple[str, ...]]:
    """The farm with every paddock's springs, and where one place gainsays another.

    ``this_year`` is that by which the farm file is read.
    """
    recorded = recorded_springs(log, farm.place.zone, now)
    paddocks = tuple(
        replace(
            each,
            springs=replace(
                typed_springs(each, this_year),
                recorded=recorded.get(same_name(each.name), frozenset()),
            ),
        )
        for each in farm.paddocks
    )
    told = tuple(said for each in paddocks for said in gainsaid(each, farm.actives))
    return replace(farm, paddocks=paddocks), told


def recorded_springs(log: RecordLog, zone: str, now: np.datetime64) -> dict[str, Used]:
    """Year and active of records that stand and had ended, by name of the paddock."""
    found: dict[str, set[tuple[int, str]]] = {}
    for year, job in ended_jobs(log, zone, now):
        found.setdefault(same_name(job.paddock), set()).add((year, job.active))
    return {name: frozenset(used) for name, used in found.items()}


def ended_jobs(
    log: RecordLog, zone: str, now: np.datetime64
) -> Iterator[tuple[int, Job]]:
    """Jobs that stand and had ended at ``now``, with the year of their finish.

    The year is that on the calendar of ``zone``.
    """
    for record in log.standing:
        job = record.now.job
        if job.finish <= now:
            yield local_day(job.finish, zone).year, job


def gainsaid(paddock: Paddock, actives: Collection[str]) -> Iterator[str]:
    """Where one place that tells of a paddock's springs gainsays another."""
    for year, done, there in paddock.springs.gainsaid(actives):
        yield (
            f'{paddock.name}: last_springs says "{done}" for {year}, [[paddock.past]] '
            f"and the record {' and '.join(there) or 'no spray'}; both count until one "
            "is corrected"
        )
