"""The order in which to graze the paddocks, in words and as plain values."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from forecaster.domain.planning.graze_order import IN_ORDER, Place
from forecaster.domain.record.keeping import Soaked
from forecaster.render import head_words, words
from forecaster.render.after_json import day_text
from forecaster.render.after_json import tree as after_tree
from forecaster.render.after_words import (
    BROADLEAF,
    early_words,
    feed_words,
    look_again_words,
    sprayed_words,
)
from forecaster.render.page_text import plain
from forecaster.render.plain_values import iso, number
from forecaster.render.words import LocalClock

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.domain.graze_page import GrazePage, PaddockTurn
    from forecaster.domain.planning.graze_order import Turn
    from forecaster.domain.record.after import AfterNumbers
    from forecaster.domain.record.keeping import RainAfter

RULE = (
    "The order is common practice, no source: late heads hard before they turn "
    "brittle, topped feed that goes off, paddocks that ripen unsprayed, topped feed "
    "that keeps; last what is dry feed by now."
)
LABEL = (
    "Withholding periods for slaughter, cutting and other stock, and export intervals, "
    "may be longer: your label comes first."
)


def render(page: GrazePage) -> str:
    """The page in 80 columns."""
    clock = LocalClock(page.place.zone)
    banner = head_words.banner(demo=page.demo, invented=page.weather.invented)
    found = words.wrapped(banner) if banner else []
    found += words.wrapped(
        f"{page.farm}: which paddock to graze next, as of {clock.full(page.now)}, "
        f"{_age(page.weather.age_hours)}"
    )
    for warning in page.weather.warnings:
        found += words.bullet(warning)
    listed = [each for each in page.turns if each.turn.place in IN_ORDER]
    found += ["", "In this order:"] if listed else ["", "No paddock to graze now."]
    for place, each in enumerate(listed, start=1):
        found += _lines(f"{place}. ", each, page, clock)
    left = [each for each in page.turns if each.turn.place not in IN_ORDER]
    found += ["", "Not now:"] if left else []
    for each in left:
        found += _lines("- ", each, page, clock)
    found += ["", *(line for said in notes(page) for line in words.bullet(said))]
    return "\n".join(found) + "\n"


def _age(hours: float) -> str:
    if math.isnan(hours):
        return "nobody knows how old the weather is"
    return f"weather {hours:.0f} h old"


def _lines(
    head: str, each: PaddockTurn, page: GrazePage, clock: LocalClock
) -> list[str]:
    said = "; ".join(reasons(each, page.numbers, clock))
    title = f"{head}{plain(each.paddock)}, {each.hectares:.0f} ha: {said}"
    first, *rest = words.wrapped(title, words.WIDTH - 4)
    return [f"  {first}", *(f"    {line}" for line in rest)]


def reasons(each: PaddockTurn, numbers: AfterNumbers, clock: LocalClock) -> list[str]:
    """Where it stands and why, the weightiest first."""
    turn = each.turn
    found = [turn.place.value, *_by(turn)]
    if each.fault:
        found.append(plain(each.fault))
    if turn.then is not None:
        found.append(f"then {turn.then.value}")
    if each.after is not None:
        found += [
            sprayed_words(each.after),
            *filter(None, [early_words(each.after)]),
            *_rain(each.after.keeping.rain, numbers),
            feed_words(each.after, clock),
            look_again_words(each.after),
        ]
        found += [BROADLEAF] if each.after.broadleaf else []
    return found


def _by(turn: Turn) -> Iterator[str]:
    if turn.by is None:
        return
    day = words.date(turn.by)
    if turn.place is Place.WAITS:
        yield f"not before {day}"
    elif turn.place is Place.RIPENING:
        yield f"half the heads are hard dough {day}, likely"


def _rain(rain: RainAfter, numbers: AfterNumbers) -> Iterator[str]:
    if rain.soaked is not Soaked.NO:
        mm, days = numbers.soaking_rain.value, numbers.soaking_within.value
        yield f"{mm:g} mm within {days:g} days soak it (assumed)"
    yield f"{rain.fallen:.0f} mm since"
    if rain.gaps:
        hours = words.count(rain.gaps, "hour")
        yield f"rain of {hours} since is not known: read your gauge"


def notes(page: GrazePage) -> Iterator[str]:
    """What belongs under every page."""
    yield RULE
    held = " to ".join(f"{each.value / 7:g}" for each in page.numbers.held)
    after = page.numbers.held_after_soaking.value
    yield (
        f"Topped feed is held to keep {held} weeks where it stays dry, and "
        f"{after:g} days after a soaking (assumed). Your eye and gauge know better."
    )
    yield LABEL


def tree(page: GrazePage) -> dict[str, Any]:
    """The page as plain values."""
    return {
        "farm": page.farm,
        "at": iso(page.now),
        "weather_age_h": number(page.weather.age_hours),
        "warnings": list(page.weather.warnings),
        "paddocks": [_tree(each) for each in page.turns],
        "notes": list(notes(page)),
    }


def _tree(each: PaddockTurn) -> dict[str, Any]:
    turn = each.turn
    return {
        "paddock": each.paddock,
        "hectares": number(each.hectares),
        "place": turn.place.value,
        "in_order": turn.place in IN_ORDER,
        "by": day_text(turn.by),
        "then": None if turn.then is None else turn.then.value,
        "sprayed": None if each.after is None else day_text(each.after.sprayed),
        "after": None if each.after is None else after_tree(each.after),
        "fault": each.fault or None,
    }
