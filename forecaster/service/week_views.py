"""The week's verdicts as runs, and the sides that are barred as arcs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.outlook import Arc, HourRun
from forecaster.domain.spraying.limits import Verdict
from forecaster.domain.weather import HOUR

if TYPE_CHECKING:
    from forecaster.domain.spraying.hours import Judgement
    from forecaster.domain.weather import Bools
    from forecaster.settings.farm import Paddock

TURN = 360


def hour_runs(judgement: Judgement, daylight: Bools) -> tuple[HourRun, ...]:
    """The hours of a (hours,) judgement in runs of one verdict and one light."""
    time, verdict = judgement.time, judgement.verdict
    if time.size == 0:
        return ()
    changes = (
        (np.diff(verdict.astype(np.int16)) != 0)
        | (daylight[1:] != daylight[:-1])
        | (np.diff(time) != HOUR)
    )
    starts = [0, *(np.flatnonzero(changes) + 1).tolist()]
    ends = [*starts[1:], time.size]
    return tuple(
        HourRun(
            start=time[start],
            end=time[end - 1] + HOUR,
            verdict=Verdict(int(verdict[start])),
            daylight=bool(daylight[start]),
        )
        for start, end in zip(starts, ends, strict=True)
    )


def barred_wind(paddock: Paddock) -> tuple[Arc, ...] | None:
    """Sides whose wind blows towards what lies near; None where nobody has said."""
    return arcs_of(paddock.exposure.exposed) if paddock.surveyed else None


def arcs_of(exposed: Bools) -> tuple[Arc, ...]:
    """Runs of a (360,) circle of whole degrees, clockwise; all of it is 0 to 359."""
    if bool(exposed.all()):
        return (Arc(0, TURN - 1),)
    starts = np.flatnonzero(exposed & ~np.roll(exposed, 1))
    ends = np.flatnonzero(exposed & ~np.roll(exposed, -1))
    return tuple(
        Arc(int(start), int(ends[np.searchsorted(ends, start) % ends.size]))
        for start in starts
    )
