"""Strips of the weekly sheet: six weeks of a stage window, and a week of hours.

Ink alone: black on white or white on black, whatever the page's ink is. A window is
engraved, each stroke as wide as the chance that the window is open there, so that it
fades with what is not known and survives any printer. Strips stretch with their cell,
so they hold no words; those stand in their title and description and beside them.
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.planned import stands_against
from forecaster.domain.spraying.limits import Verdict
from forecaster.render.page_text import escaped
from forecaster.render.svg import px

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from forecaster.domain.outlook import (
        ActiveOutlook,
        BlockView,
        Likely,
        Outlook,
        WindowView,
    )
    from forecaster.domain.weather import Floats
    from forecaster.render.words import LocalClock

WEEKS = 6
DAYS = 7 * WEEKS
DAY = np.timedelta64(1, "D")
WIDE = 420.0
"""Width of a strip in its own units; it stretches."""
TALL = 26.0
TOP, FOOT = 2.0, 22.0
STROKES = 2
"""A day; engraved ones of the window."""
TENTH = 1.2815515655446004
"""[standard deviations] beyond which 1 in 10 of a normal spread lies."""
LEAST, MOST = 0.03, 0.97
"""Shares below which a stroke is left out and above which it touches the next."""
HATCH = 5.0
"""Between the lines of a hatched box."""


def calendar_start(now: np.datetime64, clock: LocalClock) -> dt.date:
    """The Monday before this week's: one week back, five ahead."""
    today = clock.local(now).date()
    return today - dt.timedelta(days=today.weekday() + 7)


def on_calendar(moment: np.datetime64, first: dt.date, clock: LocalClock) -> float:
    """Days on the local wall clock since the start of ``first``."""
    local = clock.local(moment)
    hours = local.hour + local.minute / 60 + local.second / 3600
    return (local.date() - first).days + hours / 24


def reached(edge: Likely, days: Floats, first: dt.date, clock: LocalClock) -> Floats:
    """Chance that ``edge`` has been reached by each of ``days`` from ``first``.

    A normal spread through the three points, each side with its own width; never
    more than is known where a point lies beyond the weather.
    """
    early, likely, late = (
        None if each is None else on_calendar(each, first, clock)
        for each in (edge.early, edge.likely, edge.late)
    )
    if likely is None:
        before = np.inf if early is None else early
        return np.where(days >= before, 0.1, 0.0)
    low = 0.0 if early is None else max(likely - early, 0.0)
    high = low if late is None else max(late - likely, 0.0)
    width = np.where(days < likely, low, high) / TENTH
    away = (days - likely) / np.maximum(width, 1e-9)
    return np.array([0.5 * math.erfc(-z / math.sqrt(2.0)) for z in away.tolist()])


def open_chance(
    window: WindowView, days: Floats, first: dt.date, clock: LocalClock
) -> Floats:
    """Chance that the window is open on each of ``days``. [share 0…1]."""
    opened = reached(window.open, days, first, clock)
    closed = reached(window.closed, days, first, clock)
    return np.maximum(opened - closed, 0.0)


def window_strip(
    active: ActiveOutlook,
    looks: Sequence[np.datetime64],
    now: np.datetime64,
    clock: LocalClock,
    said: tuple[str, str, str],
) -> str:
    """Six weeks of one window; ``said`` is the drawing's id, title and description."""
    first = calendar_start(now, clock)
    parts = [_ground(range(0, DAYS + 1, 7), DAYS)]
    if active.window is None:
        parts.append(_dots(0.0, WIDE))
    else:
        parts.append(_engraved(active.window, first, clock))
    for look in looks:
        x = on_calendar(look, first, clock) * WIDE / DAYS
        if 0.0 <= x <= WIDE:
            parts.append(f'<path d="M{px(x)} {px(FOOT)}l-5 4h10z" {_INK}/>')
    parts.append(_now(on_calendar(now, first, clock) * WIDE / DAYS))
    return _strip(said, parts)


def _engraved(window: WindowView, first: dt.date, clock: LocalClock) -> str:
    """Strokes as wide as the chance; those that touch are one."""
    step = 1.0 / STROKES
    middles = (np.arange(DAYS * STROKES, dtype=np.float64) + 0.5) * step
    chance = open_chance(window, middles, first, clock)
    boxes: list[list[float]] = []
    for middle, share in zip(middles.tolist(), chance.tolist(), strict=True):
        if share < LEAST:
            continue
        half = 0.5 * step * (1.0 if share > MOST else share)
        if boxes and middle - half - boxes[-1][1] < 1e-6:  # noqa: PLR2004 - rounding
            boxes[-1][1] = middle + half
        else:
            boxes.append([middle - half, middle + half])
    scale = WIDE / DAYS
    path = "".join(
        f"M{start * scale:.2f} {px(TOP + 4)}H{end * scale:.2f}V{px(FOOT)}"
        f"H{start * scale:.2f}z"
        for start, end in boxes
    )
    return f'<path d="{path}" {_INK}/>' if path else ""


@dataclass(frozen=True, slots=True)
class Week:
    """The days of the week's hours, each cut to the hours that matter."""

    first: dt.date
    days: int
    opens: float
    """[h] of the local day where each day is cut on."""
    closes: float

    @classmethod
    def of(cls, outlook: Outlook, clock: LocalClock) -> Week:
        """Days from now to the end of the hours judged; hours of light or a block."""
        first = clock.local(outlook.now).date()
        last = clock.local(outlook.until - np.timedelta64(1, "s")).date()
        hours = [
            (on_calendar(start, first, clock), on_calendar(end, first, clock))
            for start, end in _that_matter(outlook)
        ]
        if not hours or any(end // 1 > start // 1 and end % 1 for start, end in hours):
            opens, closes = 0.0, 24.0
        else:
            opens = 24 * min(start % 1 for start, _ in hours)
            closes = 24 * max(end % 1 or 1.0 for _, end in hours)
        return cls(first, max((last - first).days + 1, 1), opens, closes)

    def x(self, moment: np.datetime64, clock: LocalClock) -> float:
        """Where a moment stands in the strip; outside the cut, at its edge."""
        day, hour = divmod(24 * on_calendar(moment, self.first, clock), 24)
        share = (hour - self.opens) / (self.closes - self.opens)
        return (day + min(max(share, 0.0), 1.0)) * WIDE / self.days

    def end(self, moment: np.datetime64, clock: LocalClock) -> float:
        """The same for the end of hours: midnight is the end of a day."""
        return self.x(moment - np.timedelta64(1, "s"), clock)


def _that_matter(outlook: Outlook) -> Iterator[tuple[np.datetime64, np.datetime64]]:
    for paddock in outlook.paddocks:
        for active in paddock.actives:
            yield from ((run.start, run.end) for run in active.week if run.daylight)
            yield from ((block.start, block.end) for block in active.blocks)


def week_strip(
    active: ActiveOutlook, week: Week, clock: LocalClock, said: tuple[str, str, str]
) -> str:
    """The week's hours: solid good, hatched look first, blank hold, dotted unknown.

    Good hours that are none to spray in stand half as high: those outside the likely
    stage window, and all of them where the next step is against spraying.
    """
    low = stands_against(active)
    parts = [_ground(range(week.days + 1), week.days)]
    noon = (12 - week.opens) / (week.closes - week.opens)
    noons = "".join(
        f"M{px((day + noon) * WIDE / week.days)} {px(FOOT)}v3"
        for day in range(week.days)
    )
    parts.append(f'<path d="{noons}" {_LINE} stroke-width="1"/>')
    parts += [
        _dots(week.x(run.start, clock), week.end(run.end, clock))
        for run in active.week
        if run.daylight and run.verdict is Verdict.UNKNOWN
    ]
    parts += [
        _block(block, week.x(block.start, clock), week.end(block.end, clock), low=low)
        for block in (*active.blocks, *active.look_first)
    ]
    return _strip(said, parts)


def _block(block: BlockView, start: float, end: float, *, low: bool) -> str:
    top = (TOP + FOOT) / 2 if low or not block.in_window else TOP
    wide = max(end - start, 1.0)  # an hour that a change of clock repeats
    if block.verdict is Verdict.GOOD:
        return _box(start, top, wide, FOOT - top)
    return _hatched(start, top, wide, FOOT - top)


def sample(kind: str) -> str:
    """One mark of the legend, as it stands in the strips."""
    wide = 60.0
    parts = {
        "good": [_box(0, TOP, wide, FOOT - TOP)],
        "outside": [_box(0, (TOP + FOOT) / 2, wide, (FOOT - TOP) / 2)],
        "look": [_hatched(0, TOP, wide, FOOT - TOP)],
        "hold": [],
        "unknown": [_dots(0.0, wide)],
        "today": [_now(30.0)],
        "counted": [f'<path d="M30 {px(FOOT - 8)}l-8 10h16z" {_INK}/>'],
        "window": [_fading(wide)],
    }[kind]
    base = f'<path d="M0 {px(FOOT)}H{px(wide)}" {_LINE} stroke-width="1"/>'
    return (
        f'<svg class="key" viewBox="0 0 60 {px(TALL)}" aria-hidden="true" '
        f'focusable="false">{base}{"".join(parts)}</svg>'
    )


def _fading(wide: float) -> str:
    shares = np.sin(np.linspace(0.15, math.pi - 0.15, 15)) ** 2
    step = wide / shares.size
    return "".join(
        _box((at + 0.5 - share / 2) * step, TOP + 4, share * step, FOOT - TOP - 4)
        for at, share in enumerate(shares.tolist())
    )


def _now(x: float) -> str:
    """Today, set off from what it crosses by a rim of paper."""
    path = f'd="M{px(x)} 0V{px(TALL)}" fill="none"'
    return (
        f'<path class="rim" {path} stroke="#fff" stroke-width="7"/>'
        f'<path {path} stroke="currentColor" stroke-width="3"/>'
    )


_INK = 'fill="currentColor"'
_LINE = 'fill="none" stroke="currentColor"'


def _strip(said: tuple[str, str, str], parts: Sequence[str]) -> str:
    name, title, words = said
    return (
        f'<svg class="strip" viewBox="0 0 {px(WIDE)} {px(TALL)}" '
        f'preserveAspectRatio="none" role="img" focusable="false" '
        f'aria-labelledby="{name}t {name}d"><title id="{name}t">{escaped(title)}'
        f'</title><desc id="{name}d">{escaped(words)}</desc>{"".join(parts)}</svg>'
    )


def _ground(ticks: range, count: int) -> str:
    """The base line, and a line up where each day or week begins."""
    ups = "".join(
        f"M{px(min(max(tick * WIDE / count, 0.5), WIDE - 0.5))} {px(TOP)}V{px(FOOT)}"
        for tick in ticks
    )
    return (
        f'<path d="M0 {px(FOOT)}H{px(WIDE)}" {_LINE} stroke-width="1"/>'
        f'<path d="{ups}" {_LINE} stroke-width="0.6"/>'
    )


def _box(x: float, y: float, wide: float, tall: float) -> str:
    return f'<path d="M{x:.2f} {px(y)}h{wide:.2f}v{px(tall)}h-{wide:.2f}z" {_INK}/>'


def _hatched(x: float, y: float, wide: float, tall: float) -> str:
    lines = f"M{px(x)} {px(y)}h{px(wide)}v{px(tall)}h-{px(wide)}z"
    for t in np.arange(-tall + HATCH / 2, wide, HATCH).tolist():
        start, end = max(t, 0.0), min(t + tall, wide)
        lines += (
            f"M{px(x + start)} {px(y + tall - start + t)}"
            f"L{px(x + end)} {px(y + tall - end + t)}"
        )
    return f'<path d="{lines}" {_LINE} stroke-width="1.1"/>'


def _dots(start: float, end: float) -> str:
    rows = "".join(
        f"M{px(start + 2)} {y}H{px(max(end - 1, start))}" for y in (7, 13, 19)
    )
    return (
        f'<path d="{rows}" {_LINE} stroke-width="2.4" stroke-linecap="round" '
        f'stroke-dasharray="0.1 6"/>'
    )
