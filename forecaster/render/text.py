"""The weekly outlook as text: 80 columns, readable without colour and when piped."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import TYPE_CHECKING

from forecaster.domain.planning.next_step import Step
from forecaster.render import entries, head_words, words
from forecaster.render.after_words import next_words
from forecaster.render.words import LocalClock

if TYPE_CHECKING:
    from forecaster.domain.outlook import (
        ActiveOutlook,
        Outlook,
        PaddockOutlook,
    )
    from forecaster.domain.rig.rig_plan import RigPlan

LABEL = 14
"""Columns of the left-hand words of a paddock."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line and whether it is a heading."""

    text: str
    heading: bool = False


def render(outlook: Outlook, plan: RigPlan | None = None) -> str:
    """The outlook as plain text, with the order of a rig where there is one."""
    return "\n".join(line.text for line in lines(outlook, plan)) + "\n"


def lines(outlook: Outlook, plan: RigPlan | None = None) -> list[Line]:
    """The outlook line by line."""
    clock = LocalClock(outlook.place.zone)
    found = _head(outlook, clock)
    found += [Line(""), Line("In short", heading=True), *_short(outlook, clock)]
    if plan is not None:
        found += _plan(plan)
    for paddock in outlook.paddocks:
        found += [Line(""), *paddock_lines(paddock, clock)]
    found += [Line(""), Line("Behind this", heading=True), *_behind(outlook)]
    found += [Line(""), Line("Read this too", heading=True)]
    for caution in outlook.cautions:
        found += _bullet(caution)
    return found


def _head(outlook: Outlook, clock: LocalClock) -> list[Line]:
    found = []
    invented = outlook.weather.invented
    if banner := head_words.banner(demo=outlook.demo, invented=invented):
        found += _wrapped(banner)
    found.append(Line(head_words.title(outlook, clock), heading=True))
    found += _wrapped(f"Printed for {clock.full(outlook.now)}.")
    found += _wrapped(head_words.weather(outlook, clock))
    found += _wrapped(head_words.season_break(outlook))
    for warning in outlook.weather.warnings:
        found += _bullet(warning)
    return found


def _plan(plan: RigPlan) -> list[Line]:
    from forecaster.render import rig_parts

    found = []
    for part in rig_parts.brief(plan):
        found += [Line(""), Line(f"The rig: {part.title.lower()}", heading=True)]
        found += [line for each in part.said for line in _bullet(each)]
    return found


def _behind(outlook: Outlook) -> list[Line]:
    """The farm's own choices and the weather in detail."""
    return [line for said in head_words.behind(outlook) for line in _bullet(said)]


def _short(outlook: Outlook, clock: LocalClock) -> list[Line]:
    rows = []
    for paddock in outlook.paddocks:
        if paddock.fault is not None:
            rows.append((2, f"{_cut(paddock.name, 15)} unknown: {paddock.fault}"))
        rows += [
            (entries.URGENCY[active.status], _short_row(paddock, active, clock))
            for active in paddock.actives
            if active.step is not Step.DOES_NOT_CONTROL
        ]
    head = f"{'paddock':15} {'weed':15} {'active':10} {'status':12} next"
    body = [Line(row[: words.WIDTH]) for _, row in sorted(rows, key=lambda row: row[0])]
    return [Line(head), *body]


def _short_row(
    paddock: PaddockOutlook, active: ActiveOutlook, clock: LocalClock
) -> str:
    block = active.step_block
    when = (
        f"{clock.local(block.start):%a %H:%M}-{clock.local(block.end):%H:%M}"
        if block
        else ""
    )
    step = {
        Step.SPRAY: f"good {when}",
        Step.LOOK_AT_GATE: f"look {when}",
    }.get(active.step, active.step.value)
    if active.step is Step.DONE and paddock.after is not None:
        step = next_words(paddock.after)[0].lower()
    return (
        f"{_cut(paddock.name, 15)} {_cut(paddock.weed_name, 15)} "
        f"{_cut(active.active, 10)} {active.status.value:12} {step}"
    )


def _cut(text: str, width: int) -> str:
    return f"{text[: width - 1]}…" if len(text) > width else f"{text:{width}}"


def paddock_lines(paddock: PaddockOutlook, clock: LocalClock) -> list[Line]:
    """One paddock of the outlook, line by line."""
    found = [Line(each.text, heading=True) for each in _wrapped(entries.title(paddock))]
    told = entries.paddock_entries(paddock, clock)
    for active in paddock.actives:
        told += entries.active_entries(
            active, clock, entries.counted_on(paddock, clock)
        )
    for label, said in told:
        found += _entry(label, said)
    return found


def _entry(label: str, text: str) -> list[Line]:
    body = textwrap.wrap(text, words.WIDTH - LABEL, break_long_words=True) or [""]
    head = f"  {_cut(label, LABEL - 3)} "
    return [
        Line(f"{head if i == 0 else ' ' * LABEL}{part}") for i, part in enumerate(body)
    ]


def _wrapped(text: str) -> list[Line]:
    return [Line(part) for part in words.wrapped(text)]


def _bullet(text: str) -> list[Line]:
    return [Line(part) for part in words.bullet(text)]
