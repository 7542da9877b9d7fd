"""Blocks with the air in them, and what bars the rest of the week."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.outlook import Bar, BlockView
from forecaster.domain.spraying import blocks
from forecaster.domain.spraying.limits import Quantity, Verdict
from forecaster.domain.weather import HOUR

if TYPE_CHECKING:
    from forecaster.domain.outlook import WindowView
    from forecaster.domain.spraying.blocks import Block
    from forecaster.domain.spraying.hours import Judgement, Reason, Why
    from forecaster.domain.weather import Bools, Floats
    from forecaster.service.judging import WeekAir


def block_views(
    judgement: Judgement, air: WeekAir, verdict: Verdict, window: WindowView | None
) -> tuple[BlockView, ...]:
    """Every block of ``verdict``; hours to look at first only while it is light."""
    hours = judgement.verdict == verdict
    if verdict is Verdict.LOOK_FIRST:
        hours &= air.daylight
    return tuple(
        _view(judgement, air, block, verdict, window) for block in blocks.of(hours)
    )


def _view(
    judgement: Judgement,
    air: WeekAir,
    block: Block,
    verdict: Verdict,
    window: WindowView | None,
) -> BlockView:
    rows = slice(block.first, block.end)
    start = judgement.time[block.first]
    end = judgement.time[block.end - 1] + HOUR
    return BlockView(
        start=start,
        end=end,
        verdict=verdict,
        wind_from=mean_side(air.open_ground.frame.wind_from[air.rows][rows]),
        wind_speed=_span(air.quantity(Quantity.WIND_10M)[rows]),
        delta_t=_span(air.quantity(Quantity.DELTA_T)[rows]),
        reasons=_reasons(judgement, rows),
        before=_edge(judgement, block.before),
        after=_edge(judgement, block.after),
        in_window=_inside(start, end, window),
    )


def mean_side(wind_from: Floats) -> float:
    """Mean direction of unit vectors [°]; NaN where none is known."""
    known = np.radians(wind_from[~np.isnan(wind_from)])
    if known.size == 0:
        return float("nan")
    east, north = np.sin(known).mean(), np.cos(known).mean()
    return float(np.degrees(np.arctan2(east, north)) % 360)


def _edge(judgement: Judgement, row: int | None) -> Reason | None:
    return None if row is None else judgement.binding_reason(row)


def _reasons(judgement: Judgement, rows: slice) -> tuple[Reason, ...]:
    """Each limit that decides an hour of a block, at its worst hour."""
    found: dict[tuple[str, Why], list[Reason]] = {}
    for row in range(rows.start, rows.stop):
        reason = judgement.binding_reason(row)
        found.setdefault((reason.limit.id, reason.why), []).append(reason)
    most_first = sorted(found.values(), key=len, reverse=True)
    return tuple(min(same, key=lambda each: each.margin) for same in most_first)


def _span(values: Floats) -> tuple[float, float]:
    known = values[~np.isnan(values)]
    if known.size == 0:
        return (float("nan"), float("nan"))
    return (float(known.min()), float(known.max()))


def _inside(
    start: np.datetime64, end: np.datetime64, window: WindowView | None
) -> bool:
    """Whether a block lies between the likely opening and the likely close."""
    if window is None or window.open.likely is None:
        return False
    closed = window.closed.likely
    return bool(start >= window.open.likely and (closed is None or end <= closed))


def bars_of(judgement: Judgement, daylight: Bools) -> tuple[Bar, ...]:
    """What keeps daylight hours from being good, most hours first."""
    barred = np.flatnonzero(daylight & (judgement.verdict != Verdict.GOOD))
    reasons = [judgement.binding_reason(row) for row in barred.tolist()]
    hours = Counter((each.limit.id, each.why) for each in reasons)
    firsts = {(each.limit.id, each.why): each for each in reversed(reasons)}
    return tuple(
        Bar(firsts[key].limit, firsts[key].why, firsts[key].limit.on_failure, count)
        for key, count in hours.most_common()
    )
