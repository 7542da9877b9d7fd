"""One plan for the rigs of one farm or several, assembled into one frozen value."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.planned import planned_blocks
from forecaster.domain.planning.next_step import Step
from forecaster.domain.rig.rig_plan import FarmHead, HandMade, Named, RigPlan, Stop
from forecaster.domain.rig.stretches import by_road
from forecaster.domain.rig.work_rate import hours_needed
from forecaster.service.rig.choosing import choose
from forecaster.service.rig.crews import by_rig
from forecaster.service.rig.jobs import SLOT, work_of
from forecaster.service.rig.missed import missed, no_jobs
from forecaster.service.rig.recourse import days_lost
from forecaster.service.rig.roads import metres

if TYPE_CHECKING:
    from forecaster.domain.outlook import ActiveOutlook, BlockView
    from forecaster.domain.rig.problem import Placed, Plan
    from forecaster.domain.rig.rig_plan import Method
    from forecaster.domain.rig.work_rate import Rig
    from forecaster.service.rig.crews import RigStops
    from forecaster.service.rig.jobs import FarmWork, Work

SECONDS = 5.0
"""[s] limit of the solver."""
DAYS_SECONDS = 4.0
"""[s] limit for all days taken away together."""
LARGEST = 60.0
"""[ha] of a part where nothing else is asked for. Assumed: half a day's work of a
farm's own rig."""


@dataclass(frozen=True, slots=True)
class Asked:
    """Limits of a plan."""

    largest: float = LARGEST
    """[ha] of a part; 0: paddocks stay whole."""
    seconds: float = SECONDS
    days_seconds: float = DAYS_SECONDS


def rig_plan(
    farms: tuple[FarmWork, ...],
    rigs: tuple[Rig, ...],
    asked: Asked,
    faults: tuple[tuple[str, str], ...] = (),
) -> RigPlan:
    """Paddocks of all farms on the good hours of all rigs.

    Same farms, moments and rigs give the same plan, as long as the solver ends within
    its limit of time; the plan says when it did not.
    """
    work = work_of(farms, rigs, asked.largest)
    chosen = choose(work.problem, asked.seconds)
    driven = _ordered(work, by_rig(work, chosen.plan))
    plan = tuple(placed for rig in driven for placed in rig.plan)
    return RigPlan(
        farms=tuple(_head(each) for each in farms),
        rigs=rigs,
        method=chosen.method,
        value=work.problem.value(plan),
        bound=chosen.bound,
        weighted=any(each.settings.value != 1 for each in work.candidates),
        stops=_stops(work, driven),
        missed=missed(work, plan, asked.largest),
        no_jobs=no_jobs(work),
        hand_made=tuple(
            _hand_made(work, method, order)
            for method, order in chosen.hand_made.items()
        ),
        days=days_lost(work, plan, asked.days_seconds),
        faults=faults,
        cautions=tuple(
            dict.fromkeys(said for each in farms for said in each.outlook.cautions)
        ),
    )


def _ordered(work: Work, rigs: list[RigStops]) -> list[RigStops]:
    """Each stretch of work in the order of the shortest road."""
    distance = metres([each.settings.middle for each in work.candidates])
    plans = by_road(work.problem, [each.plan for each in rigs], distance)
    return [each._replace(plan=plan) for each, plan in zip(rigs, plans, strict=True)]


def _head(work: FarmWork) -> FarmHead:
    outlook = work.outlook
    return FarmHead(
        name=outlook.farm,
        zone=outlook.place.zone,
        now=outlook.now,
        until=work.until,
        demo=outlook.demo,
        weather=outlook.weather,
    )


def _stops(work: Work, rigs: list[RigStops]) -> tuple[Stop, ...]:
    """In the order of their hours; parts of a paddock are counted in that order."""
    placed = sorted(
        ((each.start, rig.name, each) for rig in rigs for each in rig.plan),
        key=lambda found: found[:2],
    )
    part: Counter[int] = Counter()
    stops = []
    for _, rig, each in placed:
        part[each.job] += 1
        stops.append(_stop(work, each, rig, part[each.job]))
    return tuple(stops)


def _stop(work: Work, placed: Placed, rig: str, part: int) -> Stop:
    candidate = work.candidates[placed.job]
    way = work.problem.way(placed)
    active = next(each for each in candidate.actives if each.active == way.active)
    start = work.moment(placed.start)
    end = start + way.length * SLOT
    holds, window_open = work.chance(placed)
    return Stop(
        rig=rig,
        farm=candidate.farm,
        paddock=candidate.paddock.name,
        part=part,
        parts=candidate.parts,
        active=way.active,
        hectares=candidate.hectares,
        hours=hours_needed(work.rig(placed), candidate.hectares),
        start=start,
        end=end,
        good=next(
            (block.start, block.end)
            for block in planned_blocks(active)
            if block.start <= start and end <= block.end
        ),
        holds=holds,
        window_open=window_open,
        value=work.problem.worth(placed),
        closes=active.window.closed.likely if active.window else None,
        runs=_long_enough(active, way.length),
        count_heads=active.step is Step.COUNT_HEADS,
    )


def _long_enough(active: ActiveOutlook, length: int) -> int:
    def fits(block: BlockView) -> bool:
        return bool(block.end - block.start >= length * SLOT)

    return sum(map(fits, planned_blocks(active)))


def _hand_made(work: Work, method: Method, order: Plan) -> HandMade:
    placed = sorted(order, key=lambda each: each.start)
    order_of = dict.fromkeys(each.job for each in placed)
    jobs = [work.candidates[job] for job in order_of]
    return HandMade(
        method=method,
        value=work.problem.value(order),
        hectares=float(np.sum([work.candidates[each.job].hectares for each in order])),
        paddocks=tuple(Named(each.farm, each.paddock.name) for each in jobs),
    )
