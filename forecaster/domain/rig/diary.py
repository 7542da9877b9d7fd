"""Where rigs are taken, and which starts are still free."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from forecaster.domain.rig.problem import Placed, Plan, Problem
    from forecaster.domain.weather import Bools


class Diary:
    """The rigs at work or on the road, by crew, farm and slot.

    ``taken`` (crews, farms, slots) counts rigs that cannot be at work on that farm
    then: a rig at work elsewhere is also lost for the road there and back.
    """

    def __init__(self, problem: Problem, plan: Plan = ()) -> None:
        self.problem = problem
        shape = len(problem.crews), len(problem.travel), max(problem.slots, 1)
        self.taken = np.zeros(shape, np.int64)
        self.limit = np.array([crew.number for crew in problem.crews], np.int64)
        for placed in plan:
            self.put(placed)

    def put(self, placed: Placed, times: int = 1) -> None:
        """Add a part to the diary, or with −1 take it out."""
        way = self.problem.way(placed)
        here = self.problem.jobs[placed.job].farm
        for farm, road in enumerate(self.problem.travel[here].tolist()):
            first = max(placed.start - road, 0)
            last = placed.start + way.length + road
            self.taken[way.crew, farm, first:last] += times

    def free(self, job: int, way: int) -> Bools:
        """Which of the starts of a way (n,) are free from end to end."""
        how = self.problem.jobs[job].ways[way]
        full = self.taken[how.crew, self.problem.jobs[job].farm] >= self.limit[how.crew]
        before = np.concatenate(([0], np.cumsum(full)))
        free: Bools = before[how.starts + how.length] == before[how.starts]
        return free


def faults(problem: Problem, plan: Plan) -> list[str]:
    """What is wrong with a plan; empty where it can be driven."""
    found = []
    done = [0] * len(problem.jobs)
    diary = Diary(problem)
    for placed in sorted(plan, key=lambda each: each.start):
        job, way = problem.jobs[placed.job], problem.way(placed)
        done[placed.job] += 1
        at = np.flatnonzero(way.starts == placed.start)
        if at.size == 0:
            found.append(f"{job.name}: slot {placed.start} is no start of its hours")
        elif not diary.free(placed.job, placed.way)[at[0]]:
            found.append(f"{job.name}: no rig is free in slot {placed.start}")
        diary.put(placed)
    found += [
        f"{job.name}: done {count} times of {job.parts}"
        for job, count in zip(problem.jobs, done, strict=True)
        if count > job.parts
    ]
    return found


def earlier(problem: Problem, plan: Plan) -> Plan:
    """The same parts, each as early as it goes at no loss; of equals the earliest.

    Parts move one after the other, until none moves.
    """
    diary = Diary(problem, plan)
    parts = sorted(plan, key=lambda each: (each.start, each.job, each.way))
    moved = True
    while moved:
        moved = False
        for number, placed in enumerate(parts):
            diary.put(placed, -1)
            way, worth = problem.way(placed), problem.worth(placed)
            fits = diary.free(placed.job, placed.way) & (way.worth >= worth)
            first = int(way.starts[np.flatnonzero(fits)[0]])
            moved |= first < placed.start
            parts[number] = placed._replace(start=min(first, placed.start))
            diary.put(parts[number])
    return tuple(sorted(parts, key=lambda each: (each.start, each.job, each.way)))
