"""The two orders people make by hand, to hold the plan against."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.rig.diary import Diary
from forecaster.domain.rig.problem import Placed

if TYPE_CHECKING:
    from collections.abc import Iterable

    from forecaster.domain.rig.problem import Job, Plan, Problem


def earliest_closing(problem: Problem) -> Plan:
    """The paddock that shuts first goes first, each as soon as it fits."""
    order = sorted(
        range(len(problem.jobs)), key=lambda job: (problem.jobs[job].closes, job)
    )
    diary = Diary(problem)
    return tuple(placed for job in order for placed in _parts(diary, job, soonest=True))


def value_per_hour(problem: Problem) -> Plan:
    """What brings most for an hour of work goes first, each where it brings most."""
    order = sorted(
        range(len(problem.jobs)), key=lambda job: (-_rate(problem.jobs[job]), job)
    )
    diary = Diary(problem)
    return tuple(
        placed for job in order for placed in _parts(diary, job, soonest=False)
    )


def _rate(job: Job) -> float:
    rates = [way.worth.max() / way.length for way in job.ways if way.starts.size]
    return float(max(rates, default=0.0))


def _parts(diary: Diary, job: int, *, soonest: bool) -> Iterable[Placed]:
    """Each part of a job that still fits, put in the diary."""
    for _ in range(diary.problem.jobs[job].parts):
        choices = [
            (key, Placed(job, number, start))
            for number, way in enumerate(diary.problem.jobs[job].ways)
            for key, start in _best(diary, job, number, soonest=soonest)
        ]
        if not choices:
            return
        placed = min(choices)[1]
        diary.put(placed)
        yield placed


def _best(
    diary: Diary, job: int, number: int, *, soonest: bool
) -> Iterable[tuple[float, int]]:
    """The soonest or the best free start of a way, with what it is sorted by."""
    way = diary.problem.jobs[job].ways[number]
    free = np.flatnonzero(diary.free(job, number))
    if free.size == 0:
        return
    if soonest:
        start = int(way.starts[free[0]])
        yield float(start), start
        return
    best = free[int(np.argmax(way.worth[free]))]
    yield -float(way.worth[best]), int(way.starts[best])
