"""What in a record does not fit the farm, or itself: told, never refused."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from forecaster.domain.record.job import overlapping
from forecaster.settings.names import same_name

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from forecaster.domain.record.job import Job
    from forecaster.settings.farm import Farm, Paddock

SLACK_HA = 0.05
"""Areas are told to a tenth of a hectare; less than half of it is no difference."""


def doubts(job: Job, farm: Farm, others: Iterable[Job]) -> tuple[str, ...]:
    """Each in words; ``others`` are the jobs of the records that stand beside it."""
    paddock = next(
        (e for e in farm.paddocks if same_name(e.name) == same_name(job.paddock)), None
    )
    fits = () if paddock is None else tuple(_of_paddock(job, paddock))
    rig = (
        f"the same rig was in {each.paddock} at that time, as recorded"
        for each in overlapping(job, others)
    )
    return (*fits, *_of_tanks(job), *rig)


def _of_paddock(job: Job, paddock: Paddock) -> Iterator[str]:
    area = _hectares(job)
    if area is not None and area > paddock.hectares + SLACK_HA:
        yield (
            f"{area:g} ha were recorded, {paddock.name} has {paddock.hectares:g} ha in "
            "the farm file; correct one of them if it is wrong"
        )
    if job.active not in paddock.actives:
        yield (
            f"{job.active} is none of the actives of {paddock.name} in the farm file; "
            "whether its next step was to spray cannot be told"
        )


def _of_tanks(job: Job) -> Iterator[str]:
    area, tanks = _hectares(job), math.fsum(each.hectares for each in job.tanks)
    if job.tanks and area is not None and abs(tanks - area) > SLACK_HA:
        yield (
            f"the tanks add up to {tanks:g} ha, but {area:g} ha were recorded; "
            "correct what is wrong"
        )


def _hectares(job: Job) -> float | None:
    typed = job.said.get("hectares")
    return None if typed is None else float(typed)
