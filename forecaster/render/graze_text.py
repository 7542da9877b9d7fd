"""The order in which to graze the paddocks, in words and as plain values."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from forecaster.domain.planning.graze_order import IN_ORDER, Place
from forecaster.domain.record.keeping import Soaked
from forecaster.render import head_words, words
from forecaster.render.json import iso, number
from forecaster.render.page_text import plain
from forecaster.render.words import LocalClock

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy as np

    from forecaster.domain.graze_page import GrazePage, PaddockTurn
    from forecaster.domain.planning.graze_order import Turn
    from forecaster.domain.record.after import AfterNumbers

RULE = (
    "The order is common practice, no source: late heads hard before they turn "
    "brittle, topped feed that goes off, paddocks that ripen unsprayed, topped feed "
    "that keeps."
)
LABEL = (
    "Withholding periods for slaughter, cutting and other stock, and export intervals, "
    "may be longer: your label comes first."
)
BROADLEAF = (
    "sprayed capeweed is eaten more readily and may poison with nitrate: no hungry "
    "stock, feed roughage (an industry course on another spray, seen in excerpt; held "
    "to count here, assumed)"
)


def render(page: GrazePage) -> str:
    """The page in 80 columns."""
    clock = LocalClock(page.place.zone)
    banner = head_words.banner(demo=page.demo, invented=page.weather.invented)
    found = words.wrapped(banner) if banner else []
    found += words.wrapped(
        f"{page.farm}: which paddock to graze next, as of {clock.full(page.now)}"
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
    if each.keeping is not None and each.sprayed is not None:
        found.append(f"sprayed {words.date(each.sprayed)}")
        found += _rain(each, numbers, clock)
        found.append(
            "its feed goes off between "
            f"{' and '.join(map(words.date, each.keeping.held))} (assumed)"
        )
    if each.second_look is not None:
        first, last = each.second_look
        found.append(f"second look {words.date_span(first, last)}")
    return [*found, BROADLEAF] if each.broadleaf else found


def _by(turn: Turn) -> Iterator[str]:
    if turn.by is None:
        return
    day = words.date(turn.by)
    if turn.place is Place.WAITS:
        yield f"not before {day}"
    elif turn.place in {Place.RIPENING, Place.LATE_HEADS}:
        yield f"half the heads are hard dough {day}, likely"


def _rain(each: PaddockTurn, numbers: AfterNumbers, clock: LocalClock) -> Iterator[str]:
    assert each.keeping is not None  # noqa: S101 - the caller has one
    rain = each.keeping.rain
    if rain.soaked is not Soaked.NO and rain.at is not None:
        mm, days = numbers.soaking_rain.value, numbers.soaking_within.value
        yield (
            f"{rain.soaked.value}: {mm:g} mm within {days:g} days by "
            f"{clock.weekday(rain.at)} (threshold assumed)"
        )
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
        "warnings": list(page.weather.warnings),
        "paddocks": [_tree(each) for each in page.turns],
        "notes": list(notes(page)),
    }


def _tree(each: PaddockTurn) -> dict[str, Any]:
    kept, turn = each.keeping, each.turn
    return {
        "paddock": each.paddock,
        "hectares": number(each.hectares),
        "place": turn.place.value,
        "in_order": turn.place in IN_ORDER,
        "by": _day(turn.by),
        "then": None if turn.then is None else turn.then.value,
        "sprayed": _day(each.sprayed),
        "goes_off_between": None if kept is None else [str(day) for day in kept.held],
        "soaked": None if kept is None else kept.rain.soaked.value,
        "soaked_at": None
        if kept is None or kept.rain.at is None
        else iso(kept.rain.at),
        "rain_since_mm": None if kept is None else number(kept.rain.fallen),
        "rain_hours_unknown": None if kept is None else kept.rain.gaps,
        "second_look": None
        if each.second_look is None
        else [str(day) for day in each.second_look],
        "fault": each.fault or None,
    }


def _day(day: np.datetime64 | None) -> str | None:
    return None if day is None else str(day)
