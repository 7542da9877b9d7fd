"""A paddock's week on one axis: good hours, wind, Delta T, rain and inversion risk."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.planned import planned_blocks
from forecaster.domain.spraying.limits import Quantity, Verdict
from forecaster.domain.weather import HOUR
from forecaster.render import svg, words
from forecaster.render.page_text import letters
from forecaster.render.words import KMH, LocalClock

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from forecaster.domain.outlook import BlockView, PaddockOutlook
    from forecaster.domain.paddock_hours import HourView, PaddockHours

WIDTH = 760
LEFT, RIGHT, TOP = 92, 748, 34
ROW = 20
TALL = 62
GAP = 22
BAND = "#d8d8d8"
LEGEND = (
    "solid and grey: good; low: fit, none to spray in; hatched: look first; dotted: "
    "unknown"
)


@dataclass(frozen=True, slots=True)
class _Measure:
    """One panel: its words, what it shows, and the least top of its scale."""

    words: str
    of: Callable[[HourView], float]
    top: float
    ticks: tuple[tuple[float, str], ...] = ()
    quantity: Quantity | None = None
    scale: float = 1.0


_MEASURES = (
    _Measure(
        "wind 10 m, km/h", lambda hour: hour.wind_speed * KMH, 20.0,
        quantity=Quantity.WIND_10M, scale=KMH,
    ),
    _Measure("Delta T", lambda hour: hour.delta_t, 10.0, quantity=Quantity.DELTA_T),
    _Measure("rain, mm", lambda hour: hour.rain, 2.0),
    _Measure(
        "inversion", lambda hour: hour.inversion_risk, 2.0,
        ((0.0, "low"), (1.0, "some"), (2.0, "high")),
    ),
)  # fmt: skip


def render(weeks: Sequence[PaddockHours], paddock: PaddockOutlook) -> str:
    """One drawing for the actives of a paddock; ``weeks`` share their hours' air.

    Only hours that may be planned by are solid, and grey below.
    """
    first = weeks[0]
    clock = LocalClock(first.place.zone)
    hours = first.hours
    planned = {each.active: planned_blocks(each) for each in paddock.actives}
    rows = [_Row(week, _rows_of(hours, planned.get(week.active, ()))) for week in weeks]
    parts: list[str] = []
    for at, row in enumerate(rows):
        parts += _verdicts(row, TOP + ROW * at, len(hours))
    top = TOP + ROW * len(rows) + 8
    for measure in _MEASURES:
        parts += _panel(measure, rows, top)
        top += TALL + GAP
    parts += _days(hours, clock, top - GAP)
    title = f"{letters(first.paddock)}: the air of the week"
    parts.append(svg.text(12, 16, title, size=14))
    parts.append(svg.text(RIGHT, 16, LEGEND, anchor="end"))
    return svg.drawing(WIDTH, top + 6, title, _words(rows, clock), parts)


@dataclass(frozen=True, slots=True)
class _Row:
    """One active: its hours, and which of them may be planned by."""

    week: PaddockHours
    planned: list[bool]

    def runs(self, fits: Callable[[HourView, bool], bool]) -> list[tuple[int, int]]:
        """First and one past the last of each run of hours that fit."""
        pairs = zip(self.week.hours, self.planned, strict=True)
        found = [False, *(fits(hour, mine) for hour, mine in pairs), False]
        edges = [at for at in range(len(found) - 1) if found[at] != found[at + 1]]
        return list(zip(edges[::2], edges[1::2], strict=True))

    def good(self) -> list[tuple[int, int]]:
        """Good hours to spray in."""
        return self.runs(lambda hour, mine: mine and hour.verdict is Verdict.GOOD)


def _rows_of(hours: Sequence[HourView], blocks: Sequence[BlockView]) -> list[bool]:
    return [
        any(each.start <= hour.time < each.end for each in blocks) for hour in hours
    ]


def _x(hour: float, count: int) -> float:
    return LEFT + (RIGHT - LEFT) * hour / count


def _verdicts(row: _Row, y: float, count: int) -> list[str]:
    parts = [svg.text(LEFT - 7, y + 11, row.week.active, anchor="end")]
    parts.append(svg.line([(LEFT, y + 14), (RIGHT, y + 14)]))
    low = row.runs(lambda hour, mine: hour.verdict is Verdict.GOOD and not mine)
    look = row.runs(lambda hour, _: hour.verdict is Verdict.LOOK_FIRST)
    for runs, fill, tall in (
        (row.good(), "solid", 14), (low, "blank", 7), (look, "hatched", 14),
    ):  # fmt: skip
        for start, end in runs:
            x = _x(start, count)
            wide = _x(end, count) - x
            parts.append(svg.bar(x, y + 14 - tall, wide, tall, fill=fill))
    for start, end in row.runs(lambda hour, _: hour.verdict is Verdict.UNKNOWN):
        at = [(_x(start, count), y + 7), (_x(end, count), y + 7)]
        parts.append(svg.line(at, width=3.0, dash="1 5"))
    return parts


def _panel(measure: _Measure, rows: Sequence[_Row], top: float) -> list[str]:
    hours = rows[0].week.hours
    values = np.array([measure.of(hour) for hour in hours], dtype=np.float64)
    known = values[np.isfinite(values)]
    roof = max(measure.top, float(known.max()) if known.size else 0.0)
    panel = svg.Panel(LEFT, top, RIGHT, top + TALL, 0.0, len(hours), 0.0, roof)
    parts = [
        f'<rect x="{svg.px(panel.x(start))}" y="{svg.px(top)}" '
        f'width="{svg.px(panel.x(end) - panel.x(start))}" height="{TALL}" '
        f'fill="{BAND}"/>'
        for start, end in rows[0].good()
    ]
    ticks = measure.ticks or ((0.0, "0"), (roof, f"{roof:.0f}"))
    parts += panel.axes((), ticks)
    parts.append(svg.upright(LEFT - 44, top + TALL / 2, measure.words))
    last = math.inf
    for bound in _bounds(measure, hours):
        if bound <= roof:
            y = panel.y(bound)
            parts.append(svg.line([(LEFT, y), (RIGHT, y)], width=0.8, dash="4 3"))
            if last - y < svg.SMALL:  # their words would lie on each other
                continue
            parts.append(svg.text(RIGHT, y - 2, f"limit {bound:.0f}", anchor="end"))
            last = y
    if not known.size:
        parts.append(svg.text(LEFT + 8, top + TALL / 2, "not known"))
    return parts + _steps(panel, values)


def _bounds(measure: _Measure, hours: Sequence[HourView]) -> list[float]:
    """Limits of this quantity that speak against an hour of the week."""
    found = {
        reason.limit.bound * measure.scale
        for hour in hours
        for reason in hour.reasons
        if reason.limit.quantity is measure.quantity
    }
    return sorted(found)


def _steps(panel: svg.Panel, values: np.typing.NDArray[np.float64]) -> list[str]:
    """A line with a step at each hour, broken where a value is not known."""
    parts: list[str] = []
    points: list[tuple[float, float]] = []
    for at, value in enumerate([*values.tolist(), math.nan]):
        if math.isfinite(value):
            points += [panel.at(at, value), panel.at(at + 1, value)]
        elif points:
            parts.append(svg.line(points, width=1.6))
            points = []
    return parts


def _days(hours: Sequence[HourView], clock: LocalClock, foot: float) -> list[str]:
    parts = []
    for at, hour in enumerate(hours):
        local = clock.local(hour.time)
        if local.hour == 0 and at:
            x = _x(at, len(hours))
            parts.append(svg.line([(x, TOP), (x, foot)], width=0.6, dash="1 3"))
        if local.hour == 12:  # noqa: PLR2004 - noon
            x = _x(at, len(hours))
            parts.append(
                svg.text(x, foot + 16, f"{local:%a} {local.day}", anchor="middle")
            )
    return parts


def _words(rows: Sequence[_Row], clock: LocalClock) -> str:
    """The good hours of each active; all reasons stand in the table under it."""
    said = []
    for row in rows:
        hours = row.week.hours
        spans = [
            clock.span(hours[start].time, hours[end - 1].time + HOUR)
            for start, end in row.good()
        ]
        said.append(f"{row.week.active}, good: {', '.join(spans) or 'none'}.")
    winds = [hour.wind_speed for hour in rows[0].week.hours]
    wind = [speed for speed in winds if math.isfinite(speed)]
    if wind:
        said.append(f"Wind at 10 m {words.kmh_span((min(wind), max(wind)))} km/h.")
    return " ".join(said)
