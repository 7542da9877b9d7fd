"""Hands over what is due: claim, look again whether it is true, send, mark.

Marked only after the receiver accepted: a crash between the two costs one more copy,
never a message.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from forecaster.domain.alerts import keys
from forecaster.domain.alerts.letter import Fate, Letter, Outcome
from forecaster.domain.alerts.messages import reached
from forecaster.domain.alerts.news import Item, News
from forecaster.domain.alerts.phases import hours
from forecaster.domain.alerts.records import Delivery, FarmKept, Rank, Sending
from forecaster.domain.alerts.sending import (
    Gate,
    gate,
    gave_up,
    next_try,
    overtaken,
    still_true,
)
from forecaster.render import alert_text

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    import numpy as np

    from forecaster.domain.alerts.messages import Way
    from forecaster.domain.alerts.reading import Reading
    from forecaster.domain.alerts.records import Event, Kept, Message, WindowKey
    from forecaster.ports import Notifier
    from forecaster.service.alerts.log import Log
    from forecaster.store.ledger import Ledger

SEND_S = 30.0
"""[s] for one message in one channel."""
LEASE_S = 90.0
"""[s] for which a message that was claimed is nobody else's."""
NEWER_DIGEST = "cancel.newer digest"
PASSES = 8
"""At most so many rounds over what is due in one check."""


@dataclass(frozen=True, slots=True)
class Scene:
    """The farm as messages see it."""

    farm: str
    zone: str
    season: int
    ways: Mapping[str, Way]
    channels: Mapping[str, Notifier]
    quiet_until: np.datetime64 | None
    issued: np.datetime64 | None
    clock: Callable[[], np.datetime64]
    notes: tuple[str, ...] = ()


@dataclass(slots=True)
class Tally:
    """What became of the deliveries that were due."""

    sent: int = 0
    held: int = 0
    cancelled: int = 0
    failed: int = 0
    dead: int = 0


def relay(ledger: Ledger, scene: Scene, log: Log) -> Tally:
    """Hand over all that is due, the oldest first; one that fails stops no other."""
    tally = Tally()
    tried: set[tuple[str, str]] = set()
    for _ in range(PASSES):
        due = [
            each
            for each in ledger.due(scene.clock())
            if (each.message, each.channel) not in tried
        ]
        if not due:
            break
        farm, last = ledger.farm(), ledger.windows(scene.season - 1)
        windows = {**last, **ledger.windows(scene.season)}
        for delivery in due:
            tried.add((delivery.message, delivery.channel))
            _One(ledger, scene, log, tally, windows, farm).hand_over(delivery)
    return tally


@dataclass(slots=True)
class _One:
    """One delivery on its way."""

    ledger: Ledger
    scene: Scene
    log: Log
    tally: Tally
    windows: Mapping[WindowKey, Kept]
    farm: FarmKept

    def hand_over(self, delivery: Delivery) -> None:
        message = self.ledger.messages([delivery.message])[delivery.message]
        events = self._events(message)
        if message.rank is Rank.DIGEST:
            events = [*self._missed(delivery, message), *events]
        true = still_true(events, self.windows, self.farm)
        reason = self._needless(delivery, message, events, true)
        if reason:
            return self._cancel(delivery, reason)
        answer = gate(
            message.rank,
            quiet_until=self.scene.quiet_until,
            last_chance=self._last_chance(true),
            silent=self._silent(delivery.channel),
        )
        if answer.gate is Gate.HOLD and answer.until is not None:
            self.tally.held += 1
            self._say(delivery, answer.reason)
            held = replace(delivery, next_at=answer.until, note=answer.reason)
            return self.ledger.finish(held)
        claimed = self.ledger.claim(delivery, self.scene.clock(), LEASE_S)
        if claimed is None:
            return None
        outcome = self._send(claimed, message, true)
        return self._note(claimed, message, outcome)

    def _needless(
        self,
        delivery: Delivery,
        message: Message,
        events: Sequence[Event],
        true: Sequence[Event],
    ) -> str:
        """Why it must not or need not go out, or nothing."""
        if delivery.channel not in self.scene.ways:
            return "cancel.no such channel"
        if delivery.stand_in:
            others = self.ledger.deliveries(message=message.key)
            if reached(others, self.scene.ways):
                return "cancel.accepted elsewhere"
        if message.rank is Rank.DIGEST:
            return self._newer_digest(delivery, message)
        if events and not true:
            return overtaken(events[-1], self.windows, self.farm)
        return ""

    def _newer_digest(self, delivery: Delivery, message: Message) -> str:
        """Of several digests that wait, only the newest goes out, with all of it."""
        others = self.ledger.deliveries(channel=delivery.channel, state=Sending.WAITING)
        told = self.ledger.messages([each.message for each in others])
        newer = any(
            each.rank is Rank.DIGEST and each.made > message.made
            for each in told.values()
        )
        return NEWER_DIGEST if newer else ""

    def _missed(self, delivery: Delivery, message: Message) -> list[Event]:
        """Events of digests that gave way to this one in its channel."""
        gone = self.ledger.deliveries(channel=delivery.channel, state=Sending.CANCELLED)
        sent = self.ledger.deliveries(channel=delivery.channel, state=Sending.SENT)
        went = self.ledger.messages([each.message for each in sent])
        since = [each.made for each in went.values() if each.rank is Rank.DIGEST]
        names = [each.message for each in gone if each.note == NEWER_DIGEST]
        found = self.ledger.messages(names).values()
        late = [each for each in found if not since or each.made > max(since)]
        late = [each for each in late if each.made < message.made]
        keys_ = [key for each in late for key in each.events]
        return list(self.ledger.events_by_key(keys_).values())

    def _send(
        self, delivery: Delivery, message: Message, events: Sequence[Event]
    ) -> Outcome:
        """Put it into words and hand it over; whatever is raised is an outcome."""
        try:
            letter = self._letter(delivery, message, events)
        except Exception as error:  # noqa: BLE001 - one message must not stop the rest
            return Outcome(Fate.NEVER, f"cannot be put into words: {error!r}"[:200])
        channel = self.scene.channels.get(delivery.channel)
        if channel is None:
            return Outcome(Fate.LATER, "the channel cannot be set up")
        try:
            return channel.send(letter, SEND_S)
        except Exception as error:  # noqa: BLE001 - nor one channel the others
            return Outcome(
                Fate.LATER, f"a fault of the channel: {type(error).__name__}"
            )

    def _letter(
        self, delivery: Delivery, message: Message, events: Sequence[Event]
    ) -> Letter:
        now = self.scene.clock()
        about: dict[WindowKey, list[Event]] = {}
        for each in events:
            if each.window is not None:
                about.setdefault(each.window, []).append(each)
        digest = message.rank is Rank.DIGEST
        watched = [key for key in self.windows if key.season == self.scene.season]
        wanted = [*about, *watched] if digest else list(about)
        sights = self.ledger.sights(wanted)
        issued = self.scene.issued
        news = News(
            farm=self.scene.farm,
            zone=self.scene.zone,
            rank=message.rank,
            now=now,
            weather_age_h=float("nan")
            if issued is None
            else float((now - issued) / hours(1)),
            usable=self.farm.freshness is not None and self.farm.freshness.usable,
            items=tuple(
                self._item(key, found, sights)
                for key, found in about.items()
                if key in self.windows
            ),
            about_farm=tuple(each for each in events if each.window is None),
            undelivered=self._undelivered(delivery, about),
            standing=tuple(
                self._item(key, [], sights)
                for key in watched
                if not self.windows[key].retired
            )
            if digest
            else (),
            notes=self.scene.notes if digest else (),
        )
        return alert_text.letter(news, keys.of_letter(message.key, delivery.channel))

    def _item(
        self,
        key: WindowKey,
        events: Sequence[Event],
        sights: Mapping[WindowKey, Reading],
    ) -> Item:
        reading = sights.get(key)
        if reading is not None:
            # Hours that have passed since are no news.
            now = self.scene.clock()
            left = tuple(each for each in reading.blocks if each.end > now)
            reading = replace(reading, blocks=left)
        return Item(tuple(events), self.windows[key], reading)

    def _undelivered(
        self, delivery: Delivery, about: Mapping[WindowKey, Sequence[Event]]
    ) -> int:
        """Earlier messages about these windows that this channel did not take."""
        if not about:
            return 0
        failed = self.ledger.deliveries(
            channel=delivery.channel, state=Sending.CANCELLED
        )
        failed += self.ledger.deliveries(channel=delivery.channel, state=Sending.DEAD)
        names = [each.message for each in failed if each.attempts > 0]
        told = self.ledger.messages(names)
        events = self.ledger.events_by_key(
            [key for message in told.values() for key in message.events]
        )
        return sum(
            any(events[key].window in about for key in message.events if key in events)
            for message in told.values()
        )

    def _note(self, delivery: Delivery, message: Message, outcome: Outcome) -> None:
        now = self.scene.clock()
        if outcome.fate is Fate.ACCEPTED:
            self.tally.sent += 1
            ended = replace(
                delivery, state=Sending.SENT, receipt=outcome.receipt, ended=now,
                note=f"accepted after {delivery.note}" if delivery.note else "accepted",
            )  # fmt: skip
        elif outcome.fate is Fate.NEVER or gave_up(message.rank, message.made, now):
            self.tally.dead += 1
            ended = replace(
                delivery, state=Sending.DEAD, ended=now, note=f"dead: {outcome.words}"
            )
        else:
            self.tally.failed += 1
            again = next_try(delivery.attempts, now, wait_s=outcome.wait_s)
            ended = replace(delivery, next_at=again, note=f"later: {outcome.words}")
        self._say(
            ended,
            ended.note,
            level="info" if ended.state is Sending.SENT else "warning",
        )
        self.ledger.finish(ended)
        if ended.state is Sending.DEAD:
            self._hurry(message, now)

    def _hurry(self, message: Message, now: np.datetime64) -> None:
        """A channel that will never take it: the next one need not wait."""
        waiting = [
            each
            for each in self.ledger.deliveries(message=message.key)
            if each.state is Sending.WAITING and each.stand_in
        ]
        if waiting:
            first = min(waiting, key=lambda each: each.next_at)
            self.ledger.finish(replace(first, next_at=min(first.next_at, now)))

    def _cancel(self, delivery: Delivery, reason: str) -> None:
        self.tally.cancelled += 1
        self._say(delivery, reason)
        self.ledger.finish(
            replace(
                delivery, state=Sending.CANCELLED, note=reason, ended=self.scene.clock()
            )
        )

    def _events(self, message: Message) -> list[Event]:
        found = self.ledger.events_by_key(message.events)
        return [found[key] for key in message.events if key in found]

    def _last_chance(self, events: Sequence[Event]) -> np.datetime64 | None:
        about = [each.window for each in events if each.window is not None]
        ends = []
        for reading in self.ledger.sights(about).values():
            if reading.blocks:
                ends.append(reading.blocks[-1].end)
            elif reading.close.likely is not None:
                ends.append(reading.close.likely)
        return min(ends) if ends else None

    def _silent(self, channel: str) -> bool:
        return self.scene.ways[channel].silent

    def _say(self, delivery: Delivery, why: str, level: str = "info") -> None:
        self.log.say(
            "delivery", level, message=delivery.message, channel=delivery.channel,
            why=why, tries=delivery.attempts,
        )  # fmt: skip
