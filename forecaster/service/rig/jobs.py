"""Outlooks of farms as jobs on half-hour slots."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.planned import planned_blocks
from forecaster.domain.rig.problem import SLOT_HOURS, Crew, Job, Problem, way_of
from forecaster.domain.rig.work_rate import hours_needed, parts_of
from forecaster.domain.weather import HOUR
from forecaster.service.rig.roads import travel

if TYPE_CHECKING:
    from forecaster.domain.outlook import ActiveOutlook, Outlook, PaddockOutlook
    from forecaster.domain.rig.problem import Placed
    from forecaster.domain.rig.work_rate import Rig
    from forecaster.domain.weather import Floats
    from forecaster.settings.farm import Farm, Paddock

SLOT = np.timedelta64(int(SLOT_HOURS * 3600), "s")
SLACK = 1e-9
"""[slots] hours that fill their slots to the end need no other."""


@dataclass(frozen=True, slots=True)
class FarmWork:
    """One farm: its settings, its outlook, and where its planned hours end."""

    farm: Farm
    outlook: Outlook
    until: np.datetime64


@dataclass(frozen=True, slots=True)
class Candidate:
    """A paddock with planned blocks, and what its slots hold by active."""

    farm: int
    settings: Paddock
    paddock: PaddockOutlook
    actives: tuple[ActiveOutlook, ...]
    parts: int
    hectares: float
    """[ha] of one part."""
    chances: dict[str, tuple[Floats, Floats]] = field(repr=False)
    """By active: that the slot holds, and that the window is open (slots,)."""


@dataclass(frozen=True, slots=True)
class Work:
    """Candidates in the order of the problem's jobs."""

    farms: tuple[FarmWork, ...]
    rigs: tuple[Rig, ...]
    candidates: tuple[Candidate, ...]
    problem: Problem
    origin: np.datetime64

    def moment(self, slot: int) -> np.datetime64:
        """When a slot begins."""
        return self.origin + slot * SLOT

    def rig(self, placed: Placed) -> Rig:
        """Which kind of rig a part is done with."""
        return self.rigs[self.problem.crews[self.problem.way(placed).crew].rig]

    def chance(self, placed: Placed) -> tuple[float, float]:
        """The weakest of both chances over the slots of a part."""
        way = self.problem.way(placed)
        rows = slice(placed.start, placed.start + way.length)
        holds, is_open = self.candidates[placed.job].chances[way.active]
        return float(holds[rows].min()), float(is_open[rows].min())


def work_of(farms: tuple[FarmWork, ...], rigs: tuple[Rig, ...], largest: float) -> Work:
    """Every paddock that may be planned, with parts of at most ``largest`` ha."""
    origin = min(_floor(each.outlook.now) for each in farms)
    slots = max(0, *(int((each.until - origin) / SLOT) for each in farms))
    roads = travel([each.outlook.place for each in farms], rigs, SLOT_HOURS)
    crews = tuple(
        Crew(number, 1 if roads.any() else rig.number)
        for number, rig in enumerate(rigs)
        for _ in range(rig.number if roads.any() else 1)
    )
    candidates = tuple(
        each
        for number in range(len(farms))
        for each in _candidates(farms, number, (origin, slots), largest)
    )
    jobs = tuple(_job(each, rigs, crews, origin) for each in candidates)
    return Work(farms, rigs, candidates, Problem(jobs, crews, roads), origin)


def _floor(moment: np.datetime64) -> np.datetime64:
    hour: np.datetime64 = moment.astype("datetime64[h]").astype("datetime64[s]")
    return hour


def _candidates(
    farms: tuple[FarmWork, ...],
    number: int,
    grid: tuple[np.datetime64, int],
    largest: float,
) -> list[Candidate]:
    work, found = farms[number], []
    for settings, paddock in zip(
        work.farm.paddocks, work.outlook.paddocks, strict=True
    ):
        actives = tuple(each for each in paddock.actives if planned_blocks(each))
        if not actives or settings.value == 0:
            continue
        parts, hectares = parts_of(paddock.hectares, largest)
        chances = {each.active: _chances(work, each, grid) for each in actives}
        found.append(
            Candidate(number, settings, paddock, actives, parts, hectares, chances)
        )
    return found


def _chances(
    work: FarmWork, active: ActiveOutlook, grid: tuple[np.datetime64, int]
) -> tuple[Floats, Floats]:
    """That each slot holds, and that the window is open; NaN: not to be used.

    Only slots of planned blocks that begin no earlier than now have a chance.
    """
    origin, slots = grid
    start = origin + np.arange(slots) * SLOT
    holds = np.full(slots, np.nan)
    for block in planned_blocks(active):
        inside = (start >= block.start) & (start + SLOT <= block.end)
        holds[inside] = block.chance
    holds[(start < work.outlook.now) | (start + SLOT > work.until)] = np.nan
    told = [(work.outlook.now, active.chance_open_now), *active.chance_open]
    ahead = sorted(each for each in told if each[0] >= work.outlook.now)
    seconds = np.array([(at - origin) / HOUR for at, _ in ahead])
    middle = (start + SLOT // 2 - origin) / HOUR
    shares = np.array([share for _, share in ahead])
    return holds, np.interp(middle, seconds, shares, left=np.nan, right=np.nan)


def _job(
    each: Candidate,
    rigs: tuple[Rig, ...],
    crews: tuple[Crew, ...],
    origin: np.datetime64,
) -> Job:
    value = each.hectares * each.settings.value
    ways = tuple(
        way_of(
            crew,
            active.active,
            slots_needed(hours_needed(rigs[kind.rig], each.hectares)),
            each.chances[active.active],
            value,
        )
        for active in each.actives
        for crew, kind in enumerate(crews)
    )
    closes = [
        active.window.closed.likely if active.window else None
        for active in each.actives
    ]
    known = [close for close in closes if close is not None]
    last = max(known) if len(known) == len(closes) else None
    return Job(
        name=each.paddock.name,
        farm=each.farm,
        hectares=each.hectares,
        ways=ways,
        closes=math.inf if last is None else float((last - origin) / SLOT),
        parts=each.parts,
    )


def slots_needed(hours: float) -> int:
    """Whole slots that hold ``hours``; at least one."""
    return max(1, math.ceil(hours / SLOT_HOURS - SLACK))
