"""One paddock's season as a drawing: heads by ripeness, looks, windows, good hours."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.planned import stands_against
from forecaster.domain.season_page import Ripeness
from forecaster.render import svg, words
from forecaster.render.words import LocalClock

if TYPE_CHECKING:
    from forecaster.domain.outlook import ActiveOutlook, Likely
    from forecaster.domain.season_page import SeasonPage
    from forecaster.domain.weather import Floats

WIDTH = 760
LEFT, RIGHT, TOP = 92, 748, 80
TALL = 210
"""[px] of the panel of heads."""
ROW = 24
"""[px] of a row below it."""
DAY = np.timedelta64(1, "D")
ROOM = 0.11
"""[share of the heads] an area must be high to carry its words."""

SHARES = ((0.0, "none"), (0.5, "half"), (1.0, "all heads"))

_TINTS = {
    Ripeness.NOT_OUT: svg.PAPER,
    Ripeness.OUT: "#ddd",
    Ripeness.MILK: "#aaa",
    Ripeness.SOFT: "#666",
    Ripeness.HARD: "#000",
}
"""Ink by ripeness, light to dark; each area also carries its words."""


@dataclass(frozen=True, slots=True)
class _Row:
    """A line under the heads: what it is of, and its pieces."""

    label: str
    parts: list[str]


def render(page: SeasonPage) -> str:
    """A self-contained SVG with a text equivalent; no script, no outside resource."""
    clock = LocalClock(page.place.zone)
    days = _days(page, page.noon)
    panel = svg.Panel(
        LEFT, TOP, RIGHT, TOP + TALL, float(days[0]), float(days[-1]), 0.0, 1.0
    )
    rows = _rows(page, panel, TOP + TALL + 34)
    title = f"{page.paddock.name}: {page.paddock.weed_name}, heads over the season"
    demo = "DEMO: " if page.demo else ""
    said = _said(page, clock)
    parts = [
        svg.text(12, 20, f"{demo}{page.farm}, {title}", size=14),
        *(
            svg.text(12, 36 + 13 * at, line)
            for at, line in enumerate(words.wrapped(said, 130)[:2])
        ),
        *_heads(page, panel, days),
        *panel.axes(_dates(page, days, clock), SHARES),
        *_today(page, panel, len(rows)),
        *_looks(page, panel),
    ]
    for at, row in enumerate(rows):
        y = TOP + TALL + 34 + ROW * at
        parts += [svg.text(LEFT - 7, y + 11, row.label, anchor="end"), *row.parts]
    foot = TOP + TALL + 34 + ROW * len(rows) + 20
    parts.append(svg.text(12, foot, _legend()))
    return svg.drawing(WIDTH, foot + 14, title, said, parts)


def _legend() -> str:
    return (
        "Solid: likely. Hatched: may be so already or still. Narrow marks: good hours "
        "of the week. Dot: heads counted. All dates by the model and the looks."
    )


def _days(page: SeasonPage, moments: np.typing.NDArray[np.datetime64]) -> Floats:
    """Days from the first noon drawn."""
    days: Floats = (moments - page.noon[0]) / DAY
    return days


def _day(page: SeasonPage, moment: np.datetime64) -> float:
    return float((moment - page.noon[0]) / DAY)


def _heads(page: SeasonPage, panel: svg.Panel, days: Floats) -> list[str]:
    """Areas of the five kinds, ripest at the bottom, each with its words."""
    known = ~np.isnan(page.shares).any(axis=1)
    if not known.any():
        return [svg.text(panel.x(days[0]) + 8, panel.y(0.5), "not known")]
    days, shares = days[known], page.shares[known]
    above = np.cumsum(shares[:, ::-1], axis=1)[:, ::-1]
    parts = []
    for place, kind in enumerate(Ripeness):
        top = above[:, place]
        bottom = above[:, place + 1] if place + 1 < len(Ripeness) else 0.0 * top
        rim = [panel.at(x, y) for x, y in zip(days, top, strict=True)]
        back = [panel.at(x, y) for x, y in zip(days[::-1], bottom[::-1], strict=True)]
        at = " ".join(f"{svg.px(x)},{svg.px(y)}" for x, y in rim + back)
        parts.append(
            f'<polygon points="{at}" fill="{_TINTS[kind]}" stroke="{svg.INK}" '
            f'stroke-width="0.5"/>'
        )
        parts += _area_words(kind, panel, days, top, bottom)
    return parts


def _area_words(
    kind: Ripeness, panel: svg.Panel, days: Floats, top: Floats, bottom: Floats
) -> list[str]:
    """The words of an area in its highest place, where there is room for them."""
    edge = (days > days[0] + 5) & (days < days[-1] - 5)
    height = np.where(edge, top - bottom, 0.0)
    at = int(np.argmax(height))
    if kind is Ripeness.HARD:
        tall = np.flatnonzero(height >= height.max() * 0.9)
        at = int(tall[-1]) if tall.size else at
    elif kind is Ripeness.NOT_OUT:
        tall = np.flatnonzero(height >= height.max() * 0.9)
        at = int(tall[tall.size // 2]) if tall.size else at
    if height[at] < ROOM:
        return []
    x, y = panel.at(days[at], (top[at] + bottom[at]) / 2)
    light = kind in {Ripeness.SOFT, Ripeness.HARD}
    anchor = "end" if kind is Ripeness.HARD else "middle"
    ink = svg.PAPER if light else ""
    return [svg.text(x, y + 4, kind.value, anchor=anchor, ink=ink)]


def _dates(
    page: SeasonPage, days: Floats, clock: LocalClock
) -> list[tuple[float, str]]:
    """A mark every other week, from the first Monday on."""
    weekday = [clock.local(moment).weekday() for moment in page.noon]
    first = weekday.index(0) if 0 in weekday else 0
    return [
        (float(days[at]), clock.day(page.noon[at]))
        for at in range(first, days.size, 14)
    ]


def _today(page: SeasonPage, panel: svg.Panel, rows: int) -> list[str]:
    x = panel.x(min(max(_day(page, page.now), panel.x_low), panel.x_high))
    foot = panel.bottom + 34 + ROW * rows
    return [
        svg.line([(x, panel.top - 4), (x, panel.bottom)], width=2.0),
        svg.line([(x, panel.bottom + 22), (x, foot)], width=1.0, dash="2 3"),
        svg.text(x + 5, panel.top - 4, "today"),
    ]


def _looks(page: SeasonPage, panel: svg.Panel) -> list[str]:
    parts = []
    for look in page.looks:
        x = panel.x(_day(page, look.moment))
        parts += [
            svg.dot(x, panel.top, radius=4.5),
            svg.text(x - 7, panel.top - 4, f"{look.heads} counted", anchor="end"),
        ]
    return parts


def _rows(page: SeasonPage, panel: svg.Panel, top: float) -> list[_Row]:
    rows: list[_Row] = []
    off = _stock_off(page, panel, top)
    if off:
        rows.append(_Row("stock off", off))
    for active in page.paddock.actives:
        if active.window is None:
            continue
        y = top + ROW * len(rows)
        rows.append(_Row(active.active, _window(page, panel, active, y)))
        y = top + ROW * len(rows)
        rows.append(_Row("good hours", _blocks(page, panel, active, y)))
    return rows


def _stock_off(page: SeasonPage, panel: svg.Panel, y: float) -> list[str]:
    """The likely days to take stock off; hatched to the early and late ones."""
    off = None if page.paddock.stock is None else page.paddock.stock.off
    likely = None if off is None else off.likely
    if off is None or likely is None:
        return []

    def at(day: np.datetime64, hours: int = 0) -> float:
        moment = _midnight(page, day) + np.timedelta64(hours, "h")
        return panel.x(min(max(_day(page, moment), panel.x_low), panel.x_high))

    first = (off.early or likely).first
    last = (off.late or likely).last
    start, end = at(likely.first), at(likely.last, 24)
    parts = [svg.bar(at(first), y + 2, at(last, 24) - at(first), 10, fill="hatched")]
    if end > start:
        parts.append(svg.bar(start, y, end - start, 14, fill="solid"))
    return parts


def _midnight(page: SeasonPage, day: np.datetime64) -> np.datetime64:
    """UTC of the start of a calendar day at the farm, to the nearest hour or two."""
    noon = page.noon[0]
    offset = noon.astype("datetime64[D]") + np.timedelta64(12, "h") - noon
    start: np.datetime64 = day.astype("datetime64[s]") - offset
    return start


def _window(
    page: SeasonPage, panel: svg.Panel, active: ActiveOutlook, y: float
) -> list[str]:
    assert active.window is not None  # noqa: S101 - the caller has one
    opened, closed = active.window.open, active.window.closed

    def at(edge: Likely, name: str) -> float:
        moment = getattr(edge, name)
        day = panel.x_high if moment is None else _day(page, moment)
        return panel.x(min(max(day, panel.x_low), panel.x_high))

    start, end = at(opened, "likely"), at(closed, "likely")
    first, last = at(opened, "early"), at(closed, "late")
    parts = [
        svg.bar(first, y + 2, max(last - first, 0.0), 10, fill="hatched"),
    ]
    if end > start:
        parts.append(svg.bar(start, y, end - start, 14, fill="solid"))
    return parts


def _blocks(
    page: SeasonPage, panel: svg.Panel, active: ActiveOutlook, y: float
) -> list[str]:
    if stands_against(active):
        return [svg.text(LEFT + 4, y + 11, "none to spray in")]
    parts = []
    for block in active.blocks:
        start, end = (panel.x(_day(page, each)) for each in (block.start, block.end))
        parts.append(svg.bar(start, y, max(end - start, 1.0), 14, fill="solid"))
    return parts or [svg.text(LEFT + 4, y + 11, "none this week")]


def _said(page: SeasonPage, clock: LocalClock) -> str:
    """What the picture shows, in words."""
    stage = page.paddock.stage
    half = "unknown" if stage is None else words.likely_range(stage.half_headed, clock)
    text = f"Half of the heads out {half}."
    for active in page.paddock.actives:
        if active.window is not None:
            window = active.window
            text += (
                f" {active.active} {active.status.value}: from "
                f"{words.likely_range(window.open, clock)} until "
                f"{words.likely_range(window.closed, clock)}."
            )
    return text
