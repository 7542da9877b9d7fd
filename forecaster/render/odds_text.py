"""The chances to get paddocks done, in words and day by day."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from forecaster.render import head_words, words
from forecaster.render.page_text import plain
from forecaster.render.plain_values import iso, number
from forecaster.render.words import LocalClock

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.domain.odds_page import OddsPage, PaddockOdds

ROW = "    {:12}{:>18}{:>20}{:>13}"


def render(page: OddsPage, *, days: bool = False) -> str:
    """The page in 80 columns; ``days`` adds the table of each paddock."""
    clock = LocalClock(page.place.zone)
    banner = head_words.banner(demo=page.demo, invented=page.weather.invented)
    found = words.wrapped(banner) if banner else []
    found += words.wrapped(
        f"{page.farm}: chances to get it done, as of {clock.full(page.now)}, weather "
        f"{page.weather.age_hours:.0f} h old; hours are known to "
        f"{clock.hour(page.until)}"
    )
    for warning in page.weather.warnings:
        found += words.bullet(warning)
    for each in page.paddocks:
        found += ["", *words.bullet(f"{title(each)}: {phrase(each, clock)}")]
        if days and each.days:
            found += list(_table(each, clock))
    found += ["", *(line for said in notes(page) for line in words.bullet(said))]
    for caution in page.cautions:
        found += words.bullet(caution)
    return "\n".join(found) + "\n"


def title(each: PaddockOdds) -> str:
    """``Back Road, 55 ha, glyphosate``."""
    active = f", {each.active}" if each.active else ""
    return f"{plain(each.paddock)}, {each.hectares:.0f} ha{active}"


def phrase(each: PaddockOdds, clock: LocalClock) -> str:
    """``7 in 10 if you go by Wed 14 Oct, 4 in 10 if you wait for Thu 15 Oct``."""
    if each.reason:
        return plain(each.reason)
    if each.first is None:
        return f"no good hours in one run of {each.run} h inside its window"
    go = each.days[each.first]
    said = f"{words.in_ten(go.by)} if you go by {clock.weekday(go.start)}"
    if each.first + 1 < len(each.days):
        wait = each.days[each.first + 1]
        said += (
            f", {words.in_ten(wait.waiting)} if you wait for "
            f"{clock.weekday(wait.start)}"
        )
    return f"{said}; it takes {each.hours:.1f} h"


def _table(each: PaddockOdds, clock: LocalClock) -> Iterator[str]:
    yield ROW.format("day", "done by its end", "if you wait for it", "usual here")
    for day in each.days:
        chances = map(words.in_ten, (day.by, day.waiting, day.habit))
        yield ROW.format(clock.weekday(day.start), *chances)


def notes(page: OddsPage) -> list[str]:
    """What the chances rest on."""
    air = (
        f"{page.members} members of the forecast"
        if page.members
        else "one forecast and how far such forecasts are out"
    )
    usual = (
        f"Usual here: how often fit days follow on unfit ones at {page.station} in "
        "October, without any forecast."
        if page.station
        else "No station near enough says how often days are fit here."
    )
    speed = page.rig or "an assumed speed (type [rig] in the farm file)"
    rests = (
        "A chance says that the window is still open and that a run of good hours "
        f"long enough holds: {page.weather.traces} traces of the season times {air}. "
        f"Hours after the last one known count as none. Speed of: {speed}."
    )
    return [rests, usual]


def tree(page: OddsPage) -> dict[str, Any]:
    """The page as plain values."""
    return {
        "farm": page.farm,
        "demo": page.demo,
        "at": iso(page.now),
        "until": iso(page.until),
        "members": page.members,
        "traces": page.weather.traces,
        "station": page.station or None,
        "rig": page.rig or None,
        "warnings": list(page.weather.warnings),
        "paddocks": [_paddock(each) for each in page.paddocks],
        "cautions": list(page.cautions),
    }


def _paddock(each: PaddockOdds) -> dict[str, Any]:
    first = None if each.first is None else iso(each.days[each.first].start)
    return {
        "paddock": each.paddock,
        "active": each.active or None,
        "hectares": number(each.hectares),
        "hours": number(each.hours),
        "run_h": each.run,
        "reason": each.reason or None,
        "first_day": first,
        "days": [
            {
                "from": iso(day.start),
                "done_by_end": number(day.by),
                "if_waiting": number(day.waiting),
                "usual": number(day.habit),
            }
            for day in each.days
        ],
    }
