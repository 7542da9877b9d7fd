"""Paddocks that are missed, those nobody may plan for, and what is left for them."""

from __future__ import annotations

import math
from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.rig.fallback import OPEN_STEPS, fallback
from forecaster.domain.rig.problem import SLOT_HOURS
from forecaster.domain.rig.rig_plan import Missed, NoJob, Why
from forecaster.domain.rig.work_rate import hours_needed, parts_of
from forecaster.domain.spraying.blocks import runs

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.domain.outlook import PaddockOutlook
    from forecaster.domain.rig.problem import Job, Plan
    from forecaster.service.rig.jobs import Candidate, Work

LEFT_OUT = "left out this year (value = 0)"
CANNOT_TELL = "cannot be told"


def missed(work: Work, plan: Plan, largest: float) -> tuple[Missed, ...]:
    """Every paddock that would be sprayed and is not wholly in the plan."""
    done = Counter(each.job for each in plan)
    found = [
        _missed(work, candidate, job, job.parts - done[number])
        for number, (candidate, job) in enumerate(
            zip(work.candidates, work.problem.jobs, strict=True)
        )
        if done[number] < job.parts
    ]
    found += [
        _hourless(work, farm, paddock, largest)
        for farm, paddock in _others(work)
        if _would_be_sprayed(paddock)
    ]
    return tuple(sorted(found, key=lambda each: each.farm))


def no_jobs(work: Work) -> tuple[NoJob, ...]:
    """Paddocks the plan leaves alone, and why."""
    found = []
    for number, each in enumerate(work.farms):
        for settings, paddock in zip(
            each.farm.paddocks, each.outlook.paddocks, strict=True
        ):
            if paddock.fault is not None or not paddock.actives:
                why = f"{CANNOT_TELL}: {paddock.fault or 'no active to judge'}"
                found.append(NoJob(number, paddock.name, None, why))
            elif settings.value == 0:
                found.append(NoJob(number, paddock.name, None, LEFT_OUT))
            elif not any(active.step in OPEN_STEPS for active in paddock.actives):
                found += [
                    NoJob(number, paddock.name, active.active, active.step.value)
                    for active in paddock.actives
                ]
    return tuple(found)


def _others(work: Work) -> Iterator[tuple[int, PaddockOutlook]]:
    """Paddocks without a job that are not left out."""
    jobs = {(each.farm, each.paddock.name) for each in work.candidates}
    for number, farm in enumerate(work.farms):
        for settings, paddock in zip(
            farm.farm.paddocks, farm.outlook.paddocks, strict=True
        ):
            if (number, paddock.name) not in jobs and settings.value != 0:
                yield number, paddock


def _would_be_sprayed(paddock: PaddockOutlook) -> bool:
    return any(active.step in OPEN_STEPS for active in paddock.actives)


def _missed(work: Work, candidate: Candidate, job: Job, count: int) -> Missed:
    until = work.farms[candidate.farm].until
    left = fallback(candidate.paddock, until)
    needed = min(hours_needed(rig, candidate.hectares) for rig in work.rigs)
    holds = [np.isfinite(each) for each, _ in candidate.chances.values()]
    told = [np.isfinite(h + w) for h, w in candidate.chances.values()]
    longest = max(_longest(each) for each in told)
    if any(way.starts.size for way in job.ways):
        why = Why.OUTRANKED
    elif max(_longest(each) for each in holds) > longest or not any(
        each.any() for each in told
    ):
        why = Why.NO_CHANCE
    else:
        why = Why.TOO_SHORT
    return Missed(
        farm=candidate.farm,
        paddock=candidate.paddock.name,
        missed=count,
        parts=job.parts,
        hectares=candidate.hectares * count,
        hours=needed,
        longest=longest,
        why=why,
        fallback=left.what,
        active=left.active,
        opens=left.opens,
        closes=left.closes,
    )


def _hourless(work: Work, farm: int, paddock: PaddockOutlook, largest: float) -> Missed:
    left = fallback(paddock, work.farms[farm].until)
    parts, hectares = parts_of(paddock.hectares, largest)
    return Missed(
        farm=farm,
        paddock=paddock.name,
        missed=parts,
        parts=parts,
        hectares=paddock.hectares,
        hours=min((hours_needed(rig, hectares) for rig in work.rigs), default=math.nan),
        longest=0.0,
        why=Why.NO_HOURS,
        fallback=left.what,
        active=left.active,
        opens=left.opens,
        closes=left.closes,
    )


def _longest(flags: np.typing.NDArray[np.bool_]) -> float:
    """Of the runs of slots [h]."""
    return max((end - first for first, end in runs(flags)), default=0) * SLOT_HOURS
