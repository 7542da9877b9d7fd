"""The weekly outlook as text: 80 columns, readable without colour and when piped."""

from __future__ import annotations

import math
import textwrap
from dataclasses import dataclass
from typing import TYPE_CHECKING

from forecaster.domain.planning.next_step import Step
from forecaster.domain.planning.windows import Status
from forecaster.domain.spraying.hours import Why
from forecaster.domain.spraying.limits import Quantity
from forecaster.render import stock_text, words
from forecaster.render.effect_words import effect_words
from forecaster.render.look_text import look_words, uneven_words
from forecaster.render.words import LocalClock

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.outlook import (
        ActiveOutlook,
        Bar,
        BlockView,
        NearView,
        Outlook,
        PaddockOutlook,
    )

LABEL = 14
"""Columns of the left-hand words of a paddock."""
MOST_RUNS = 6
"""Runs shown of each kind; the rest are counted."""
MOST_BARS = 4


@dataclass(frozen=True, slots=True)
class Line:
    """One line and whether it is a heading."""

    text: str
    heading: bool = False


def render(outlook: Outlook) -> str:
    """The outlook as plain text."""
    return "\n".join(line.text for line in lines(outlook)) + "\n"


def lines(outlook: Outlook) -> list[Line]:
    """The outlook line by line."""
    clock = LocalClock(outlook.place.zone)
    found = _head(outlook, clock)
    found += [Line(""), Line("In short", heading=True), *_short(outlook, clock)]
    for paddock in outlook.paddocks:
        found += [Line(""), *paddock_lines(paddock, clock)]
    found += [Line(""), Line("Behind this", heading=True), *_behind(outlook)]
    found += [Line(""), Line("Read this too", heading=True)]
    for caution in outlook.cautions:
        found += _bullet(caution)
    return found


def _head(outlook: Outlook, clock: LocalClock) -> list[Line]:
    weather = outlook.weather
    found = []
    if outlook.demo and not weather.invented:
        found += _wrapped(
            "DEMO FARM: its paddocks, people and labels are invented; the weather is "
            "that of another place."
        )
    elif outlook.demo:
        found += _wrapped(
            "DEMO FARM: its paddocks, people, labels and weather are invented, and it "
            "is shown at its own date."
        )
    elif weather.invented:
        found += _wrapped(
            "INVENTED WEATHER: the demo's, not your own. Do not spray by it."
        )
    found.append(
        Line(
            f"{outlook.farm}: spray outlook to {clock.hour(outlook.until)}",
            heading=True,
        )
    )
    found += _wrapped(f"Printed for {clock.full(outlook.now)}.")
    found += _wrapped(
        f"Weather: {weather.source}, newest {clock.hour(weather.issued)}, "
        f"{weather.age_hours:.0f} h old ({weather.licence}); wind at 10 m; season on "
        f"{weather.traces} {'trace' if weather.traces == 1 else 'traces'}."
    )
    broke = outlook.season_break
    when = "not known" if broke is None else clock_date(broke)
    found += _wrapped(f"Break of season: {when}, {outlook.season_break_how}.")
    for warning in weather.warnings:
        found += _bullet(warning)
    return found


def _behind(outlook: Outlook) -> list[Line]:
    """The farm's own choices and the weather in detail."""
    found: list[Line] = []
    for choice in outlook.own_choices:
        does = "holds at" if choice.holds else "set to"
        found += _bullet(
            f"{choice.limit} {does} {choice.stated.value:g} {choice.stated.unit}: "
            f"{choice.stated.source}"
        )
    for note in outlook.weather.notes:
        found += _bullet(note)
    return found


def clock_date(day: np.datetime64) -> str:
    """A calendar date, no clock: ``3 May 2026``."""
    date = day.astype("datetime64[D]").item()
    return f"{date.day} {date:%B %Y}"


_URGENCY = {
    Status.CLOSING: 0,
    Status.OPEN: 1,
    Status.UNKNOWN: 2,
    Status.OPENING_SOON: 3,
    Status.NOT_OPEN: 4,
    Status.CLOSED: 5,
    Status.SPRAYED: 6,
}


def _short(outlook: Outlook, clock: LocalClock) -> list[Line]:
    rows = []
    for paddock in outlook.paddocks:
        if paddock.fault is not None:
            rows.append((2, f"{_cut(paddock.name, 15)} unknown: {paddock.fault}"))
        rows += [
            (_URGENCY[active.status], _short_row(paddock, active, clock))
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
    return (
        f"{_cut(paddock.name, 15)} {_cut(paddock.weed_name, 15)} "
        f"{_cut(active.active, 10)} {active.status.value:12} {step}"
    )


def _cut(text: str, width: int) -> str:
    return f"{text[: width - 1]}…" if len(text) > width else f"{text:{width}}"


def paddock_lines(paddock: PaddockOutlook, clock: LocalClock) -> list[Line]:
    """One paddock of the outlook, line by line."""
    others = f", also {', '.join(paddock.other_weeds)}" if paddock.other_weeds else ""
    title = f"{paddock.name}, {paddock.hectares:.0f} ha: {paddock.weed_name}{others}"
    found = [Line(each.text, heading=True) for each in _wrapped(title)]
    if paddock.fault is not None:
        return [*found, *_entry("UNKNOWN", paddock.fault)]
    if paddock.note:
        found += _entry("note", paddock.note)
    if paddock.warning:
        found += _entry("WARNING", paddock.warning)
    found += _stage(paddock, clock)
    if paddock.look is not None:
        found += _entry("looked", look_words(paddock.look, paddock.weed_name, clock))
    if paddock.uneven is not None:
        found += _entry("UNEVEN", uneven_words(paddock.uneven))
    if paddock.stock is not None:
        for label, said in stock_text.entries(paddock.stock):
            found += _entry(label, said)
    if paddock.near:
        found += _entry(
            "care for",
            "; ".join(f"{near.name} {_where(near)}" for near in paddock.near),
        )
    look = paddock.look
    counted = clock.day(look.moment) if look is not None and look.recent else ""
    for active in paddock.actives:
        found += _active(active, clock, counted)
    return found


def _where(near: NearView) -> str:
    """``70 m E``, or that the paddock lies in it or touches it."""
    if math.isnan(near.bearing):
        return "inside or touching"
    return f"{near.distance:.0f} m {words.side(near.bearing)}"


def _stage(paddock: PaddockOutlook, clock: LocalClock) -> list[Line]:
    stage = paddock.stage
    if stage is None:
        return _entry("heads", "unknown: the season's warmth or its break is not known")
    early, likely, late = stage.words
    spread = "" if early == late else f" (range: {early} to {late})"
    patchy = "; late break: heads will come unevenly" if stage.patchy else ""
    look = paddock.look
    by = "the model" if look is None else f"the look of {clock.day(look.moment)}"
    return _entry(
        "heads",
        f"by {by}: {likely}{spread}; half out "
        f"{words.likely_range(stage.half_headed, clock)}{patchy}",
    )


def _active(active: ActiveOutlook, clock: LocalClock, counted: str = "") -> list[Line]:
    if active.step is Step.DOES_NOT_CONTROL:
        return _entry(active.active, active.step.value)
    found = _entry(active.active, _standing(active, clock))
    if active.status not in {Status.CLOSED, Status.SPRAYED}:
        found += _runs("good hours", active.blocks, clock, reasons=False)
        found += _runs("look first", active.look_first, clock, reasons=True)
        found += _bars(active)
        if active.effect is not None:
            told = effect_words(active.effect, active.step_block, clock)
            found += _entry("effect", told)
    return found + _entry("next", next_words(active, clock, counted))


def _standing(active: ActiveOutlook, clock: LocalClock) -> str:
    if active.window is None or active.days_to_close is None:
        return active.status.value
    window = active.window
    text = (
        f"{active.status.value.upper()}; "
        f"window {words.likely_range(window.open, clock)} until "
        f"{words.likely_range(window.closed, clock)}; "
    )
    if active.status in {Status.OPEN, Status.CLOSING}:
        text += f"closes in {_days(active)}; "
    return text + f"open now {words.in_ten(active.chance_open_now)}"


def _days(active: ActiveOutlook) -> str:
    assert active.days_to_close is not None  # noqa: S101 - the caller has a window
    days = active.days_to_close
    likely, early, late = (
        "?" if each is None else f"{max(each, 0):.0f}"
        for each in (days.likely, days.early, days.late)
    )
    return f"{likely} days ({early} to {late})"


def _runs(
    label: str, runs: tuple[BlockView, ...], clock: LocalClock, *, reasons: bool
) -> list[Line]:
    if not runs:
        return _entry(label, "none this week")
    shown = runs[:MOST_RUNS]
    found: list[Line] = []
    for number, run in enumerate(shown):
        text = f"{clock.span(run.start, run.end)}  {_air(run)}"
        text += _why(run) if reasons else _holds(run)
        firm = words.firmness(run.lead_days)
        text += "" if firm == "firm" else f"; {firm}"
        text += "" if run.in_window else "; outside the likely window"
        found += _entry(label if number == 0 else "", text)
    if len(runs) > len(shown):
        found += _entry("", f"and {len(runs) - len(shown)} more")
    return found


def _air(run: BlockView) -> str:
    return (
        f"{words.side(run.wind_from)} {words.kmh_span(run.wind_speed)} km/h, Delta T "
        f"{words.number_span(run.delta_t)}"
    )


def _why(run: BlockView) -> str:
    return f"; {words.reasons_words(run.reasons)}"


def _holds(run: BlockView) -> str:
    return f"; holds {words.in_ten(run.chance)}{_ends(run)}"


def _ends(run: BlockView) -> str:
    return f"; then {words.reason_words(run.after)}" if run.after else ""


def _bars(active: ActiveOutlook) -> list[Line]:
    if not active.bars:
        return []
    shown = active.bars[:MOST_BARS]
    text = "; ".join(_bar(bar) for bar in shown)
    rest = sum(bar.hours for bar in active.bars[MOST_BARS:])
    text += f"; other reasons {rest} h" if rest else ""
    return _entry("barred", f"of {active.hours} h of daylight: {text}")


def _bar(bar: Bar) -> str:
    verdict = words.VERDICT_WORDS[bar.verdict]
    name = bar.limit.words
    if bar.why is Why.MISSING:
        name = f"{name} not known"
    elif bar.why is Why.UNCONFIRMED:
        name = f"{name} not confirmed from a label"
    elif bar.limit.quantity is Quantity.INVERSION_RISK:
        name = "inversion risk"
    return f"{bar.hours} h {name} ({verdict})"


def next_words(active: ActiveOutlook, clock: LocalClock, counted: str = "") -> str:
    """What to do next, in a sentence; ``counted`` is the day of a recent look."""
    block = active.step_block
    when = clock.span(block.start, block.end) if block else ""
    opens = active.window.open if active.window else None
    opening = words.likely_range(opens, clock) if opens else "unknown"
    return {
        Step.DOES_NOT_CONTROL: "nothing: it does not control this weed",
        Step.DONE: "nothing: sprayed; keep the withholding period of the label",
        Step.CANNOT_TELL: "go and count heads: the model cannot tell",
        Step.TOO_LATE: _too_late(active),
        Step.WAIT: f"wait; opens {opening}",
        Step.TYPE_LABEL: (
            "read your label and type its numbers in the farm file; until then no hour "
            "can be good"
        ),
        Step.NOT_ON_LABEL: (
            "this weed is not among those you typed from the label; do not spray it"
        ),
        Step.SURVEY: (
            "say what lies around this paddock (map, [[sensitive]] or nothing_near)"
        ),
        Step.UNEVEN: "do not spray on the mean; see UNEVEN above for what is left",
        Step.COUNT_HEADS: f"count heads now and again in a few days; opens {opening}",
        Step.SPRAY: f"{_count(counted)}; {when}; check wind and smoke there"
        if counted
        else f"count heads; if they agree, {when}; check wind and smoke there",
        Step.LOOK_AT_GATE: f"{_count(counted)}; {when} only after a look at the gate",
        Step.NO_HOURS: "no fit hours inside the likely window this week; look daily",
    }[active.step]


def _too_late(active: ActiveOutlook) -> str:
    if active.toxicity:
        return (
            "by the model first heads are past their ten days: go and look; keep stock "
            "out, and ask your department of agriculture or a vet before you graze"
        )
    return (
        "do not spray by the model; if heads are still soft, count them: the dates "
        "may be a week or two out"
    )


def _count(counted: str) -> str:
    return f"heads were counted on {counted}" if counted else "count heads"


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
