"""A hindcast as line drawings, each with a text that says the same.

Solid ink is what went well, hatching what was called good and was not fit, blank what
was fit and was missed.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from forecaster.domain.spraying.limits import Quantity
from forecaster.render import svg
from forecaster.render.hindcast_text import (
    NAMES,
    brier_words,
    days,
    in_hundred,
    score_of,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.domain.hindcast_report import Hindcast, LeadScore
    from forecaster.domain.verification.calls import Calls
    from forecaster.domain.verification.chances import ReliabilityTable
    from forecaster.domain.verification.errors import ErrorSummary

PLOTTED = (Quantity.WIND_10M, Quantity.DELTA_T)
LINES = (
    ("root mean square", "rmse", ""),
    ("mean size", "mae", "6 3"),
    ("bias", "bias", "1.5 3"),
)
"""Name, field and dashes of each line of errors."""
LABEL = 13
"""[px] least distance between the names of two lines."""


def reliability(hindcast: Hindcast, lead: int) -> str:
    """How often each chance told ``lead`` days ahead came true.

    Raises
    ------
    KeyError
        If the hindcast has none of that lead.
    ValueError
        If no chances were told.
    """
    score = score_of(hindcast, lead)
    table, brier = score.reliability, score.brier
    if table is None or brier is None or not brier.count:
        raise ValueError(f"no chances were told {days(lead)} ahead")
    panel = svg.Panel(60, 40, 400, 380, 0.0, 1.0, 0.0, 1.0)
    ticks = [(tenth / 5, f"{tenth / 5:.1f}") for tenth in range(6)]
    usual = panel.y(table.climate)
    parts = [
        svg.text(60, 22, f"Chances told {days(lead)} ahead, and what came", size=14),
        *panel.axes(ticks, ticks),
        svg.line([panel.at(0, 0), panel.at(1, 1)], width=0.5),
        svg.line([(60, usual), (400, usual)], width=0.5, dash="6 3"),
        svg.text(404, usual + 4, "usual share"),
        svg.text(404, panel.y(1.0) + 4, "as told"),
        svg.text(230, 412, "chance told", anchor="middle"),
        svg.upright(18, 210, "share that came true"),
        *_reliability_points(table, panel),
        svg.text(44, 436, "hours", anchor="end"),
        svg.text(60, 470, "Bars are 95 % limits as if hours were independent."),
    ]
    words = f"{brier_words(brier)} {_reliability_words(table)}"
    return svg.drawing(480, 484, f"Chances told {days(lead)} ahead", words, parts)


def _filled(table: ReliabilityTable) -> list[int]:
    return [number for number, count in enumerate(table.count.tolist()) if count]


def _reliability_points(table: ReliabilityTable, panel: svg.Panel) -> list[str]:
    parts = []
    for number in _filled(table):
        x = panel.x(float(table.said[number]))
        low, high = (
            panel.y(float(table.low[number])),
            panel.y(float(table.high[number])),
        )
        # Two heights, since bins may lie nearer than their numbers are wide.
        row = 436 + 13 * (number % 2)
        parts += [
            svg.line([(x, low), (x, high)], width=1.5),
            svg.dot(x, panel.y(float(table.share[number]))),
            svg.text(x, row, f"{int(table.count[number]):,}", anchor="middle"),
        ]
    return parts


def _reliability_words(table: ReliabilityTable) -> str:
    return " ".join(
        f"Told {table.said[number]:.2f}: came true {table.share[number]:.2f} "
        f"({table.low[number]:.2f} to {table.high[number]:.2f}) "
        f"of {int(table.count[number]):,} hours."
        for number in _filled(table)
    )


def error_by_lead(hindcast: Hindcast) -> str:
    """Bias, mean and root-mean-square error of wind and Delta T by day of lead.

    Raises
    ------
    ValueError
        If the hindcast has no lead.
    """
    scores = _some(hindcast)
    parts = [svg.text(60, 22, "Error of the forecast by days of lead", size=14)]
    words = []
    for number, quantity in enumerate(PLOTTED):
        left = 60.0 + 360.0 * number
        name, factor = NAMES[quantity]
        parts += _error_panel(scores, quantity, factor, left, name)
        words += [
            _error_words(name, score.lead, score.errors[quantity], factor)
            for score in scores
        ]
    title = "Error of the forecast by days of lead"
    return svg.drawing(760, 340, title, " ".join(words), parts)


def _some(hindcast: Hindcast) -> tuple[LeadScore, ...]:
    if not hindcast.leads:
        raise ValueError("the hindcast has no lead")
    return hindcast.leads


def _value(score: LeadScore, quantity: Quantity, field: str, factor: float) -> float:
    return float(getattr(score.errors[quantity], field)) * factor


def _error_panel(
    scores: Sequence[LeadScore],
    quantity: Quantity,
    factor: float,
    left: float,
    name: str,
) -> list[str]:
    values = {
        field: [
            (score.lead, _value(score, quantity, field, factor)) for score in scores
        ]
        for _, field, _ in LINES
    }
    known = [y for each in values.values() for _, y in each if not math.isnan(y)]
    low, high = min([0.0, *known]), max([0.0, *known])
    room = 0.08 * (high - low) or 1.0
    panel = svg.Panel(
        left, 60, left + 200, 280,
        scores[0].lead - 0.5, scores[-1].lead + 0.5, low - room, high + room,
    )  # fmt: skip
    ticks = [(each, f"{each:g}") for each in svg.steps(panel.y_low, panel.y_high)]
    parts = [
        svg.text(left, 48, name),
        *panel.axes([(score.lead, str(score.lead)) for score in scores], ticks),
        svg.text(left + 100, 314, "days of lead", anchor="middle"),
        svg.line([(left, panel.y(0.0)), (left + 200, panel.y(0.0))], width=0.5),
    ]
    return parts + _error_lines(values, panel)


def _error_lines(
    values: dict[str, list[tuple[int, float]]], panel: svg.Panel
) -> list[str]:
    parts, ends = [], []
    for name, field, dash in LINES:
        points = [
            panel.at(lead, value)
            for lead, value in values[field]
            if not math.isnan(value)
        ]
        if points:
            parts.append(svg.line(points, width=1.5, dash=dash))
            parts += [svg.dot(x, y, filled=field == "rmse") for x, y in points]
            ends.append((name, points[-1][1] + 4))
    heights = svg.apart([y for _, y in ends], LABEL)
    parts += [
        svg.text(panel.right + 6, y, name)
        for (name, _), y in zip(ends, heights, strict=True)
    ]
    return parts


def _error_words(name: str, lead: int, errors: ErrorSummary, factor: float) -> str:
    bias, mae, rmse = (
        float(each) * factor for each in (errors.bias, errors.mae, errors.rmse)
    )
    return (
        f"{name}, {days(lead)}: bias {bias:.1f}, mean size {mae:.1f}, "
        f"root mean square {rmse:.1f}."
    )


def calls_by_lead(hindcast: Hindcast) -> str:
    """Hours called good and hours that were fit, by day of lead.

    Raises
    ------
    ValueError
        If the hindcast has no lead.
    """
    scores = _some(hindcast)
    most = max(1, *(max(x.calls.called, x.calls.fit) for x in scores))
    scale = 330.0 / most
    parts = [
        svg.text(20, 22, "Hours called good, and hours that were fit", size=14),
        *_key(),
    ]
    for number, score in enumerate(scores):
        parts += _call_bars(score, 70.0 + 58.0 * number, scale)
    words = " ".join(_call_words(score.lead, score.calls) for score in scores)
    height = 80 + 58 * len(scores)
    title = "Hours called good, and hours that were fit"
    return svg.drawing(760, height, title, words, parts)


def _key() -> list[str]:
    parts = []
    for x, fill, words in (
        (20, "solid", "called good and fit"),
        (200, "hatched", "called good, not fit"),
        (380, "blank", "fit, not called good"),
    ):
        parts += [svg.bar(x, 36, 20, 10, fill=fill), svg.text(x + 26, 45, words)]
    return parts


def _call_bars(score: LeadScore, top: float, scale: float) -> list[str]:
    calls, left = score.calls, 150.0
    hits = calls.hits * scale
    rows = (
        ("called good", calls.false_goes, "hatched", _called_note(calls)),
        ("were fit", calls.missed, "blank", _fit_note(calls)),
    )
    parts = [svg.text(20, top + 22, days(score.lead))]
    for number, (label, rest, fill, note) in enumerate(rows):
        y = top + 22.0 * number
        end = left + hits + rest * scale
        parts += [
            svg.text(left - 8, y + 12, label, anchor="end"),
            svg.bar(left, y, hits, 15, fill="solid"),
            svg.bar(left + hits, y, rest * scale, 15, fill=fill),
            svg.text(end + 8, y + 12, note),
        ]
    return parts


def _called_note(calls: Calls) -> str:
    return (
        f"{calls.called:,} h, of them not fit {calls.false_goes:,} "
        f"({in_hundred(calls.false_go_share)} in 100)"
    )


def _fit_note(calls: Calls) -> str:
    return (
        f"{calls.fit:,} h, of them missed {calls.missed:,} "
        f"({in_hundred(1.0 - calls.hit_share)} in 100)"
    )


def _call_words(lead: int, calls: Calls) -> str:
    return (
        f"{days(lead)}: called good {_called_note(calls)}; were fit {_fit_note(calls)}."
    )
