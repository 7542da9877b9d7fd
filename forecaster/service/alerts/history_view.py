"""Why there was an alert, or none: the history of some days out of what is kept."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.alerts.hindsight import PHASE_LEFT, PHASE_SAID, gaps
from forecaster.domain.alerts.history_page import (
    Checks,
    EventPast,
    HistoryPage,
    MessagePast,
    SnoozePast,
    Step,
    WindowPast,
)
from forecaster.domain.alerts.phases import hours
from forecaster.domain.alerts.ranks import rank_of
from forecaster.domain.alerts.records import Change, Phase, Rank, Sending, WindowKey
from forecaster.domain.alerts.snoozes import covers, in_force
from forecaster.service.alerts.farm_check import FOLDER
from forecaster.service.alerts.history_words import Asked, span_of
from forecaster.store.reader import Reader

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Mapping

    from forecaster.domain.alerts.records import Delivery, Event, Message, Run, Snooze
    from forecaster.settings.farm import Farm

EARLIER_H = 8 * 24.0
"""[h] Messages made so long before may still have been on their way."""
DIGEST_H = 36.0
"""[h] within which the next digest comes."""
SECOND = np.timedelta64(1, "s")


def history(farm: Farm, asked: Asked, now: np.datetime64) -> HistoryPage:
    """The history of the days asked for.

    Raises
    ------
    UsageError
        If there is no such paddock, active or day.
    InputMissingError
        If no check has ever kept anything.
    StateError, NewerStateError
        If what is kept cannot be read.
    """
    first, last = asked.days(now, farm.place.zone)
    since, until = span_of(first, last, farm.place.zone)
    with Reader.of(farm.folder / FOLDER) as reader:
        names = _Names(farm, asked.chosen(farm, _known(reader)))
        return _History(farm, reader, names, since, until, now).page(first, last)


def _known(reader: Reader) -> set[str]:
    """Ids of all paddocks there ever was a reason for."""
    return {key_of(each).paddock for each in reader.reasons(reader.newest_run())}


def key_of(text: str) -> WindowKey:
    """A window by its key as it is kept."""
    season, paddock, weed, active = text.split("/")
    return WindowKey(int(season), paddock, weed, active)


def _in_order(event: Event) -> tuple[int, str, int]:
    """By check, then the farm, then windows with their steps one after another."""
    where = "" if event.window is None else str(event.window)
    return event.run, where, tuple(Change).index(event.change)


class _Names:
    """What was asked for, and how paddocks and weeds are called."""

    def __init__(self, farm: Farm, chosen: tuple[str, str]) -> None:
        self._paddock, self._active = chosen
        self._names = {each.id: each.name for each in farm.paddocks}
        self._weeds = {each.id: each.name for each in farm.weeds.values()}

    @property
    def asked(self) -> str:
        said = (self.paddock(self._paddock) if self._paddock else "", self._active)
        return ", ".join(each for each in said if each)

    def wants(self, key: WindowKey | None) -> bool:
        """Whether it was asked for; what concerns the farm always is."""
        if key is None:
            return True
        return self._paddock in {"", key.paddock} and self._active in {"", key.active}

    def concerns(self, snooze: Snooze) -> bool:
        """Whether a snooze is about something that was asked for."""
        active = snooze.active in {"", self._active} or not self._active
        return self._paddock in {"", snooze.paddock} and active

    def paddock(self, name: str) -> str:
        return self._names.get(name, name)

    def weed(self, name: str) -> str:
        return self._weeds.get(name, name)


@dataclass(slots=True)
class _History:
    farm: Farm
    reader: Reader
    names: _Names
    since: np.datetime64
    until: np.datetime64
    now: np.datetime64
    snoozes: list[Snooze] = field(default_factory=list)

    def page(self, first: dt.date, last: dt.date) -> HistoryPage:
        self.snoozes = self.reader.every_snooze()
        checks = self._checks()
        events, messages = self._told()
        return HistoryPage(
            farm=self.farm.name,
            zone=self.farm.place.zone,
            first=first.isoformat(),
            last=last.isoformat(),
            since=self.since,
            until=self.until,
            now=self.now,
            asked=self.names.asked,
            checks=checks,
            windows=self._windows(checks),
            events=events,
            messages=messages,
            snoozes=self._quiet(),
        )

    # ------------------------------------------------------------- checks

    def _checks(self) -> Checks:
        runs = self.reader.runs(self.since, self.until - SECOND)
        before = self.reader.last_run(self.since)
        after = self.reader.next_run(self.until - SECOND)
        around = [each for each in (before, *runs, after) if each is not None]
        starts = [each.started for each in around]
        if after is None and starts:
            starts.append(max(self.now, starts[-1]))
        found = gaps(starts, self.since, self.until, self.farm.alerts.rules.period_h)
        return Checks(tuple(runs), found, before)

    # ------------------------------------------------------------ windows

    def _windows(self, checks: Checks) -> tuple[WindowPast, ...]:
        runs = checks.runs or ((checks.before,) if checks.before else ())
        if not runs:
            return ()
        first, last = runs[0].id, runs[-1].id
        reasons = self._of_the_season(self.reader.reasons(last))
        at_first = self.reader.reasons(first)
        steps = {key: [at_first[key]] for key in reasons if key in at_first}
        for window, run, reason in self.reader.changes(first, last):
            if window in reasons:
                steps.setdefault(window, []).append((run, reason))
        phases = self._phases(reasons, last)
        known = {each.id: each for each in runs}
        missing = {run for told in steps.values() for run, _ in told} - known.keys()
        known |= self.reader.runs_of(missing)
        return tuple(
            self._window(key_of(text), phases[text], steps[text], known)
            for text in sorted(steps)
        )

    def _of_the_season(self, reasons: Mapping[str, object]) -> set[str]:
        """Windows asked for; those of seasons before are no longer looked at."""
        season = max((key_of(each).season for each in reasons), default=0)
        return {
            each
            for each in reasons
            if key_of(each).season == season and self.names.wants(key_of(each))
        }

    def _window(
        self,
        key: WindowKey,
        phase: Phase | None,
        told: list[tuple[int, str]],
        runs: Mapping[int, Run],
    ) -> WindowPast:
        steps = tuple(
            Step(runs[run].started if run in runs else None, run, reason)
            for run, reason in told
        )
        names = self.names
        return WindowPast(
            key, names.paddock(key.paddock), names.weed(key.weed), phase, steps
        )

    def _phases(self, windows: set[str], run: int) -> dict[str, Phase | None]:
        """The phase of each window at a check, by what was said up to then.

        A step back does not say where to: the next answer does, or what is kept now.
        """
        said = self.reader.last_said((*PHASE_SAID, *PHASE_LEFT), run)
        found: dict[str, Phase | None] = {}
        for window in windows:
            at, reason = said.get(window, (0, "same.not_open"))
            if reason in PHASE_LEFT:
                reason = self._later(window, at)
            found[window] = PHASE_SAID.get(reason)
        return found

    def _later(self, window: str, run: int) -> str:
        after = self.reader.next_said(window, (*PHASE_SAID, *PHASE_LEFT), run)
        if after:
            return after if after.startswith("same.") else ""
        key = key_of(window)
        kept = self.reader.windows(key.season).get(key)
        return "" if kept is None else f"same.{kept.phase.name.lower()}"

    # ----------------------------------------------------- events, messages

    def _told(self) -> tuple[tuple[EventPast, ...], tuple[MessagePast, ...]]:
        found = self.reader.events(since=self.since, until=self.until - SECOND)
        events = [each for each in found if self.names.wants(each.window)]
        events.sort(key=_in_order)
        near = self.reader.messages_between(
            self.since - hours(EARLIER_H), self.until + hours(DIGEST_H)
        )
        messages = {each.key: each for each in near} | self._still_waiting()
        telling: dict[str, list[Message]] = {}
        for message in messages.values():
            for key in message.events:
                telling.setdefault(key, []).append(message)
        return (
            tuple(self._event(each, telling) for each in events),
            tuple(self._messages(messages.values(), telling)),
        )

    def _still_waiting(self) -> dict[str, Message]:
        waiting = self.reader.deliveries(state=Sending.WAITING)
        return self.reader.messages({each.message for each in waiting})

    def _event(self, event: Event, telling: Mapping[str, list[Message]]) -> EventPast:
        key = event.window
        return EventPast(
            event,
            "" if key is None else self.names.paddock(key.paddock),
            "" if key is None else self.names.weed(key.weed),
            tuple(telling.get(event.key, ())),
            self._snoozed(event),
        )

    def _snoozed(self, event: Event) -> bool:
        lowered = event.rank is Rank.DIGEST and rank_of(event.change) is not Rank.DIGEST
        if event.window is None or not lowered:
            return False
        there = in_force(self.snoozes, event.made)
        return any(covers(each, event.window) for each in there)

    def _messages(
        self, messages: Iterable[Message], telling: Mapping[str, list[Message]]
    ) -> Iterable[MessagePast]:
        for message in sorted(messages, key=lambda each: (each.made, each.key)):
            deliveries = self.reader.deliveries(message=message.key)
            if not self._under_way(message, deliveries):
                continue
            found = self.reader.events_by_key(message.events)
            about = [found[key] for key in message.events if key in found]
            wanted = [each for each in about if self.names.wants(each.window)]
            if about and not wanted:
                continue
            events = tuple(self._event(each, telling) for each in wanted)
            yield MessagePast(message, events, tuple(deliveries))

    def _under_way(self, message: Message, deliveries: Iterable[Delivery]) -> bool:
        """Whether it was made, or was still on its way, on those days."""
        if message.made >= self.until:
            return False
        return bool(message.made >= self.since) or any(
            each.ended is None or each.ended >= self.since for each in deliveries
        )

    def _quiet(self) -> tuple[SnoozePast, ...]:
        """Snoozes asked for, or in force, on those days."""
        at_first = in_force(self.snoozes, self.since)
        later = [s for s in self.snoozes if self.since < s.made < self.until]
        return tuple(
            SnoozePast(each, self.names.paddock(each.paddock))
            for each in (*at_first, *later)
            if self.names.concerns(each)
        )
