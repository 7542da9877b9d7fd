"""Tables for spreadsheets: CSV in which a name can never become a formula.

RFC 4180, with a byte-order mark: without one a common spreadsheet reads UTF-8 as the
code page of its country (from memory). Every text is quoted. Quoting alone leaves
formulas alive, so a text that begins like one gets an apostrophe in front, as OWASP's
page on CSV injection advises; our own numbers are left alone.
"""

from __future__ import annotations

import csv
import io
import math
from typing import TYPE_CHECKING

from forecaster.domain.planned import planned_blocks
from forecaster.render import words
from forecaster.render.standing import barred_words, invented_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    import numpy as np

    from forecaster.domain.outlook import (
        ActiveOutlook,
        Likely,
        Outlook,
        PaddockOutlook,
    )
    from forecaster.domain.rig.rig_plan import RigPlan
    from forecaster.render.words import LocalClock

Cell = str | int | float | None
FORMULA = frozenset("=+-@\t\r\n＝＋－＠")
COLUMNS = (
    "farm", "paddock", "hectares", "weed", "stage", "look_date", "active", "status",
    "opens_early", "opens_likely", "opens_late",
    "closes_early", "closes_likely", "closes_late", "days_to_close",
    "next_good_start", "next_good_end", "wind_not_from", "next_step",
    "weather_of", "weather_age_h", "made_at", "read_first",
)  # fmt: skip
PLAN_COLUMNS = ("plan_start", "plan_end", "plan_hectares")
UNKNOWN = "unknown"


def render(outlook: Outlook, plan: RigPlan | None = None) -> bytes:
    """One row for each paddock and active; a paddock that failed has a row, too.

    With the order of a rig, :data:`PLAN_COLUMNS` come last.
    """
    clock = words.LocalClock(outlook.place.zone)
    if plan is None:
        return table(COLUMNS, (row for _, _, row in _rows(outlook, clock)))
    rows = (
        [*row, *_planned(plan, paddock, active, clock)]
        for paddock, active, row in _rows(outlook, clock)
    )
    return table((*COLUMNS, *PLAN_COLUMNS), rows)


def table(columns: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    """A header and rows; None is an empty text."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows([_cell(each) for each in row] for row in rows)
    return text.getvalue().encode("utf-8-sig")


def _cell(value: Cell) -> str | int | float:
    if isinstance(value, str):
        return safe(value)
    if value is None or not math.isfinite(value):
        return ""
    return value


def safe(text: str) -> str:
    """``text``, with an apostrophe in front where a spreadsheet might run it."""
    start = text.lstrip(" \u00a0\u3000")[:1]
    return f"'{text}" if start in FORMULA and start else text


def _rows(
    outlook: Outlook, clock: LocalClock
) -> Iterator[tuple[PaddockOutlook, ActiveOutlook | None, list[Cell]]]:
    for paddock in outlook.paddocks:
        for active in paddock.actives or (None,):
            row = [
                *_about(outlook, paddock, clock),
                *(_standing(active, clock) if active else _untold()),
                barred_words(paddock),
                _step(paddock, active),
                *_made(outlook, clock),
            ]
            yield paddock, active, row


def _planned(
    plan: RigPlan,
    paddock: PaddockOutlook,
    active: ActiveOutlook | None,
    clock: LocalClock,
) -> list[Cell]:
    """From the first part's start to the last one's end, and the hectares of all."""
    stops = [
        each
        for each in plan.stops
        if active and (each.paddock, each.active) == (paddock.name, active.active)
    ]
    if not stops:
        return [None, None, None]
    start, end = min(each.start for each in stops), max(each.end for each in stops)
    hectares = round(sum(each.hectares for each in stops), 1)
    return [moment(start, clock), moment(end, clock), hectares]


def _about(outlook: Outlook, paddock: PaddockOutlook, clock: LocalClock) -> list[Cell]:
    stage = UNKNOWN if paddock.stage is None else paddock.stage.words[1]
    looked = None if paddock.look is None else day(paddock.look.moment, clock)
    return [
        outlook.farm,
        paddock.name,
        round(paddock.hectares, 1),
        paddock.weed_name,
        stage,
        looked,
    ]


def _standing(active: ActiveOutlook, clock: LocalClock) -> list[Cell]:
    window, days = active.window, active.days_to_close
    opens = _three(window.open if window else None, clock)
    closes = _three(window.closed if window else None, clock)
    left = None if days is None or days.likely is None else round(days.likely, 1)
    block = next(iter(planned_blocks(active)), None)
    hours = (None, None) if block is None else (block.start, block.end)
    return [
        active.active,
        active.status.value,
        *opens,
        *closes,
        left,
        *(moment(each, clock) for each in hours),
    ]


def _untold() -> list[Cell]:
    return [None, UNKNOWN, *[None] * 9]


def _step(paddock: PaddockOutlook, active: ActiveOutlook | None) -> str:
    if active is None:
        return f"{UNKNOWN}: {paddock.fault or 'no active to judge'}"
    return active.step.value


def _made(outlook: Outlook, clock: LocalClock) -> list[Cell]:
    weather = outlook.weather
    invented = invented_words(weather, demo=outlook.demo)
    first = " ".join(each for each in (invented, *weather.warnings) if each)
    return [
        moment(weather.issued, clock),
        round(weather.age_hours, 1),
        moment(outlook.now, clock),
        first,
    ]


def _three(edge: Likely | None, clock: LocalClock) -> list[Cell]:
    if edge is None:
        return [None, None, None]
    return [
        None if each is None else day(each, clock)
        for each in (edge.early, edge.likely, edge.late)
    ]


def day(when: np.datetime64, clock: LocalClock) -> str:
    """``2026-10-12`` on the farm's calendar."""
    return clock.local(when).date().isoformat()


def moment(when: np.datetime64 | None, clock: LocalClock) -> str | None:
    """``2026-10-12T07:00:00+11:00``; None where there is none."""
    return None if when is None else clock.local(when).isoformat()
