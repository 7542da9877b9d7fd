"""What a correction changed, and hours of which no forecast is known."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.record.fields import BY_NAME
from forecaster.domain.weather import HOUR

if TYPE_CHECKING:
    from forecaster.domain.record.job import Job
    from forecaster.domain.record.log import Around

PARTS = (
    "paddock", "active", "start", "finish", "wind_start", "wind_changes", "tanks",
    "withholding",
)  # fmt: skip
"""Of a job beside its plain fields."""
NOT_JUDGED = frozenset({"", "unknown"})
"""What an hour is called of which nobody could tell."""


def changed(old: Job, new: Job) -> tuple[str, ...]:
    """The parts and plain fields that differ, in the order they are printed."""
    parts = [name for name in PARTS if _part(old, name) != _part(new, name)]
    fields = [name for name in BY_NAME if old.said.get(name) != new.said.get(name)]
    return (*parts, *fields)


def _part(job: Job, name: str) -> str:
    """Written out, for NaN differs from itself."""
    known_as = {"wind_start": "wind", "wind_changes": "changes"}
    return repr(getattr(job, known_as.get(name, name)))


def hours_not_judged(job: Job, around: Around) -> tuple[int, int]:
    """Hours the job touched that no forecast from before its start judged, and all.

    Of these nobody can tell whether the forecast was against the spray.
    """
    first = job.start.astype("datetime64[h]").astype("datetime64[s]")
    touched = {int(each) for each in np.arange(first, job.finish, HOUR).astype(int)}
    known = () if around.forecast is None else around.forecast.hours
    judged = {
        int(each.time.astype("datetime64[s]").astype(int))
        for each in known
        if each.verdict not in NOT_JUDGED
    }
    return len(touched - judged), len(touched)
