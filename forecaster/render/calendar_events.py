"""What of an outlook belongs into a calendar, as plain events.

An event's identity outlives its dates: see :func:`identity`. Names stand in summary and
description only.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.planned import planned_blocks
from forecaster.domain.planning.stock_off import StockStatus
from forecaster.domain.planning.windows import Status
from forecaster.domain.planning.withholding import DAY, LabelSays
from forecaster.render import rig_words, words
from forecaster.render.after_words import (
    BROADLEAF,
    READ_LABEL,
    STOP_LATE,
    feed_words,
    look_again_words,
    stock_words,
)
from forecaster.render.sign import TOXIC
from forecaster.render.standing import barred_words, counted
from forecaster.render.stock_text import heading_words, status_words
from forecaster.settings.names import same_name

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.domain.outlook import (
        ActiveOutlook,
        BlockView,
        Outlook,
        PaddockOutlook,
    )
    from forecaster.domain.record.after import Recorded
    from forecaster.domain.rig.rig_plan import RigPlan, Stop
    from forecaster.render.words import LocalClock

SUFFIX = "@spray-outlook"
"""Ends every identity; it is no domain and asks for none (RFC 7986, 5.3)."""
_LOOK_DUE = {Status.OPENING_SOON, Status.OPEN, Status.CLOSING, Status.UNKNOWN}
_SHOWN = {Status.NOT_OPEN, Status.OPENING_SOON, Status.OPEN, Status.CLOSING}
_OFF_OPEN = {
    StockStatus.NOT_YET,
    StockStatus.SOON,
    StockStatus.DUE,
    StockStatus.OVERDUE,
}
_CHECK = "Check at the site: measure the wind, watch smoke or dust."
_LABEL = "The label, the law and a look at the gate come first."


@dataclass(frozen=True, slots=True)
class CalendarEvent:
    """One event. Days (``datetime64[D]``, ``end`` the last one) or UTC moments."""

    uid: str
    start: np.datetime64
    end: np.datetime64
    summary: str
    description: str
    tentative: bool = False

    @property
    def all_day(self) -> bool:
        """Whether it is about whole days of the farm's calendar."""
        return self.start.dtype == np.dtype("datetime64[D]")


def identity(*parts: str) -> str:
    """The same for the same thing, whatever its dates: a hash of ``parts``.

    The parts are farm, paddock, weed, active, kind and, for a block, its local day and
    its place on that day. No name can be read back from it.
    """
    whole = "\n".join(same_name(part) for part in parts)
    return hashlib.sha256(whole.encode("utf-8")).hexdigest()[:32] + SUFFIX


def events(outlook: Outlook, clock: LocalClock) -> list[CalendarEvent]:
    """Every event, in the order of the farm file."""
    found: list[CalendarEvent] = []
    for paddock in outlook.paddocks:
        each = _Paddock(outlook, paddock, clock)
        if paddock.fault is not None:
            found.append(each.unknown(paddock.fault))
            continue
        found += [*each.stock_off(), *each.look_due(), *each.re_entry()]
        found += each.after()
        for active in paddock.actives:
            found += [*each.window(active), *each.blocks(active)]
    return found


def planned_stops(
    outlook: Outlook, plan: RigPlan, clock: LocalClock
) -> list[CalendarEvent]:
    """Each stop of a rig; its identity is its paddock, active and part."""
    of = {each.name: each for each in outlook.paddocks}
    return [
        _Paddock(outlook, of[each.paddock], clock).stop(
            each, rig_words.stop(plan, each)
        )
        for each in plan.stops
    ]


@dataclass(frozen=True, slots=True)
class _Paddock:
    """One paddock of an outlook, told as events."""

    outlook: Outlook
    paddock: PaddockOutlook
    clock: LocalClock

    def _uid(self, kind: str, active: str = "", *more: str) -> str:
        paddock = self.paddock
        name = paddock.id or paddock.name
        return identity(self.outlook.farm, name, paddock.weed, active, kind, *more)

    def _day(self, moment: np.datetime64) -> np.datetime64:
        return np.datetime64(self.clock.local(moment).date(), "D")

    @property
    def _today(self) -> np.datetime64:
        return self._day(self.outlook.now)

    @property
    def _head(self) -> str:
        paddock = self.paddock
        return f"{paddock.name}, {paddock.hectares:.0f} ha: {paddock.weed_name}."

    def _today_event(self, kind: str, summary: str, said: str) -> CalendarEvent:
        return CalendarEvent(
            self._uid(kind), self._today, self._today,
            f"{self.paddock.name}: {summary}", f"{self._head} {said}",
        )  # fmt: skip

    def unknown(self, fault: str) -> CalendarEvent:
        """Never silent: a paddock that cannot be told stands at today."""
        return self._today_event(
            "unknown", "UNKNOWN", f"It could not be worked out: {fault}"
        )

    def stock_off(self) -> Iterator[CalendarEvent]:
        """The likely band; overdue, today."""
        off = None if self.paddock.stock is None else self.paddock.stock.off
        if off is None or off.likely is None:
            return
        none_known = off.status is StockStatus.NO_STOCK
        if off.status not in _OFF_OPEN and not (
            none_known and off.likely.last >= self._today
        ):
            return
        overdue = off.status is StockStatus.OVERDUE
        first, last = (self._today, self._today) if overdue else off.likely
        said = (
            f"Take stock off {words.date_span(*off.likely)}, before half the heads are "
            f"out (heading {heading_words(off.heading)}): {status_words(off)}."
        )
        if off.early is not None and off.late is not None:
            spread = words.date_span(off.early.first, off.late.last)
            said += f" With heading early or late: {spread}."
        yield CalendarEvent(
            self._uid("stock off"), first, last,
            f"{self.paddock.name}: stock off{' OVERDUE' if overdue else ''}",
            f"{self._head} {said}",
        )  # fmt: skip

    def look_due(self) -> Iterator[CalendarEvent]:
        """A count of heads is wanted: the window is near or open, or cannot be told."""
        near = any(
            each.status in _LOOK_DUE and each.window is not None
            for each in self.paddock.actives
        )
        if near and not counted(self.paddock):
            look = self.paddock.look
            last = "Nobody has counted here this season."
            if look is not None:
                last = f"Last counted on {self.clock.day(look.moment)}."
            said = f"{last} A count is worth more than the model."
            yield self._today_event("look", "count heads", said)

    def re_entry(self) -> Iterator[CalendarEvent]:
        """When stock may come back, for each active that may have been sprayed."""
        sprayed, told = self.paddock.sprayed, self.paddock.recorded
        if sprayed is None:
            return
        toxic = f" {TOXIC.capitalize()}." if self.paddock.warning else ""
        if self.paddock.after is not None and self.paddock.after.broadleaf:
            toxic += f" {BROADLEAF.capitalize()}."
        if told is not None:
            yield self._recorded(told, toxic)
            return
        several = len(self.paddock.actives) > 1
        for active in self.paddock.actives:
            which = f" if {active.active} was sprayed" if several else ""
            day, summary, said = _stock_words(active, sprayed)
            if self.paddock.earlier is not None:
                day, summary, more = _stock_by_both(
                    active, sprayed, self.paddock.earlier
                )
                said = f"{said} {more}"
            yield CalendarEvent(
                self._uid("re-entry", active.active), day, day,
                f"{self.paddock.name}: {summary}{which}",
                f"{self._head} {said} Other withholding periods and export intervals "
                f"may be longer: read your label.{toxic}",
            )  # fmt: skip

    def _recorded(self, told: Recorded, toxic: str) -> CalendarEvent:
        """When stock may come back by the spray record."""
        known, actives = told.not_before is not None, " and ".join(told.actives)
        day = told.day + DAY if told.not_before is None else told.not_before
        summary = f"stock not before {words.date(day)}" if known else READ_LABEL
        typed = (
            "days typed from the label"
            if known
            else "no grazing withholding period was typed and confirmed"
        )
        return CalendarEvent(
            self._uid("re-entry", "recorded"), day, day,
            f"{self.paddock.name}: {summary}",
            f"{self._head} Sprayed with {actives}, recorded as ended "
            f"{self.clock.hour(told.finish)}; {typed}. Other withholding periods and "
            f"export intervals may be longer: read your label.{toxic}",
        )  # fmt: skip

    def after(self) -> Iterator[CalendarEvent]:
        """Days to look for heads that escaped, and those on which the feed goes off."""
        after = self.paddock.after
        if after is None:
            return
        (first, last), (worse, gone) = after.look_again, after.keeping.held
        on = f"Sprayed on {words.date(after.sprayed)}"
        found = "" if not after.escaped else f" Done: {look_again_words(after)}."
        yield CalendarEvent(
            self._uid("second look"), first, last,
            f"{self.paddock.name}: second look, heads that escaped",
            f"{self._head} {on}. Walk it and squeeze late heads while there is a "
            f"choice: {STOP_LATE} (two to three weeks after: common practice, no "
            f"source).{found}",
        )  # fmt: skip
        yield CalendarEvent(
            self._uid("feed"), worse, gone,
            f"{self.paddock.name}: topped feed goes off",
            f"{self._head} {on}; {stock_words(after)}; "
            f"{feed_words(after, self.clock)}. Heavy rain ends it sooner: your eye and "
            "gauge know better.",
        )  # fmt: skip

    def window(self, active: ActiveOutlook) -> Iterator[CalendarEvent]:
        """The likely stage window, its range in words."""
        window = active.window
        opened = None if window is None else window.open.likely
        if window is None or opened is None or active.status not in _SHOWN:
            return
        close = window.closed.likely
        first = self._day(opened)
        last = first if close is None else self._day(close)
        unknown = ", close not known yet" if close is None else ""
        chance = words.in_ten(active.chance_open_now)
        yield CalendarEvent(
            self._uid("window", active.active), first, max(first, last),
            f"{self.paddock.name}: stage window, {active.active}{unknown}",
            f"{self._head} {active.status.value.capitalize()}; opens "
            f"{words.likely_range(window.open, self.clock)}, closes "
            f"{words.likely_range(window.closed, self.clock)}; open now {chance}. "
            f"Wind must not come from: {barred_words(self.paddock)}. {_LABEL}",
        )  # fmt: skip

    def blocks(self, active: ActiveOutlook) -> Iterator[CalendarEvent]:
        """Good hours that may be planned by; those gone by are left out."""
        seen: dict[str, int] = {}
        for block in planned_blocks(active):
            day = str(self._day(block.start))
            seen[day] = seen.get(day, 0) + 1
            if block.end <= self.outlook.now:
                continue
            yield CalendarEvent(
                self._uid("block", active.active, day, str(seen[day])),
                block.start, block.end,
                f"{self.paddock.name}: good hours, {active.active}; check at the site",
                self._block_words(block),
                tentative=True,
            )  # fmt: skip

    def stop(self, stop: Stop, said: str) -> CalendarEvent:
        """Hours of the rig in this paddock."""
        part = f" (part {stop.part} of {stop.parts})" if stop.parts > 1 else ""
        return CalendarEvent(
            self._uid("plan", stop.active, str(stop.part)),
            stop.start, stop.end,
            f"{self.paddock.name}{part}: rig planned, {stop.active}; check at the site",
            f"{self._head} {said}. {_CHECK} {_LABEL}",
            tentative=True,
        )  # fmt: skip

    def _block_words(self, block: BlockView) -> str:
        firm = words.firmness(block.lead_days)
        ends = f" Then {words.reason_words(block.after)}." if block.after else ""
        count = "" if counted(self.paddock) else " Count heads first."
        return (
            f"{self._head} {self.clock.span(block.start, block.end)}: wind "
            f"{words.side(block.wind_from)} {words.kmh_span(block.wind_speed)} km/h at "
            f"10 m, Delta T {words.number_span(block.delta_t)}; holds "
            f"{words.in_ten(block.chance)}; {firm}.{ends}{count} {_CHECK} {_LABEL}"
        )


def _stock_by_both(
    active: ActiveOutlook, sprayed: np.datetime64, earlier: Recorded
) -> tuple[np.datetime64, str, str]:
    """The same where a recorded spray goes before that of the farm file."""
    day = earlier.holds(active.withholding.not_before(sprayed))
    with_what = f"{' and '.join(earlier.actives)} on {words.date(earlier.day)}"
    said = f"A spray with {with_what} is recorded, whose days hold too"
    if day is None:
        return sprayed + DAY, READ_LABEL, f"{said}; those of one are not known."
    first = f"stock not before {words.date(day)}"
    return day, first, f"{said}: {first}."


def _stock_words(
    active: ActiveOutlook, sprayed: np.datetime64
) -> tuple[np.datetime64, str, str]:
    """Day, summary and words of the re-entry after a spray on day ``sprayed``."""
    held, on = active.withholding, words.date(sprayed)
    day = held.not_before(sprayed)
    if day is not None:
        said = (
            f"Sprayed on {on}; {words.count(held.days or 0, 'day')} typed from your "
            f"label of {active.active}, the day of the spray not counted: stock not "
            f"before {words.date(day)}."
        )
        return day, f"stock not before {words.date(day)}", said
    if held.says is LabelSays.NONE:
        said = f"Sprayed on {on}. You typed that your label states no such days."
        return sprayed + DAY, "no grazing days on your label", said
    said = (
        f"Sprayed on {on}. No grazing withholding period of {active.active} was typed "
        "and confirmed."
    )
    return sprayed + DAY, "read your label before stock go in", said
