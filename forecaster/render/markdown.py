"""The outlook as a compact Markdown page (CommonMark, with the tables of GitHub's).

Names are escaped so that they are only text: any ASCII punctuation may be escaped with
a backslash (CommonMark 0.31, section 2.4).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.domain.planned import planned_blocks
from forecaster.domain.planning.next_step import Step
from forecaster.render import rig_parts, words
from forecaster.render.entries import URGENCY
from forecaster.render.standing import (
    barred_words,
    invented_words,
    made_words,
)
from forecaster.render.stock_text import stock_off_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from forecaster.domain.outlook import ActiveOutlook, Outlook, PaddockOutlook
    from forecaster.domain.rig.rig_plan import RigPlan
    from forecaster.render.words import LocalClock

ESCAPED = frozenset("\\`*_{}[]<>#+-=.!|&~$:@")
HEAD = ("Paddock", "Weed", "Active", "Status", "Closes", "Next good hours", "Next step")
CHECK = (
    "*Good* means fit by the numbers typed and the advice built in, not permission. "
    "Check wind and smoke at the site; the label, the law and the person on the boom "
    "decide."
)


def render(outlook: Outlook, plan: RigPlan | None = None) -> str:
    """The page, lines ended by a line feed; with the order of a rig, if any."""
    clock = words.LocalClock(outlook.place.zone)
    return "\n".join(_page(outlook, plan, clock)) + "\n"


def escape(text: str) -> str:
    """``text`` so that Markdown shows it as it is, on one line."""
    one = " ".join(text.splitlines())
    return "".join(f"\\{each}" if each in ESCAPED else each for each in one)


def row(cells: Sequence[str]) -> str:
    """One row of a table."""
    return f"| {' | '.join(cells)} |"


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> Iterator[str]:
    """The lines of a table; cells are Markdown already."""
    yield row(head)
    yield row(["---"] * len(head))
    for cells in rows:
        yield row(cells)


def _page(outlook: Outlook, plan: RigPlan | None, clock: LocalClock) -> Iterator[str]:
    yield f"# {escape(outlook.farm)}: spray outlook to {clock.hour(outlook.until)}"
    yield ""
    invented = invented_words(outlook.weather, demo=outlook.demo)
    if invented:
        yield from (f"**{invented}**", "")
    yield made_words(outlook, clock)
    yield from (f"- {escape(each)}" for each in outlook.weather.warnings)
    yield ""
    yield from table(HEAD, _summary(outlook, clock))
    yield from ("", CHECK)
    for part in () if plan is None else rig_parts.brief(plan):
        yield from ("", f"## The rig: {part.title.lower()}", "")
        yield from (f"- {escape(each)}" for each in part.said)
    for paddock in outlook.paddocks:
        yield from ("", *_paddock(paddock, clock))
    yield from ("", "## Read this too", "")
    yield from (f"- {escape(each)}" for each in outlook.cautions)


def _summary(outlook: Outlook, clock: LocalClock) -> list[list[str]]:
    rows: list[tuple[int, list[str]]] = []
    for paddock in outlook.paddocks:
        names = [escape(paddock.name), escape(paddock.weed_name)]
        if paddock.fault is not None:
            told = ["", "unknown", "", "", escape(paddock.fault)]
            rows.append((-1, [*names, *told]))
        rows += [
            (URGENCY[each.status], [*names, *_told(each, clock)])
            for each in paddock.actives
            if each.step is not Step.DOES_NOT_CONTROL
        ]
    return [cells for _, cells in sorted(rows, key=lambda each: each[0])]


def _told(active: ActiveOutlook, clock: LocalClock) -> list[str]:
    closes = words.likely_range(active.window.closed, clock) if active.window else ""
    block = next(iter(planned_blocks(active)), None)
    hours = "" if block is None else clock.span(block.start, block.end)
    return [active.active, active.status.value, closes, hours, active.step.value]


def _paddock(paddock: PaddockOutlook, clock: LocalClock) -> Iterator[str]:
    yield f"## {escape(paddock.name)}, {paddock.hectares:.0f} ha"
    yield ""
    if paddock.fault is not None:
        yield f"- **UNKNOWN**: {escape(paddock.fault)}"
        return
    others = f", also {', '.join(paddock.other_weeds)}" if paddock.other_weeds else ""
    stage = "not known" if paddock.stage is None else paddock.stage.words[1]
    yield f"- {escape(paddock.weed_name + others)}: {escape(stage)}"
    if paddock.warning:
        yield f"- **Warning**: {escape(paddock.warning)}"
    if paddock.stock is not None:
        yield f"- Stock off: {escape(stock_off_words(paddock.stock.off))}"
    yield f"- Wind must not come from: {barred_words(paddock)}"
    for active in paddock.actives:
        yield from _active(active, clock)


def _active(active: ActiveOutlook, clock: LocalClock) -> Iterator[str]:
    if active.step is Step.DOES_NOT_CONTROL:
        return
    yield f"- {active.active}: {active.status.value}, next: {active.step.value}"
    for block in planned_blocks(active):
        wind = f"{words.side(block.wind_from)} {words.kmh_span(block.wind_speed)} km/h"
        yield (
            f"  - good {clock.span(block.start, block.end)}, {wind}, holds "
            f"{words.in_ten(block.chance)}, {words.firmness(block.lead_days)}"
        )
