"""What is said of a paddock since its spray: stock, heads that escaped, feed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.domain.record.after_spray import Due
from forecaster.domain.record.keeping import Soaked
from forecaster.render import words

if TYPE_CHECKING:
    from forecaster.domain.record.after_spray import AfterSpray, Escaped
    from forecaster.render.words import LocalClock

READ_LABEL = "read your label before stock go in"
GRAZE = "its feed goes off: see 'forecaster graze'"
BROADLEAF = (
    "sprayed capeweed is eaten more readily and may poison with nitrate: no hungry "
    "stock, feed roughage (an industry course on another spray, seen in excerpt; held "
    "to count here, assumed)"
)
STOP_LATE = "a second pass, hay or silage, hard grazing, or leave them"
"""What is left where heads escaped (common practice, no source)."""


def stock_words(after: AfterSpray) -> str:
    """``stock not before Sun 11 Oct``."""
    if after.not_before is None:
        return READ_LABEL
    day = words.calendar_day(after.not_before)
    return f"stock not before {day:%a} {words.date(after.not_before)}"


def early_words(after: AfterSpray) -> str:
    """``CLASH: Hoggets here 14 to 24 Oct``, or nothing."""
    if not after.too_early:
        return ""
    spans = (
        f"{each.mob} here {words.date_span(each.start, each.end)}"
        for each in after.too_early
    )
    return f"CLASH: {'; '.join(spans)}"


def sprayed_words(after: AfterSpray) -> str:
    """When it was sprayed, and with what as far as the record knows."""
    said, told = f"sprayed {words.date(after.sprayed)}", after.recorded
    if after.earlier is not None:
        said, told = f"{said}, and {words.date(after.earlier.day)}", after.earlier
    return (
        said if told is None else f"{said} with {' and '.join(told.actives)}, recorded"
    )


def look_again_words(after: AfterSpray) -> str:
    """The second look: to come, due, overdue, or what it found."""
    counted = list(map(_escaped, after.escaped))
    if after.looked:
        return "; ".join(counted)
    return "; ".join([*counted, _look_due(after)])


def _look_due(after: AfterSpray) -> str:
    first, last = after.look_again
    span = words.date_span(first, last)
    if Due.LOOK_AGAIN in after.due:
        when = "DUE" if after.today <= last else "OVERDUE"
        return f"second look {when} ({span}): count heads that escaped"
    missed = ": nobody counted" if after.today > last else ""
    return f"second look {span}{missed}"


def _escaped(found: Escaped) -> str:
    weed, day = found.weed_name.lower(), words.date(found.day)
    if not found.heads:
        return f"no head of {weed} escaped, as counted {day}"
    late = f"of {words.count(found.heads, 'head')} of {weed} counted {day} {found.late}"
    if not found.late:
        return f"{late} can still be stopped: seed is set"
    return f"{late} can still be stopped: {STOP_LATE}"


def feed_words(after: AfterSpray, clock: LocalClock) -> str:
    """Until when the feed keeps, and the soaking that cuts it short."""
    rain, held = after.keeping.rain, after.keeping.held
    worse, gone = map(words.date, held)
    until = f"by {gone}" if worse == gone else f"between {worse} and {gone}"
    first = ""
    if after.topped is not None and after.topped != after.sprayed:
        first = f", topped {words.date(after.topped)},"
    text = f"its feed{first} goes off {until} (assumed)"
    if rain.soaked is not Soaked.NO and rain.at is not None:
        return f"{rain.soaked.value.upper()} {clock.weekday(rain.at)}; {text}"
    return text


def in_full(after: AfterSpray, clock: LocalClock) -> str:
    """All of it in a line, for pages that tell a paddock in full."""
    said = (
        sprayed_words(after),
        stock_words(after),
        early_words(after),
        look_again_words(after),
        feed_words(after, clock),
        BROADLEAF if after.broadleaf else "",
    )
    return "; ".join(each for each in said if each)


def next_words(after: AfterSpray) -> tuple[str, str]:
    """What to do next in it: the order, and what goes with it."""
    goes_off = after.may_graze and not {Due.SOAKED, Due.GOES_OFF}.isdisjoint(after.due)
    rest = GRAZE if goes_off else stock_words(after)
    if Due.STOCK_EARLY in after.due:
        return "Keep stock out", f"{stock_words(after)}; {early_words(after)}"
    if Due.LOOK_AGAIN in after.due:
        return "Second look", f"count heads that escaped; {rest}"
    if after.late_heads:
        return "Stop the late heads", f"{STOP_LATE}; {rest}"
    return ("Graze it soon" if goes_off else "Nothing to spray"), rest
