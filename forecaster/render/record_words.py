"""Records in words: the blocks of a job, what is missing, and what comes after."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.planning.withholding import LabelSays
from forecaster.domain.record.fields import (
    FIELDS,
    OTHER_LABELS,
    WIND_AT_START,
    Block,
    label_of,
)
from forecaster.domain.record.needed import HOUR, NOT_FOUND, Rank
from forecaster.render import words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.domain.record.job import Job, Tank
    from forecaster.domain.record.log import Beside, Entry, SeenHour
    from forecaster.domain.record.needed import StateRules
    from forecaster.domain.record.view import RecordView
    from forecaster.domain.sourced import Sourced
    from forecaster.render.words import LocalClock

    Line = tuple[str, str]

NO_STATE = (
    "The farm's state is not known from its zone: type state in [farm] of farm.toml. "
    "What a record must hold was not looked up"
)
FORECAST_HEAD = "Forecast for these hours, from before the start"
OBSERVED_HEAD = "Observed in these hours"
SITE_HEAD = "Read on site"
JOB_HEAD = "The job"
NOTHING = "nothing recorded"
CLOSES_NOT = (
    "it closes no stage window: its stage is before heads, or is not told and the "
    "spray came before August (assumed)"
)


class ChangingClock(words.LocalClock):
    """Names its offset with every hour: in that night 2:30 may come twice."""

    def hour(self, moment: np.datetime64) -> str:
        """``Sun 5 Apr 2026 02:30 AEDT``."""
        return self.full(moment)

    def span(self, start: np.datetime64, end: np.datetime64) -> str:
        """Both in full."""
        return f"{self.full(start)} - {self.full(end)}"


def within(job: Job, clock: LocalClock) -> LocalClock:
    """The clock for hours inside a job."""
    offsets = {clock.local(each).utcoffset() for each in (job.start, job.finish)}
    return clock if len(offsets) == 1 else ChangingClock(clock.zone)


def job_lines(job: Job, clock: LocalClock) -> list[Line]:
    """What was done: label and value, only what was told."""
    lines = [
        (OTHER_LABELS["paddock"], job.paddock),
        (OTHER_LABELS["active"], job.active),
        (OTHER_LABELS["start"], clock.full(job.start)),
        (OTHER_LABELS["finish"], clock.full(job.finish)),
        *_plain(job, Block.JOB),
    ]
    held = withholding_words(job)
    if held:
        lines.append((OTHER_LABELS["withholding"], held))
    clock = within(job, clock)
    lines += [(f"Tank {n}", tank_words(t, clock)) for n, t in enumerate(job.tanks, 1)]
    return lines


def site_lines(job: Job, clock: LocalClock) -> list[Line]:
    """What was read at the site."""
    lines = [] if job.wind is None else [(WIND_AT_START, job.wind.typed)]
    clock = within(job, clock)
    lines += [(f"Wind from {clock.hour(c.at)}", c.wind.typed) for c in job.changes]
    return [*lines, *_plain(job, Block.ON_SITE)]


def _plain(job: Job, block: Block) -> Iterator[Line]:
    for each in FIELDS:
        said = job.said.get(each.name)
        if each.block is block and said:
            yield each.label, f"{said} {each.unit}" if each.unit else said


def withholding_words(job: Job) -> str:
    """Days as typed; empty where nothing was."""
    held = job.withholding
    if held.says is LabelSays.DAYS and held.days is not None:
        return words.count(held.days, "day")
    return "not on label" if held.says is LabelSays.NONE else ""


def tank_words(tank: Tank, clock: LocalClock) -> str:
    """``Wed 14 Oct 12:00-13:10, 25 ha, 1500 L``."""
    parts = [clock.span(tank.start, tank.finish)]
    if not math.isnan(tank.hectares):
        parts.append(f"{tank.hectares:g} ha")
    if not math.isnan(tank.litres):
        parts.append(f"{tank.litres:g} L")
    return ", ".join(parts)


def beside_lines(beside: Beside, job: Job, clock: LocalClock) -> list[str]:
    """One line for each hour, the source first."""
    issued = "" if np.isnat(beside.issued) else f", issued {clock.full(beside.issued)}"
    clock = within(job, clock)
    return [
        f"{beside.source}{issued}",
        *(f"{clock.hour(hour.time)}  {hour_words(hour)}" for hour in beside.hours),
    ]


def hour_words(hour: SeenHour) -> str:
    """The air of an hour; what is not known is called unknown."""
    parts = [
        f"wind {_number(hour.wind_speed * 3.6, '.0f')} km/h from {_side(hour)}",
        f"air {_number(hour.temperature, '.1f')} °C",
        f"humidity {_number(hour.humidity, '.0f')} %",
        f"Delta T {_number(hour.delta_t, '.1f')}",
        f"rain {_number(hour.rain, '.1f')} mm",
    ]
    verdict = [f"called {hour.verdict}"] if hour.verdict else []
    return ", ".join([*parts, *verdict])


def _number(value: float, form: str) -> str:
    return "unknown" if math.isnan(value) else format(value, form)


def _side(hour: SeenHour) -> str:
    return "unknown" if math.isnan(hour.wind_from) else words.side(hour.wind_from)


def missing_words(
    view: RecordView, rules: StateRules | None, clock: LocalClock
) -> list[str]:
    """What is missing, the law's first, and the hours left; and what of an override."""
    lines = [
        f"missing: {label_of(name)} ({name})" for name in view.record.now.unexplained
    ]
    if rules is None:
        return [*lines, NO_STATE]
    return [*lines, *_lacking(view, rules), deadline_words(view, rules, clock)]


def _lacking(view: RecordView, rules: StateRules) -> list[str]:
    """One line for each source that wants fields."""
    found: dict[str, list[str]] = {}
    for each in view.missing:
        when = f", {each.when}" if each.when else ""
        legal = each.rank is Rank.LAW
        who = f"by the law of {rules.state}" if legal else "by advice"
        head = f"missing {who}{when} ({each.source}, {each.page}; {each.mark})"
        found.setdefault(head, []).append(label_of(each.name))
    unknown = not any(each.rank is Rank.LAW for each in rules.needed)
    law = f"what the law of {rules.state} wants in a record: {NOT_FOUND}"
    lines = [f"{head}: {'; '.join(labels)}" for head, labels in found.items()]
    return [law, *lines] if unknown else lines


def deadline_words(view: RecordView, rules: StateRules, clock: LocalClock) -> str:
    """Whether the legal deadline was kept or what is left, and how long to keep it."""
    limit, left = rules.deadline, view.hours_left
    if limit is None or left is None:
        told = f"deadline in {rules.state}: {NOT_FOUND}"
    elif view.whole is not None:
        took = _from_finish(view.whole, view.record.now.job.finish)
        kept_to = view.whole <= _deadline(view, limit)
        told = (
            f"all that the law of {rules.state} lists was recorded "
            f"{clock.full(view.whole)}, {took}: "
            f"{'within' if kept_to else 'later than'} the {limit.value:g} h of its "
            f"deadline ({limit.source}; {limit.mark})"
        )
    elif left < 0:
        told = (
            f"deadline of {rules.state} passed {hours_words(-left)} ago "
            f"({limit.value:g} h after the finish)"
        )
    else:
        told = (
            f"{hours_words(left)} left to the deadline of {rules.state} "
            f"({limit.value:g} h after the finish; {limit.source}; {limit.mark})"
        )
    keep = rules.keep
    kept = NOT_FOUND if keep is None else f"{keep.value:g} years ({keep.source})"
    return f"{told}; keep it: {kept}"


def recorded_words(entry: Entry, finish: np.datetime64, clock: LocalClock) -> str:
    """Who wrote an entry, and how long after the finish as it now stands."""
    return (
        f"First recorded {clock.full(entry.recorded)} by {entry.author}, "
        f"{_from_finish(entry.recorded, finish)}; hash {entry.hash}"
    )


def _deadline(view: RecordView, limit: Sourced) -> np.datetime64:
    wait = np.timedelta64(round(limit.value * 3600), "s")
    end: np.datetime64 = view.record.now.job.finish + wait
    return end


def _from_finish(moment: np.datetime64, finish: np.datetime64) -> str:
    """``2 h after the finish``; before it where the finish was corrected since."""
    hours = float((moment - finish) / HOUR)
    return f"{hours_words(abs(hours))} {'before' if hours < 0 else 'after'} the finish"


def hours_words(hours: float) -> str:
    """``46 h``, whole hours only; never ``0 h`` while minutes count."""
    return f"{math.floor(hours)} h" if hours >= 1 else "less than 1 h"


def after_words(view: RecordView, clock: LocalClock) -> list[str]:
    """When stock may come in, when to look again, and how long the feed holds."""
    entry = view.re_entry
    if entry is None:
        stock = "stock: read the label; no withholding days were typed for this job"
    else:
        stock = (
            f"stock not before {_day(entry.day)} "
            f"({withholding_words(view.record.now.job)} as typed from the label, over "
            f"{clock.full(entry.ends)})"
        )
    if not view.closes:
        return [stock, CLOSES_NOT]
    first, last = view.second_look
    worse, gone = view.held
    held = (
        f"feed keeps its quality to between {_day(worse)} and {_day(gone)} (assumed), "
        "less after a soaking: see 'forecaster graze'"
    )
    return [
        stock,
        f"look again {_day(first)} to {_day(last)} (common practice, no source)",
        held,
    ]


def _day(day: np.datetime64) -> str:
    date = words.calendar_day(day)
    return f"{date:%a} {date.day} {date:%b}"
