"""What is said of one window, or of the farm, in an alert."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from forecaster.domain.alerts.records import Change, Phase
from forecaster.render import words
from forecaster.render.after_words import STOP_LATE
from forecaster.render.phone_fit import Part

if TYPE_CHECKING:
    from forecaster.domain.alerts.news import Item
    from forecaster.domain.alerts.reading import GoodBlock, Reading, Span
    from forecaster.domain.alerts.records import Event

GRAZE = "graze it soon, once the days of the label are over ('forecaster graze')"
_HEADS = {
    Change.SOON: "opening soon",
    Change.OPENED: "open",
    Change.OPENED_ON_FORECAST: "open, by the forecast",
    Change.CLOSING: "closing",
    Change.FEW_HOURS: "few hours left",
    Change.CLOSED: "closed",
    Change.PRESUMED_CLOSED: "presumed closed, hours not observed",
    Change.NOT_SO_SOON: "not opening so soon",
    Change.NOT_OPEN_YET: "CORRECTION: not open yet",
    Change.MORE_TIME: "more time than thought",
    Change.REOPENED: "CORRECTION: not closed yet",
    Change.SPRAYED: "marked sprayed",
    Change.SPRAY_UNDONE: "not marked sprayed any more",
    Change.RETIRED: "no longer watched",
    Change.MOVED: "close has moved",
    Change.HOURS_FOUND: "good hours now in sight",
    Change.LAST_DAY: "closes within a day",
    Change.LAST_HOURS: "closes within hours",
    Change.UNKNOWN: "cannot be told",
    Change.NOT_SPRAYED: "closed, not marked sprayed",
    Change.STOCK_EARLY: "STOCK PLANNED TOO EARLY",
    Change.LOOK_AGAIN: "second look due",
    Change.SOAKED: "topped feed soaked",
    Change.GOES_OFF: "topped feed goes off",
}
_SINCE = {
    Change.STOCK_EARLY: "a mob is planned here before the days of the label are over: "
    "keep it out ('forecaster outlook')",
    Change.LOOK_AGAIN: f"count heads that escaped; where some did: {STOP_LATE}",
    Change.SOAKED: f"{GRAZE}; rain spoils it",
    Change.GOES_OFF: f"{GRAZE}; it has kept its weeks",
}
_FARM_HEADS = {
    Change.NO_WEATHER: "I HAVE NO WEATHER",
    Change.WEATHER_BACK: "weather is back",
    Change.CLOCK_WRONG: "the computer's clock is wrong",
    Change.TROUBLE: "THE FARM'S FILES CANNOT BE USED",
    Change.WAS_OFF: "no check ran for a while",
    Change.HISTORY_LOST: "what was told before is lost",
    Change.RESTORED: "state restored from a backup",
    Change.FIRST_LOOK: "first check",
}
_OVER = {Change.CLOSED, Change.PRESUMED_CLOSED, Change.SPRAYED, Change.RETIRED,
         Change.NOT_SPRAYED, *_SINCE}  # fmt: skip
_BEFORE = {Change.SOON, Change.NOT_SO_SOON, Change.NOT_OPEN_YET}


def change_of(item: Item) -> Change:
    """What happened to it last."""
    return item.events[-1].change if item.events else Change.HEALTH


def head(item: Item) -> str:
    """What happened, in a few words; what it skipped is told with it."""
    opened = {Change.OPENED, Change.OPENED_ON_FORECAST} & {
        each.change for each in item.events[:-1]
    }
    change = change_of(item)
    said = _HEADS.get(change, item.kept.phase.value)
    if opened and change in {Change.CLOSING, Change.FEW_HOURS}:
        return f"open and already {said}"
    if opened and change in {Change.CLOSED, Change.PRESUMED_CLOSED}:
        return f"opened and {said} unseen"
    return said


def farm_head(event: Event) -> str:
    """What concerns the farm, in a few words."""
    return _FARM_HEADS.get(event.change, event.change.value)


def farm_line(event: Event, clock: words.LocalClock) -> str:
    """What concerns the farm, in a sentence or two."""
    said = farm_head(event)
    because = f": {event.because}" if event.because else ""
    more = {
        Change.NO_WEATHER: " No window can be judged: look at the heads and the sky.",
        Change.CLOCK_WRONG: " Nothing is told by date until it is set.",
        Change.TROUBLE: " The last ones that could be read are used for a day.",
        Change.HISTORY_LOST: " Some of this may have been told before.",
        Change.RESTORED: " Some of this may come twice.",
        Change.WAS_OFF: " What happened meanwhile is told now.",
    }.get(event.change, "")
    moment = clock.hour(event.at)
    if event.change is Change.WAS_OFF:
        moment = f"{moment} to {clock.hour(event.made)}"
    return f"{said} ({moment}){because}.{more}"


def name(item: Item) -> str:
    """The paddock as its people call it."""
    return item.reading.paddock if item.reading else item.kept.key.paddock


def dates(span: Span, clock: words.LocalClock) -> str:
    """``15 Oct (12 Oct to 17 Oct)``; *later* where the weather ends first."""
    return words.likely_range(span, clock)  # type: ignore[arg-type]  # the same three


def blocks_words(reading: Reading, clock: words.LocalClock, *, usable: bool) -> str:
    """The good hours that are left; none are told on weather that is too old."""
    if not usable:
        return "HOURS CANNOT BE JUDGED: no weather"
    if reading.against:
        return f"no hours are named: {reading.against}"
    if not reading.blocks:
        return "no good hours in sight"
    told = "; ".join(_block(each, clock) for each in reading.blocks[:3])
    more = len(reading.blocks) - 3
    only = "the only good hours before it shuts: " if _only(reading) else ""
    return f"{only}{told}" + (
        f"; and {words.count(more, 'block')} more" if more > 0 else ""
    )


def _only(reading: Reading) -> bool:
    return len(reading.blocks) == 1 and reading.in_sight


def _block(block: GoodBlock, clock: words.LocalClock) -> str:
    wind = f"{words.side(block.wind_from)} to {words.kmh(block.wind_speed)} km/h"
    holds = (
        "" if block.chance != block.chance else f", holds {words.in_ten(block.chance)}"
    )
    return f"{clock.span(block.start, block.end)} {wind}{holds}"


def lines(item: Item, clock: words.LocalClock, *, usable: bool) -> list[str]:
    """One window in full."""
    said = [f"{name(item)}: {head(item)}"]
    said += [f"  {part}" for part in _details(item, clock, usable=usable)]
    return [*said, ""]


def _details(item: Item, clock: words.LocalClock, *, usable: bool) -> list[str]:
    reading, change = item.reading, change_of(item)
    because = dict.fromkeys(each.because for each in item.events if each.because)
    found = [f"because {each}" for each in because]
    steps = [each for each in item.events[:-1] if each.change is not Change.SOON]
    if steps:
        told = ", ".join(f"{each.change.value} {clock.hour(each.at)}" for each in steps)
        found.append(f"meanwhile: {told}")
    if reading is None:
        return found
    found.insert(0, f"{reading.weed}, {item.kept.key.active}, {reading.hectares:g} ha")
    if reading.fault:
        return [*found, f"cannot be told: {reading.fault}"]
    if change not in _OVER:
        if change in _BEFORE:
            found.append(f"opens {dates(reading.open, clock)}; count heads")
        found.append(f"closes {dates(reading.close, clock)}")
        found.append(blocks_words(reading, clock, usable=usable))
    elif change in _SINCE:
        asked = dict.fromkeys(each.change for each in item.events)
        found += [_SINCE[each] for each in asked if each in _SINCE]
    elif change in {Change.CLOSED, Change.PRESUMED_CLOSED}:
        found.append(f"closed {dates(reading.close, clock)}, not marked sprayed")
    return found


def standing(item: Item, clock: words.LocalClock, *, usable: bool) -> str:
    """One window in one line of a digest."""
    reading, key = item.reading, item.kept.key
    phase = "sprayed" if item.kept.sprayed else item.kept.phase.value
    if reading is None:
        return f"{name(item)}, {key.active}: {phase}"
    who = f"{reading.paddock}, {reading.weed}, {key.active}"
    if reading.fault or item.kept.unknown:
        return f"{who}: CANNOT BE TOLD: {reading.fault or 'a date is missing'}"
    when = {
        Phase.NOT_OPEN: f"opens {dates(reading.open, clock)}",
        Phase.OPENING_SOON: f"opens {dates(reading.open, clock)}",
        Phase.CLOSED: f"closed {dates(reading.close, clock)}",
    }.get(item.kept.phase, f"closes {dates(reading.close, clock)}")
    hours = ""
    if item.kept.phase in {Phase.OPEN, Phase.CLOSING} and not item.kept.sprayed:
        hours = "; " + blocks_words(reading, clock, usable=usable)
    return f"{who}: {phase}; {when}{hours}"


def phone_parts(
    item: Item, clock: words.LocalClock, age: Part, *, usable: bool
) -> list[Part]:
    """One window as clauses of a line for a phone, the most needed first."""
    reading, change = item.reading, change_of(item)
    start = Part(f"{head(item)}.", 0)
    if reading is None or reading.fault:
        return [start, age]
    weed = Part(f"{reading.weed}.", 6)
    if change in {Change.CLOSED, Change.PRESUMED_CLOSED}:
        return [start, weed, Part(f"Shut {dates(reading.close, clock)}.", 3), age]
    if change in _OVER:
        return [start, weed]
    if change in _BEFORE:
        opens = Part(f"Opens {dates(reading.open, clock)}.", 2)
        return [start, weed, opens, Part("Count heads.", 4), age]
    shuts = Part(f"Shuts {dates(reading.close, clock)}.", 5)
    if not usable or not reading.blocks:
        none = "No good hours in sight." if usable else "Hours cannot be judged."
        if usable and reading.against:
            none = f"No hours named: {reading.against}."
        return [start, weed, shuts, Part(none, 1), age]
    return [start, *_phone_block(item, reading, clock), shuts, weed, age]


def tells_hours(item: Item, *, usable: bool) -> bool:
    """Whether its line for a phone names hours to spray in."""
    reading, change = item.reading, change_of(item)
    quiet = change in _OVER or change in _BEFORE
    return (
        bool(reading and not reading.fault and reading.blocks) and usable and not quiet
    )


def _phone_block(item: Item, reading: Reading, clock: words.LocalClock) -> list[Part]:
    block = reading.blocks[0]
    wind = f"{words.side(block.wind_from)} {words.kmh(block.wind_speed)} km/h."
    when = f"{item.kept.key.active} {clock.span(block.start, block.end)},"
    only = "Only block before it shuts" if _only(reading) else "First block"
    known = not math.isnan(block.chance)
    holds = f" ({words.in_ten(block.chance)})." if known else "."
    return [
        Part(when[0].upper() + when[1:], 1),
        Part(wind, 2),
        Part(only + holds, 3),
    ]
