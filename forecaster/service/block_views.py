"""Blocks with the air in them, and what bars the rest of the week."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
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
    from forecaster.service.chance import Chances
    from forecaster.service.judging import WeekAir


def block_views(
    judgement: Judgement,
    air: WeekAir,
    verdict: Verdict,
    window: WindowView | None,
    chances: Chances,
) -> tuple[BlockView, ...]:
    """Every block of ``verdict``; hours to look at first only while it is light."""
    hours = judgement.verdict == verdict
    if verdict is Verdict.LOOK_FIRST:
        hours &= air.daylight
    return tuple(
        replace(
            _view(judgement, air, block, verdict, window),
            chance=chances.of_block(block),
            lead_days=chances.lead_of(block),
        )
        for block in blocks.of(hours)
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
        wind_from=mean_side(air.air.frame.wind_from[air.rows][rows]),
        wind_speed=_span(air.quantity(Quantity.WIND_10M)[rows]),
        delta_t=_span(air.quantity(Quantity.DELTA_T)[rows]),
        reasons=_reasons(judgement, rows),
        before=_edge(judgement, block.before),
        after=_edge(judgement, block.after),
        in_window=_inside(start, end, window, air.solar_offset),
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
    start: np.datetime64,
    end: np.datetime64,
    window: WindowView | None,
    offset: np.timedelta64,
) -> bool:
    """Whether a block lies on the days from the likely opening to the likely close.

    Whole days: an hour of a date that is good to a week would be false precision.
    """
    if window is None or window.open.likely is None:
        return False
    first, last = _day(start + offset), _day(end + offset - HOUR)
    closed = window.closed.likely
    return bool(
        first >= _day(window.open.likely + offset)
        and (closed is None or last <= _day(closed + offset))
    )


def _day(moment: np.datetime64) -> np.datetime64:
    day: np.datetime64 = moment.astype("datetime64[D]")
    return day


def bars_of(judgement: Judgement, daylight: Bools) -> tuple[Bar, ...]:
    """What keeps daylight hours from being good, most hours first."""
    barred = np.flatnonzero(daylight & (judgement.verdict != Verdict.GOOD))
    counted = Counter(
        (int(judgement.binding[row]), Verdict(int(judgement.verdict[row])))
        for row in barred.tolist()
    )
    bars = []
    for (limit, verdict), hours in counted.most_common():
        here = (judgement.binding == limit) & (judgement.verdict == verdict) & daylight
        why = judgement.reason(limit, int(np.flatnonzero(here)[0])).why
        bars.append(Bar(judgement.limits[limit], why, verdict, hours))
    return tuple(bars)
