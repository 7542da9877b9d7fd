"""What the rows of the weekly sheet say, in as few words as it takes."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from forecaster.domain.planned import stands_against
from forecaster.domain.planning.next_step import Step
from forecaster.domain.planning.stock_off import StockStatus
from forecaster.domain.planning.windows import Status
from forecaster.render import stock_text, words
from forecaster.render.after_words import next_words, sprayed_words
from forecaster.render.entries import days_to_close

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    import numpy as np

    from forecaster.domain.outlook import ActiveOutlook, Arc, BlockView, PaddockOutlook
    from forecaster.domain.record.after_spray import AfterSpray
    from forecaster.render.words import LocalClock

MOST = 4
MOST_LOOKS = 3
"""Blocks named in a row; the rest are counted."""
PRESSING = {StockStatus.DUE, StockStatus.OVERDUE}
POINT = 22.5
"""[°] between the sixteen points of the compass."""
ROUND = 360


def hours(start: np.datetime64, end: np.datetime64, clock: LocalClock) -> str:
    """``Wed 12-18``; minutes and a second day only where there are any."""
    first, last = clock.local(start), clock.local(end)
    ends = "24" if _next_midnight(first, last) else _hour(last)
    if last.date() == first.date() or ends == "24":
        return f"{first:%a} {_hour(first)}-{ends}"
    return f"{first:%a} {_hour(first)} - {last:%a} {ends}"


def _next_midnight(first: dt.datetime, last: dt.datetime) -> bool:
    days = (last.date() - first.date()).days
    return days == 1 and last.hour == 0 and last.minute == 0


def _hour(local: dt.datetime) -> str:
    return f"{local.hour}:{local:%M}" if local.minute else f"{local.hour}"


def blocks(runs: Sequence[BlockView], clock: LocalClock, most: int = MOST) -> str:
    """``Wed 12-18, Thu 11-17*``, the first few; * is not firm yet."""
    named = []
    for run in runs[:most]:
        firm = words.firmness(run.lead_days)
        said = hours(run.start, run.end, clock)
        named.append(said if firm == "firm" else f"{said}*")
    more = len(runs) - len(named)
    return ", ".join(named) + (f", and {more} more" if more else "")


def week(active: ActiveOutlook, clock: LocalClock) -> list[tuple[str, str]]:
    """What the strip of hours shows: a label and its blocks, in order of use."""
    if active.status in {Status.CLOSED, Status.SPRAYED}:
        return []
    if stands_against(active):
        return [("good", "none to spray in: see what to do")]
    good = [run for run in active.blocks if run.in_window]
    outside = [run for run in active.blocks if not run.in_window]
    look = [run for run in active.look_first if run.in_window]
    found = [("good", blocks(good, clock) if good else "none")]
    if look:
        found.append(("look first", blocks(look, clock, MOST_LOOKS)))
    if outside:
        found.append(("too early or late", blocks(outside, clock)))
    return found


def window(active: ActiveOutlook, clock: LocalClock) -> tuple[str, str]:
    """How the window stands: what counts, and the rest."""
    view = active.window
    if active.status is Status.SPRAYED:
        return "sprayed", ""
    if view is None:
        return "unknown", ""
    if active.status in {Status.OPEN, Status.CLOSING} and active.days_to_close:
        days, _, spread = days_to_close(active).partition(" (")
        return f"closes in {days}", f"({spread}"
    if active.status is Status.CLOSED:
        return "closed", words.likely_range(view.closed, clock)
    likely, _, spread = words.likely_range(view.open, clock).partition(" (")
    return f"opens {likely}", f"({spread}"


def barred(arcs: tuple[Arc, ...] | None) -> str:
    """Sides the wind must not come from, widened to the points of the compass."""
    if arcs is None:
        return "unknown: nobody has said what lies around"
    if not arcs:
        return "no side barred"
    return "; ".join(_arc(arc) for arc in arcs)


def _arc(arc: Arc) -> str:
    first = math.floor(arc.first / POINT) * POINT
    width = (arc.last - first) % ROUND
    steps = math.ceil(width / POINT)
    if steps * POINT + POINT > ROUND or (arc.last - arc.first) % ROUND == ROUND - 1:
        return "any side"
    last = (first + steps * POINT) % ROUND
    if first == last:
        return words.side(first)
    return f"{words.side(first)} round to {words.side(last)}"


def heads(paddock: PaddockOutlook) -> str:
    """The likely stage of the heads."""
    return "stage unknown" if paddock.stage is None else paddock.stage.words[1]


def looked(paddock: PaddockOutlook, clock: LocalClock) -> str:
    """The last look, or that there was none; once it is sprayed, that it is."""
    if paddock.after is not None:
        return sprayed_words(paddock.after)
    look = paddock.look
    if look is None:
        return "nobody has looked yet: good to 10 to 14 days"
    return f"{words.count(look.heads, 'head')} counted {clock.day(look.moment)}"


def stock_off(paddock: PaddockOutlook) -> str:
    """``Stock off: OVERDUE by 2 days``, where it cannot wait; else empty."""
    off = None if paddock.stock is None else paddock.stock.off
    if off is None or off.status not in PRESSING:
        return ""
    return f"Stock off: {stock_text.status_words(off)}"


def next_step(
    active: ActiveOutlook,
    clock: LocalClock,
    counted: str,
    after: AfterSpray | None = None,
) -> tuple[str, str]:
    """What to do: the order, and what goes with it."""
    if active.step is Step.DONE and after is not None:
        return next_words(after)
    block = active.step_block
    when = clock.span(block.start, block.end) if block else ""
    agree = "" if counted else "count heads; if they agree, "
    opens = active.window.open if active.window else None
    opening = words.likely_range(opens, clock) if opens else "unknown"
    return {
        Step.DOES_NOT_CONTROL: ("Nothing", "it does not control this weed"),
        Step.DONE: ("Nothing to spray", "keep the withholding period of the label"),
        Step.CANNOT_TELL: ("Go and count heads", "the model cannot tell"),
        Step.TOO_LATE: _too_late(active),
        Step.WAIT: ("Wait", f"opens {opening}"),
        Step.TYPE_LABEL: (
            "Read your label",
            "and type its numbers in the farm file; until then no hour can be good",
        ),
        Step.NOT_ON_LABEL: (
            "Do not spray it",
            "this weed is not among those typed from the label",
        ),
        Step.SURVEY: ("Say what lies around", "in the farm file, before any hour"),
        Step.UNEVEN: ("Do not spray on the mean", "heads are uneven: see its details"),
        Step.LEAVE: (
            "Do not spray",
            active.against.advice if active.against else "see the choice",
        ),
        Step.COUNT_HEADS: ("Count heads now", f"again in a few days; opens {opening}"),
        Step.SPRAY: (f"Good {when}", f"{agree}check wind and smoke there"),
        Step.LOOK_AT_GATE: (f"Look first {when}", f"{agree}only after a look there"),
        Step.NO_HOURS: ("Look daily", "no fit hours in the likely window this week"),
    }[active.step]


def _too_late(active: ActiveOutlook) -> tuple[str, str]:
    if active.toxicity:
        return (
            "Go and look; keep stock out",
            (
                "first heads are past their ten days: ask your department of "
                "agriculture or a vet before you graze"
            ),
        )
    return "Do not spray", "by the model too late; if heads are still soft, count them"
