"""Strips of the weekly sheet: six weeks of a stage window, and a week of hours.

Ink alone: black on white or white on black, whatever the page's ink is. A window is
engraved, each stroke as wide as the chance that the window is open there, so that it
fades with what is not known and survives any printer. Strips stretch with their cell,
so they hold no words; those stand in their title and description and beside them.
"""

from __future__ import annotations

import datetime as dt
import math
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.spraying.limits import Verdict
from forecaster.render.page_text import escaped
from forecaster.render.svg import px

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.domain.outlook import ActiveOutlook, BlockView, Likely, WindowView
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
HALF_A_DAY = 12


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
    x = px(on_calendar(now, first, clock) * WIDE / DAYS)
    parts.append(f'<path d="M{x} 0V{px(TALL)}" {_LINE} stroke-width="2.5"/>')
    return _strip(said, parts)


def _engraved(window: WindowView, first: dt.date, clock: LocalClock) -> str:
    """Strokes as wide as the chance; those that touch are one."""
    step = 1.0 / STROKES
    middles = (np.arange(DAYS * STROKES) + 0.5) * step
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


def week_days(
    now: np.datetime64, until: np.datetime64, clock: LocalClock
) -> tuple[dt.date, int]:
    """The first local day of the week's hours, and how many there are."""
    first = clock.local(now).date()
    last = clock.local(until - np.timedelta64(1, "s")).date()
    return first, max((last - first).days + 1, 1)


def week_strip(
    active: ActiveOutlook,
    now: np.datetime64,
    until: np.datetime64,
    clock: LocalClock,
    said: tuple[str, str, str],
) -> str:
    """The week's hours: solid good, hatched look first, blank hold, dotted unknown.

    Good hours outside the likely stage window stand half as high.
    """
    first, count = week_days(now, until, clock)

    def at(moment: np.datetime64) -> float:
        return on_calendar(moment, first, clock) * WIDE / count

    parts = [_ground(range(count + 1), count)]
    for run in active.week:
        if not run.daylight:
            x, wide = at(run.start), at(run.end) - at(run.start)
            if wide > 0:
                parts.append(_box(x, FOOT, wide, 2.5))
        elif run.verdict is Verdict.UNKNOWN:
            parts.append(_dots(at(run.start), at(run.end)))
    for block in (*active.blocks, *active.look_first):
        parts.append(_block(block, at(block.start), at(block.end)))
    return _strip(said, parts)


def _block(block: BlockView, start: float, end: float) -> str:
    top = TOP if block.in_window else (TOP + FOOT) / 2
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
        "night": [_box(0, FOOT, wide, 2.5)],
        "today": [f'<path d="M30 0V{px(TALL)}" {_LINE} stroke-width="2.5"/>'],
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
