"""The outlook as an iCalendar file (RFC 5545), to be imported or subscribed to.

The file is the whole truth each time it is made (``METHOD:PUBLISH``): an event that is
gone from it is gone. A renderer has no memory, so ``SEQUENCE`` is the number of seconds
from :data:`EPOCH` to the outlook's moment: it never falls while moments do not, and a
changed event is always newer than it was (0 for moments before that). ``DTSTAMP`` is
the moment too, so that the same outlook gives the same bytes.
"""

from __future__ import annotations

import datetime as dt
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from forecaster.render import words
from forecaster.render.calendar_events import events, planned_stops
from forecaster.render.standing import invented_words, made_words
from forecaster.render.words import LocalClock

if TYPE_CHECKING:
    from icalendar import Event, vText

    from forecaster.domain.outlook import Outlook
    from forecaster.domain.rig.rig_plan import RigPlan
    from forecaster.render.calendar_events import CalendarEvent

EPOCH = np.datetime64("2020-01-01T00:00:00", "s")
"""Seconds from here fit the 32 bits of an iCalendar integer until 2088."""
PRODUCT = "-//forecaster//spray outlook//EN"
ONE_DAY = dt.timedelta(days=1)


def render(outlook: Outlook, plan: RigPlan | None = None) -> bytes:
    """The calendar as UTF-8, lines ended and folded as RFC 5545 says."""
    from icalendar import Calendar

    clock = LocalClock(outlook.place.zone)
    invented = invented_words(outlook.weather, demo=outlook.demo)
    made = made_words(outlook, clock)
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", PRODUCT)
    calendar.add("method", "PUBLISH")
    title = f"{outlook.farm}: spray outlook"
    warned = " ".join([invented, made, *outlook.weather.warnings]).strip()
    for name, text in (
        ("name", title),
        ("x-wr-calname", title),
        ("description", warned),
        ("x-wr-caldesc", warned),
    ):
        calendar.add(name, _text()(text))
    end = f"{invented} {made}".strip()
    stops = [] if plan is None else planned_stops(outlook, plan, clock)
    for event in [*events(outlook, clock), *stops]:
        calendar.add_component(_component(event, outlook.now, end))
    made_bytes: bytes = calendar.to_ical(sorted=False)
    return made_bytes


def _component(event: CalendarEvent, now: np.datetime64, made: str) -> Event:
    from icalendar import Event

    component = Event()
    component.add("uid", event.uid)
    component.add("dtstamp", _utc(now))
    component.add("sequence", max(0, int((now - EPOCH) / np.timedelta64(1, "s"))))
    if event.all_day:
        component.add("dtstart", words.calendar_day(event.start))
        last = words.calendar_day(event.end)
        component.add("dtend", last + ONE_DAY)  # the end is not included
    else:
        component.add("dtstart", _utc(event.start))
        component.add("dtend", _utc(event.end))
    component.add("summary", _text()(event.summary))
    component.add("description", _text()(f"{event.description} {made}"))
    component.add("status", "TENTATIVE" if event.tentative else "CONFIRMED")
    component.add("transp", "TRANSPARENT")
    return component


@cache
def _text() -> type[vText]:
    """A text in the escapes of RFC 5545, 3.3.11, backslash first.

    The library's own take a backslash before a capital N for a line break.
    """
    from icalendar import vText

    class Text(vText):
        def to_ical(self) -> bytes:
            escaped = self.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
            return "\\n".join(escaped.splitlines()).encode("utf-8")

    return Text


def _utc(moment: np.datetime64) -> dt.datetime:
    seconds = int(moment.astype("datetime64[s]").astype(np.int64))
    return dt.datetime.fromtimestamp(seconds, dt.UTC)
