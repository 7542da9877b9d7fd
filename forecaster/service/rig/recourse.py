"""What is left of a plan if the hours of one day cannot be used."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from forecaster.domain.rig.rig_plan import DayLost, Moved, Named
from forecaster.service.moments import local_day
from forecaster.service.rig.choosing import choose

if TYPE_CHECKING:
    import datetime as dt

    from forecaster.domain.rig.problem import Job, Plan, Problem
    from forecaster.service.rig.jobs import Work


def days_lost(work: Work, plan: Plan, seconds: float) -> tuple[DayLost, ...]:
    """Each day with stops, and the plan again without it.

    Days before are driven as planned, since who drove them could not know.
    ``seconds`` is the limit of the solver for all days, each with an equal share.
    """
    days = sorted({_day(work, each.start) for each in plan})
    share = seconds / max(len(days), 1)
    return tuple(_without(work, plan, day, share) for day in days)


def _day(work: Work, slot: int) -> dt.date:
    """On the calendar of the first farm."""
    return local_day(work.moment(slot), work.farms[0].outlook.place.zone)


def _without(work: Work, plan: Plan, day: dt.date, seconds: float) -> DayLost:
    problem = work.problem
    before = tuple(each for each in plan if _day(work, each.start) < day)
    that = [each for each in plan if _day(work, each.start) == day]
    after = _after(work, day)
    rest = _rest(problem, before, after)
    later = tuple(each for each in plan if each.start >= after)
    chosen = choose(rest, seconds, later)
    placed = Counter(each.job for each in chosen.plan)
    planned = Counter(each.job for each in plan if each not in before)
    starts = {
        job: min(each.start for each in chosen.plan if each.job == job)
        for job in placed
    }
    names = [Named(each.farm, each.paddock.name) for each in work.candidates]
    return DayLost(
        farm=0,
        start=work.moment(min(each.start for each in that)),
        moved=tuple(
            Moved(names[job], work.moment(starts[job]))
            for job in dict.fromkeys(each.job for each in that)
            if job in starts
        ),
        lost=tuple(names[job] for job in planned if placed[job] < planned[job]),
        value=problem.value(before) + rest.value(chosen.plan),
        method=chosen.method,
    )


def _after(work: Work, day: dt.date) -> int:
    """The first slot after a day; one past the last where there is none."""
    slots = work.problem.slots
    later = (slot for slot in range(slots) if _day(work, slot) > day)
    return next(later, slots)


def _rest(problem: Problem, before: Plan, first: int) -> Problem:
    """The jobs that are left, with starts from slot ``first`` on."""
    done = Counter(each.job for each in before)
    jobs = tuple(
        _later(job, job.parts - done[number], first)
        for number, job in enumerate(problem.jobs)
    )
    return replace(problem, jobs=jobs)


def _later(job: Job, parts: int, first: int) -> Job:
    ways = tuple(
        replace(way, starts=way.starts[fits], worth=way.worth[fits])
        for way in job.ways
        for fits in ((way.starts >= first) & (parts > 0),)
    )
    return replace(job, ways=ways, parts=max(parts, 1))
