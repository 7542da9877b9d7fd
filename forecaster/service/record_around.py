"""What stands beside a job: the forecast for its hours, and what was observed."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.planning.next_step import Step
from forecaster.domain.record.log import Around, Beside
from forecaster.domain.spraying.limits import Verdict
from forecaster.domain.weather import Origin
from forecaster.errors import ForecasterError
from forecaster.render.words import VERDICT_WORDS, LocalClock, reason_words
from forecaster.service.daily import paddock_outlook
from forecaster.service.judging import judge_paddock
from forecaster.service.record_observed import hour_of, inside, observed_in
from forecaster.service.weather import LATER_WARNING
from forecaster.service.weather_before import known_then
from forecaster.service.wiring import farm_day, paddock_called

if TYPE_CHECKING:
    from forecaster.domain.record.job import Job
    from forecaster.domain.record.log import Entry
    from forecaster.domain.spraying.hours import Judgement
    from forecaster.service.farm_day import FarmDay
    from forecaster.settings.farm import Farm

FOR = {Step.SPRAY, Step.LOOK_AT_GATE, Step.DONE, Step.CANNOT_TELL}
"""Next steps a spray does not go against."""
NO_FORECAST = "no forecast stands beside it"
MOST_REASONS = 6
"""Kept in words; a day of hold hours has few that differ."""


def around(
    farm: Farm, job: Job, clock_now: np.datetime64
) -> tuple[Around, tuple[str, ...]]:
    """The blocks beside a job, and what is to be said of those that are not there.

    No service is asked. The forecast is the newest that had come by the start; hours
    the program came to know later are no forecast and are left out.
    """
    observed, told = observed_in(farm, job, clock_now)
    try:
        day, _ = farm_day(farm.folder, f"{job.start}Z", None, offline=True)
        forecast, against = _forecast(day, job)
        then = known_then(day) if forecast is None else None
        if then is not None:
            forecast, against = _forecast(then, job)
    except ForecasterError as error:
        return Around(None, observed), (*told, f"{NO_FORECAST}: {error}")
    if forecast is None:
        told = (
            *told,
            f"{NO_FORECAST}: none is kept from before the start",
        )
    return Around(forecast, observed, against), told


def around_again(
    farm: Farm, job: Job, old: Entry, clock_now: np.datetime64
) -> tuple[Around, tuple[str, ...]]:
    """The blocks beside a corrected job, and what is to be said of them.

    A forecast that stands in the record and is not kept any more elsewhere stays, and
    what it held against the spray with it: no correction makes it forgotten. Hours that
    were observed since come in.
    """
    before = old.job
    if (job.start, job.finish) == (before.start, before.finish) and _same_spray(
        job, before
    ):
        seen, _ = observed_in(farm, job, clock_now)
        return replace(old.around, observed=_fuller(old.around.observed, seen)), ()
    new, told = around(farm, job, clock_now)
    if new.forecast is None and old.around.forecast and _same_spray(job, before):
        kept = Around(old.around.forecast, new.observed, old.around.against)
        rest = (each for each in told if not each.startswith(NO_FORECAST))
        return kept, (*rest, "the forecast that stood beside it before stays")
    return new, told


def _same_spray(one: Job, other: Job) -> bool:
    return (one.paddock, one.active) == (other.paddock, other.active)


def _fuller(one: Beside | None, other: Beside | None) -> Beside | None:
    if one is None or other is None:
        return other if one is None else one
    return other if len(other.hours) > len(one.hours) else one


def _forecast(day: FarmDay, job: Job) -> tuple[Beside | None, tuple[str, ...]]:
    frame, air = day.weather.frame, day.air.air
    issued = frame.provenance.issued
    known = air.frame.origin == Origin.FORECAST
    rows = np.flatnonzero(inside(air.frame.time, job) & known)
    later = LATER_WARNING in day.weather.warnings or not issued <= job.start
    if later or not rows.size:
        return None, ()
    paddock = paddock_called(day.farm, job.paddock)
    active = day.farm.actives[job.active]
    judgement = judge_paddock(day.farm, day.air, paddock, active, paddock.target)
    called = dict(zip(judgement.time.tolist(), judgement.verdict.tolist(), strict=True))
    hours = tuple(
        hour_of(air, int(row), _word(called.get(air.frame.time[row].item())))
        for row in rows
    )
    against = _held(judgement, job, LocalClock(day.farm.place.zone))
    step = next(
        (
            each.step
            for each in paddock_outlook(day, paddock).actives
            if each.active in (active.id, active.name)
        ),
        None,
    )
    if step is not None and step not in FOR:
        against = (*against, f"the next step was: {step.value}")
    return Beside(frame.provenance.source, issued, hours), against


def _held(judgement: Judgement, job: Job, clock: LocalClock) -> tuple[str, ...]:
    """The hours of the job that were called hold, one for each reason."""
    held = np.flatnonzero(
        inside(judgement.time, job) & (judgement.verdict == Verdict.HOLD)
    )
    found: dict[str, str] = {}
    for row in held.tolist():
        why = judgement.binding_reason(row)
        hour = clock.hour(judgement.time[row])
        found.setdefault(why.limit.id, f"hold {hour}: {reason_words(why)}")
    return tuple(found.values())[:MOST_REASONS]


def _word(verdict: int | None) -> str:
    return "" if verdict is None else VERDICT_WORDS[Verdict(verdict)]
