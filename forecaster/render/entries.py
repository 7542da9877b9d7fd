"""What is said of one paddock: labels and sentences, for every kind of page."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from forecaster.domain.planned import stands_against
from forecaster.domain.planning.next_step import Step
from forecaster.domain.planning.windows import Status
from forecaster.domain.spraying.hours import Why
from forecaster.domain.spraying.limits import Quantity
from forecaster.render import stock_text, words
from forecaster.render.after_words import in_full
from forecaster.render.effect_words import effect_words
from forecaster.render.look_text import look_words, uneven_words

if TYPE_CHECKING:
    from forecaster.domain.outlook import (
        ActiveOutlook,
        Bar,
        BlockView,
        NearView,
        PaddockOutlook,
    )
    from forecaster.render.words import LocalClock

MOST_RUNS = 6
"""Runs shown of each kind; the rest are counted."""
MOST_BARS = 4

URGENCY = {
    Status.CLOSING: 0,
    Status.OPEN: 1,
    Status.UNKNOWN: 2,
    Status.OPENING_SOON: 3,
    Status.NOT_OPEN: 4,
    Status.CLOSED: 5,
    Status.SPRAYED: 6,
}
"""What stands first on a page that sorts by it."""

Entry = tuple[str, str]
"""A label and what it says; an empty label goes on with the one before."""


def title(paddock: PaddockOutlook) -> str:
    """The paddock, its area and its weeds."""
    others = f", also {', '.join(paddock.other_weeds)}" if paddock.other_weeds else ""
    return f"{paddock.name}, {paddock.hectares:.0f} ha: {paddock.weed_name}{others}"


def paddock_entries(paddock: PaddockOutlook, clock: LocalClock) -> list[Entry]:
    """What is said of the paddock as a whole; of a faulty one, its fault alone."""
    if paddock.fault is not None:
        return _one("UNKNOWN", paddock.fault)
    found: list[Entry] = []
    if paddock.note:
        found += _one("note", paddock.note)
    if paddock.warning:
        found += _one("WARNING", paddock.warning)
    found += _stage(paddock, clock)
    if paddock.look is not None:
        found += _one("looked", look_words(paddock.look, paddock.weed_name, clock))
    if paddock.uneven is not None:
        found += _one("UNEVEN", uneven_words(paddock.uneven))
    if paddock.after is not None:
        found += _one("after", in_full(paddock.after, clock))
    if paddock.stock is not None:
        for label, said in stock_text.entries(paddock.stock):
            found += _one(label, said)
    if paddock.near:
        found += _one(
            "care for",
            "; ".join(f"{near.name} {_where(near)}" for near in paddock.near),
        )
    return found


def counted_on(paddock: PaddockOutlook, clock: LocalClock) -> str:
    """The day of a look so recent that its heads still stand; else empty."""
    look = paddock.look
    return clock.day(look.moment) if look is not None and look.recent else ""


def _where(near: NearView) -> str:
    """``70 m E``, or that the paddock lies in it or touches it."""
    if math.isnan(near.bearing):
        return "inside or touching"
    return f"{near.distance:.0f} m {words.side(near.bearing)}"


def _stage(paddock: PaddockOutlook, clock: LocalClock) -> list[Entry]:
    stage = paddock.stage
    if stage is None:
        return _one("heads", "unknown: the season's warmth or its break is not known")
    early, likely, late = stage.words
    spread = "" if early == late else f" (range: {early} to {late})"
    patchy = "; late break: heads will come unevenly" if stage.patchy else ""
    look = paddock.look
    by = "the model" if look is None else f"the look of {clock.day(look.moment)}"
    return _one(
        "heads",
        f"by {by}: {likely}{spread}; half out "
        f"{words.likely_range(stage.half_headed, clock)}{patchy}",
    )


def active_entries(
    active: ActiveOutlook, clock: LocalClock, counted: str = ""
) -> list[Entry]:
    """What is said of one active; ``counted`` is the day of a recent look."""
    if active.step is Step.DOES_NOT_CONTROL:
        return _one(active.active, active.step.value)
    found = _one(active.active, _standing(active, clock))
    if active.status not in {Status.CLOSED, Status.SPRAYED}:
        found += _hours(active, clock)
        found += _bars(active)
        if active.effect is not None:
            told = effect_words(active.effect, active.step_block, clock)
            found += _one("effect", told)
    return found + _one("next", next_words(active, clock, counted))


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
        text += f"closes in {days_to_close(active)}; "
    return text + f"open now {words.in_ten(active.chance_open_now)}"


def days_to_close(active: ActiveOutlook) -> str:
    """``5 days (2 to 8)`` until its window closes; it must have one."""
    assert active.days_to_close is not None  # noqa: S101 - the caller has a window
    days = active.days_to_close
    likely, early, late = (
        "?" if each is None else f"{max(each, 0):.0f}"
        for each in (days.likely, days.early, days.late)
    )
    return f"{likely} days ({early} to {late})"


def _runs(
    label: str, runs: tuple[BlockView, ...], clock: LocalClock, *, reasons: bool
) -> list[Entry]:
    if not runs:
        return _one(label, "none this week")
    shown = runs[:MOST_RUNS]
    found: list[Entry] = []
    for number, run in enumerate(shown):
        text = f"{clock.span(run.start, run.end)}  {_air(run)}"
        text += _why(run) if reasons else _holds(run)
        firm = words.firmness(run.lead_days)
        text += "" if firm == "firm" else f"; {firm}"
        text += "" if run.in_window else "; outside the likely window"
        found += _one(label if number == 0 else "", text)
    if len(runs) > len(shown):
        found += _one("", f"and {len(runs) - len(shown)} more")
    return found


def _hours(active: ActiveOutlook, clock: LocalClock) -> list[Entry]:
    """Hours are named only where somebody may spray in them."""
    if stands_against(active):
        return _one(
            "good hours",
            "none to spray in: the next step is against it. 'forecaster hours' shows "
            "the air of the week",
        )
    return _runs("good hours", active.blocks, clock, reasons=False) + _runs(
        "look first", active.look_first, clock, reasons=True
    )


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


def _bars(active: ActiveOutlook) -> list[Entry]:
    if not active.bars:
        return []
    shown = active.bars[:MOST_BARS]
    text = "; ".join(_bar(bar) for bar in shown)
    rest = sum(bar.hours for bar in active.bars[MOST_BARS:])
    text += f"; other reasons {rest} h" if rest else ""
    return _one("barred", f"of {active.hours} h of daylight: {text}")


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
        Step.DONE: "nothing to spray: see 'after' above, and your label",
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
        Step.LEAVE: against_words(active),
        Step.COUNT_HEADS: f"count heads now and again in a few days; opens {opening}",
        Step.SPRAY: f"{_count(counted)}; {when}; check wind and smoke there"
        if counted
        else f"count heads; if they agree, {when}; check wind and smoke there",
        Step.LOOK_AT_GATE: f"{_count(counted)}; {when} only after a look at the gate",
        Step.NO_HOURS: "no fit hours inside the likely window this week; look daily",
    }[active.step]


def against_words(active: ActiveOutlook) -> str:
    """``do not spray: not this paddock … (row 6 of the choice)``."""
    found = active.against
    if found is None:
        return ""
    return f"do not spray: {found.advice} (row {found.row} of 'forecaster advise')"


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


def _one(label: str, text: str) -> list[Entry]:
    return [(label, text)]
