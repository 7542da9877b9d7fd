"""Every hour of a paddock's week, as text and as plain values."""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING, Any

from forecaster.render import chance_words, words
from forecaster.render.flag_words import flag_tree, refusal_words
from forecaster.render.json import reason_tree
from forecaster.render.plain_values import iso, number
from forecaster.render.words import LocalClock

if TYPE_CHECKING:
    from forecaster.domain.paddock_hours import HourView, PaddockHours

LEFT = 45
"""Columns before the reasons."""
HEAD = (
    f"{'hour':5} {'verdict':10} {'in 10':>5} {'wind':>9} {'DeltaT':>6} {'inv':>4} "
    "reasons"
)
KEY = (
    "in 10 = chance in ten that the hour keeps within the label. Wind in km/h at 10 m. "
    "Delta T in K. inv = risk of a surface inversion."
)


def render(week: PaddockHours) -> str:
    """One line an hour; times local, wind at 10 m in km/h."""
    clock = LocalClock(week.place.zone)
    title = (
        f"{week.paddock}: every hour for {week.active} on {week.weed_name}, "
        f"{clock.full(week.now)}"
    )
    found = ["INVENTED WEATHER"] if week.invented else []
    found += words.wrapped(title)
    found += [*words.wrapped(KEY), *words.wrapped(chance_words.sentence(week.basis))]
    day = ""
    for hour in week.hours:
        today = clock.weekday(hour.time)
        if today != day:
            found += ["", f"{today}", HEAD]
            day = today
        found += _hour(hour, clock)
    return "\n".join(found) + "\n"


def _hour(hour: HourView, clock: LocalClock) -> list[str]:
    wind = f"{words.side(hour.wind_from)} {words.kmh(hour.wind_speed)}"
    delta_t = "-" if math.isnan(hour.delta_t) else f"{hour.delta_t:.1f}"
    risk = "-" if math.isnan(hour.inversion_risk) else _risk(hour.inversion_risk)
    left = (
        f"{clock.local(hour.time):%H:%M} {words.VERDICT_WORDS[hour.verdict]:10} "
        f"{words.tenths(hour.chance):>5} {wind:>9} {delta_t:>6} {risk:>4}"
    )
    towards = f" ({', '.join(hour.towards)} downwind)" if hour.towards else ""
    refused = (refusal_words(each, hour.time, clock) for each in hour.refused)
    said = "; ".join((words.reasons_words(hour.reasons) + towards, *refused))
    body = textwrap.wrap(said, words.WIDTH - LEFT)
    first, *rest = body
    return [f"{left:{LEFT}}{first}", *(f"{'':{LEFT}}{part}" for part in rest)]


def _risk(level: float) -> str:
    return ("low", "mod", "high")[int(level)]


def tree(week: PaddockHours) -> dict[str, Any]:
    """The week as plain dicts and lists; units stand in the names."""
    return {
        "farm": week.farm,
        "paddock": week.paddock,
        "active": week.active,
        "weed_name": week.weed_name,
        "issued_at": iso(week.now),
        "invented": week.invented,
        "chance_from": chance_words.tree(week.basis),
        "hours": [
            {
                "time": iso(hour.time),
                "verdict": words.VERDICT_WORDS[hour.verdict],
                "chance": number(hour.chance),
                "wind_from_deg": number(hour.wind_from),
                "wind_speed_10m_ms": number(hour.wind_speed),
                "delta_t_k": number(hour.delta_t),
                "inversion_risk": number(hour.inversion_risk),
                "rain_mm": number(hour.rain),
                "downwind": list(hour.towards),
                "reasons": [reason_tree(reason) for reason in hour.reasons],
                "flagged": [flag_tree(each) for each in hour.flagged],
                "refused": [flag_tree(each) for each in hour.refused],
            }
            for hour in week.hours
        ],
    }
