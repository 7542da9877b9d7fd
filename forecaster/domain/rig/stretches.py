"""The stops of one rig, stretch by stretch, in the order of the shortest road."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.rig.diary import faults
from forecaster.domain.rig.route import shortest

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.domain.rig.problem import Placed, Plan, Problem
    from forecaster.domain.weather import Floats

PAUSE = 6
"""[slots] a longer pause, three hours, ends a stretch. Assumed."""
ROUNDING = 1e-9


def by_road(problem: Problem, rigs: Sequence[Plan], distance: Floats) -> list[Plan]:
    """The same stops of each rig, in shorter order where nothing is lost by it.

    Only stops of one stretch change places. Each stays inside its good hours, the
    stretch ends no later, and the plan is worth no less.

    Parameters
    ----------
    problem : Problem
        Whose hours bind.
    rigs : sequence of plans
        One a rig; together they can be driven.
    distance : (jobs, jobs) array
        Between the middles of paddocks; NaN where one is not known. Any unit.
    """
    found = list(rigs)
    for rig, plan in enumerate(rigs):
        for stretch in stretches(problem, plan):
            turned = _turned(problem, stretch, distance)
            kept = (each for each in found[rig] if each not in stretch)
            tried = [*found]
            tried[rig] = tuple(sorted((*kept, *turned), key=lambda each: each.start))
            if not faults(problem, tuple(each for one in tried for each in one)):
                found = tried
    return found


def _turned(problem: Problem, stretch: Plan, distance: Floats) -> Plan:
    """The stops of one stretch in the shortest order that loses nothing."""
    jobs = [placed.job for placed in stretch]
    order = shortest(
        distance[np.ix_(jobs, jobs)], lambda tried: _fits(problem, stretch, tried)
    )
    if order == tuple(range(len(stretch))):
        return stretch  # set closer it might be worth less
    return repacked(problem, stretch, order) or stretch


def stretches(problem: Problem, plan: Plan) -> list[Plan]:
    """Stops of one rig cut where it stands still for longer than :data:`PAUSE`."""
    found: list[list[Placed]] = []
    for placed in sorted(plan, key=lambda each: each.start):
        if found and placed.start - problem.end(found[-1][-1]) <= PAUSE:
            found[-1].append(placed)
        else:
            found.append([placed])
    return [tuple(each) for each in found]


def repacked(problem: Problem, stretch: Plan, order: Sequence[int]) -> Plan | None:
    """The stops in ``order``, each as early as it goes; None where one goes not."""
    time, last = stretch[0].start, problem.end(stretch[-1])
    found: list[Placed] = []
    for number in order:
        placed = stretch[number]
        way = problem.way(placed)
        if found:
            here = problem.jobs[found[-1].job].farm
            time += int(problem.travel[here, problem.jobs[placed.job].farm])
        at = int(np.searchsorted(way.starts, time))
        if at == way.starts.size or way.starts[at] + way.length > last:
            return None
        found.append(placed._replace(start=int(way.starts[at])))
        time = problem.end(found[-1])
    return tuple(found)


def _fits(problem: Problem, stretch: Plan, order: Sequence[int]) -> bool:
    turned = repacked(problem, stretch, order)
    return turned is not None and (
        problem.value(turned) >= problem.value(stretch) - ROUNDING
    )
