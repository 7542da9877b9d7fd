"""Paddocks that are missed, those nobody may plan for, and what is left for them."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.planned import planned_blocks
from forecaster.domain.rig.fallback import OPEN_STEPS, fallback
from forecaster.domain.rig.problem import SLOT_HOURS
from forecaster.domain.rig.rig_plan import Missed, NoJob, Why
from forecaster.domain.rig.work_rate import hours_needed, parts_of
from forecaster.domain.spraying.blocks import runs
from forecaster.domain.weather import HOUR

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.domain.outlook import PaddockOutlook
    from forecaster.domain.rig.problem import Job, Plan
    from forecaster.domain.weather import Bools
    from forecaster.service.rig.jobs import Candidate, FarmWork, Work

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
    farm = work.farms[candidate.farm]
    left = fallback(candidate.paddock, farm.until)
    good = _good(farm, candidate)
    return Missed(
        farm=candidate.farm,
        paddock=candidate.paddock.name,
        missed=count,
        parts=job.parts,
        hectares=candidate.hectares * count,
        hours=min(hours_needed(rig, candidate.hectares) for rig in work.rigs),
        longest=good,
        why=_why(candidate, job, good),
        fallback=left.what,
        active=left.active,
        opens=left.opens,
        closes=left.closes,
    )


def _why(candidate: Candidate, job: Job, good: float) -> Why:
    """What keeps the job from every start; where nothing does, others are first.

    ``good`` is the longest run of good hours, whatever is known of its chance [h].
    """
    needed = min(way.length for way in job.ways) * SLOT_HOURS
    if any(way.starts.size for way in job.ways):
        return Why.OUTRANKED
    if good < needed:
        return Why.TOO_SHORT
    known = max(
        _longest(np.isfinite(holds + is_open))
        for holds, is_open in candidate.chances.values()
    )
    return Why.NO_PROSPECT if known >= needed else Why.NO_CHANCE


def _good(work: FarmWork, candidate: Candidate) -> float:
    """The longest run of good hours from now to the end of the plan [h]."""
    begin, end = work.outlook.now, work.until
    runs_of = (
        (min(block.end, end) - max(block.start, begin)) / HOUR
        for active in candidate.actives
        for block in planned_blocks(active)
    )
    return max(0.0, *map(float, runs_of))


def _hourless(work: Work, farm: int, paddock: PaddockOutlook, largest: float) -> Missed:
    left = fallback(paddock, work.farms[farm].until)
    parts, hectares = parts_of(paddock.hectares, largest)
    return Missed(
        farm=farm,
        paddock=paddock.name,
        missed=parts,
        parts=parts,
        hectares=paddock.hectares,
        hours=min(hours_needed(rig, hectares) for rig in work.rigs),
        longest=0.0,
        why=Why.NO_HOURS,
        fallback=left.what,
        active=left.active,
        opens=left.opens,
        closes=left.closes,
    )


def _longest(flags: Bools) -> float:
    """Of the runs of slots [h]."""
    return max((end - first for first, end in runs(flags)), default=0) * SLOT_HOURS
