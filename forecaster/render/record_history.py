"""What speaks against a spray, and what corrections changed, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.domain.record.changes import changed, hours_not_judged
from forecaster.domain.record.fields import BY_NAME, WIND_AT_START, label_of
from forecaster.render import words
from forecaster.render.record_words import tank_words, withholding_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.domain.record.job import Job
    from forecaster.domain.record.log import Entry, Record
    from forecaster.render.words import LocalClock

NOT_TOLD = "not told"
LOOK_FIRST = "look first"


def against_words(entry: Entry) -> list[str]:
    """What spoke against it, who decided and why, and of which hours nobody can tell.

    Never empty: where nothing spoke against it, that is said.
    """
    lines = [f"against it: {each}" for each in entry.around.against]
    lines += _decided(entry.job)
    unknown, hours = hours_not_judged(entry.job, entry.around)
    if unknown:
        lines.append(
            f"cannot tell for {unknown} of {words.count(hours, 'hour')}: no forecast "
            "from before the start judged them"
        )
    if not entry.around.against and unknown < hours:
        lines.append(f"no hour that was judged was called hold{_looks(entry)}")
    return lines


def _looks(entry: Entry) -> str:
    forecast = entry.around.forecast
    hours = () if forecast is None else forecast.hours
    found = sum(each.verdict == LOOK_FIRST for each in hours)
    return f"; {found} of them: look first" if found else ""


def _decided(job: Job) -> Iterator[str]:
    for name, what in (("override_by", "decided by"), ("override_reason", "because")):
        said = job.said.get(name)
        if said:
            yield f"sprayed against the forecast, {what}: {said}"


def correction_words(record: Record, clock: LocalClock) -> list[str]:
    """``Corrected by entry 3, ...: Area sprayed: was 25 ha, now 24 ha``; one each."""
    pairs = zip(record.entries, record.entries[1:], strict=False)
    return [_correction(old, new, clock) for old, new in pairs]


def _correction(old: Entry, new: Entry, clock: LocalClock) -> str:
    why = f" ({new.because})" if new.because else ""
    what = [
        f"{_label(name)}: was {_value(old.job, name, clock)}, now "
        f"{_value(new.job, name, clock)}"
        for name in changed(old.job, new.job)
    ]
    gone = [each for each in old.around.against if each not in new.around.against]
    what += [f"no longer against it: {each}" for each in gone]
    return (
        f"Corrected by entry {new.number}, {clock.full(new.recorded)}, by {new.author}"
        f"{why}: {'; '.join(what) or 'nothing'}; hash {new.hash}"
    )


def _label(name: str) -> str:
    return WIND_AT_START if name == "wind_start" else label_of(name)


def _value(job: Job, name: str, clock: LocalClock) -> str:
    """One part of a job as it is printed."""
    if name in BY_NAME:
        said, unit = job.said.get(name), BY_NAME[name].unit
        return f"{said} {unit}".strip() if said else NOT_TOLD
    told = {
        "paddock": job.paddock,
        "active": job.active,
        "start": clock.full(job.start),
        "finish": clock.full(job.finish),
        "wind_start": "" if job.wind is None else job.wind.typed,
        "wind_changes": ", ".join(
            f"{clock.full(each.at)} {each.wind.typed}" for each in job.changes
        ),
        "tanks": " + ".join(tank_words(each, clock) for each in job.tanks),
        "withholding": withholding_words(job),
    }
    return told[name] or NOT_TOLD
