"""Which of several rigs that are alike does which stop."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from forecaster.domain.rig.problem import Placed, Plan
    from forecaster.service.rig.jobs import Work


class RigStops(NamedTuple):
    """One rig and its stops in their order."""

    name: str
    plan: Plan


def by_rig(work: Work, plan: Plan) -> list[RigStops]:
    """Stops handed to single rigs, each to the first that is free.

    That never needs more rigs than are at work in any slot.
    """
    free: dict[tuple[int, int], int] = {}
    found: dict[tuple[int, int], list[Placed]] = {}
    for crew, each in enumerate(work.problem.crews):
        for number in range(each.number):
            free[crew, number], found[crew, number] = 0, []
    for placed in sorted(plan, key=lambda each: each.start):
        crew = work.problem.way(placed).crew
        rig = next(key for key in free if key[0] == crew and free[key] <= placed.start)
        free[rig] = work.problem.end(placed)
        found[rig].append(placed)
    names = _names(work)
    return [RigStops(names[key], tuple(stops)) for key, stops in found.items()]


def _names(work: Work) -> dict[tuple[int, int], str]:
    """``Boom``, or ``Boom 2`` where there are several alike."""
    count = [0] * len(work.rigs)
    found = {}
    for crew, each in enumerate(work.problem.crews):
        for number in range(each.number):
            rig = work.rigs[each.rig]
            count[each.rig] += 1
            several = f"{rig.name} {count[each.rig]}"
            found[crew, number] = several if rig.number > 1 else rig.name
    return found
