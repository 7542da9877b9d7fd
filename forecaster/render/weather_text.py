"""A farm's weather as text: stretches, warnings and a fan drawn in letters."""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING, Any

from forecaster.render import words
from forecaster.render.flag_words import flag_tree
from forecaster.render.plain_values import iso, number
from forecaster.render.words import LocalClock

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.weather_report import Fan, Stretch, WeatherReport

LEAST, MOST = -5.0, 35.0
"""[°C] ends of the drawn scale."""
COLUMNS = 40


def render(report: WeatherReport) -> str:
    """The report in 80 columns."""
    clock = LocalClock(report.place.zone)
    found = ["INVENTED WEATHER"] if report.invented else []
    found += [f"{report.farm}: weather, {clock.full(report.now)}", ""]
    found += [
        f"{'stretch':11}{'from':13}{'to':13}{'steps':13}{'lacking':9}{'age':11}source"
    ]
    for stretch in report.stretches:
        found += _stretch(stretch, clock)
    found += ["", f"The season runs on {report.traces} traces."]
    found += [f"Days filled from past years or their neighbours: {report.filled}."]
    for text in (*report.warnings, *report.notes):
        found += words.bullet(text)
    found += ["", *_drawn(report.fan)]
    return "\n".join(found) + "\n"


def _stretch(stretch: Stretch, clock: LocalClock) -> list[str]:
    age = "-" if math.isnan(stretch.age_hours) else f"{stretch.age_hours:.0f} h"
    age += "" if stretch.fresh else " kept"
    left = (
        f"{stretch.kind:11}{_date(stretch.first, clock):13}"
        f"{_date(stretch.last, clock):13}{f'{stretch.count:,} {stretch.step}':13}"
        f"{stretch.missing:<9,}{age:11}"
    )
    first, *rest = textwrap.wrap(stretch.source, words.WIDTH - len(left)) or [""]
    found = [left + first, *(f"{'':{len(left)}}{part}" for part in rest)]
    if stretch.bias:
        found.append(
            f"{'':11}brought to {stretch.level} by up to {stretch.bias:+.1f} K"
        )
    return found


def _date(moment: np.datetime64, clock: LocalClock) -> str:
    local = clock.local(moment)
    return f"{local.day} {local:%b %Y}"


def _drawn(fan: Fan) -> list[str]:
    """One line a day: a tenth of traces lies outside the bar at either end."""
    if fan.day.size == 0:
        return ["No temperature is known beyond today."]
    scale = f"{LEAST:<+4.0f}{'':{COLUMNS - 7}}{MOST:+3.0f}"
    found = [
        "Mean temperature of the day, early to late (1 in 10 outside each end), °C"
    ]
    found.append(f"{'day':11}{'low':>5}{'mid':>6}{'high':>6}   {scale}")
    shown = [*range(min(14, fan.day.size)), *range(14, fan.day.size, 7)]
    for row in shown:
        span = fan.low[row], fan.middle[row], fan.high[row]
        date = fan.day[row].astype("datetime64[D]").item()
        figures = "".join(
            "   -  " if math.isnan(value) else f"{value:6.1f}" for value in span
        )
        found.append(f"{date.day:2} {date:%b}{figures:>22}   {_bar(*span)}".rstrip())
    return found


def _bar(low: float, middle: float, high: float) -> str:
    if math.isnan(low + middle + high):
        return "not known"
    first, mark, last = (_column(value) for value in (low, middle, high))
    return "".join(
        "o" if at == mark else "-" if first <= at <= last else " "
        for at in range(COLUMNS)
    )


def _column(value: float) -> int:
    share = (value - LEAST) / (MOST - LEAST)
    return min(max(round(share * (COLUMNS - 1)), 0), COLUMNS - 1)


def tree(report: WeatherReport) -> dict[str, Any]:
    """The report as plain dicts and lists."""
    fan = report.fan
    return {
        "farm": report.farm,
        "now": iso(report.now),
        "invented": report.invented,
        "stretches": [
            {
                "kind": each.kind,
                "source": each.source,
                "first": iso(each.first),
                "last": iso(each.last),
                "steps": each.step,
                "count": each.count,
                "missing": each.missing,
                "age_h": number(each.age_hours),
                "fresh": each.fresh,
                "bias_k": each.bias,
                "brought_to": each.level if each.bias else None,
            }
            for each in report.stretches
        ],
        "traces": report.traces,
        "filled_days": report.filled,
        "warnings": list(report.warnings),
        "notes": list(report.notes),
        "flagged": [flag_tree(each) for each in report.flagged],
        "fan": [
            {
                "day": str(day.astype("datetime64[D]")),
                "low_c": number(float(low)),
                "middle_c": number(float(middle)),
                "high_c": number(float(high)),
            }
            for day, low, middle, high in zip(
                fan.day, fan.low, fan.middle, fan.high, strict=True
            )
        ],
    }
