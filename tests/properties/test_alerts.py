"""Any order of weather, sprays, crashes and clocks, on a state kept in memory.

The decisions, messages and gates are the program's, the state is a copy that replaces
the last one at each commit; so many stories run in seconds. What must hold is our own
promise (docs/reliability.md). Stories: Hypothesis, "Stateful testing".
"""

from __future__ import annotations

import copy
import os
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import HealthCheck, settings
from hypothesis import Phase as Steps
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)

from forecaster.domain.alerts import events as of_events
from forecaster.domain.alerts import keys
from forecaster.domain.alerts.farm_news import Past
from forecaster.domain.alerts.messages import (
    Way,
    deliveries,
    digest,
    grouped,
    reached,
)
from forecaster.domain.alerts.phases import phase_of
from forecaster.domain.alerts.ranks import BACK
from forecaster.domain.alerts.reading import FarmReading, GoodBlock, Reading, Span
from forecaster.domain.alerts.records import (
    Change,
    Delivery,
    Event,
    FarmKept,
    Kept,
    Message,
    Phase,
    Rank,
    Sending,
    Snooze,
    WindowKey,
)
from forecaster.domain.alerts.rules import Rules
from forecaster.domain.alerts.sending import (
    Gate,
    gate,
    next_try,
    overtaken,
    still_true,
)
from forecaster.service.alerts.decisions import After, Before, decide_all
from forecaster.service.alerts.sight import Sight

if TYPE_CHECKING:
    from collections.abc import Sequence

FULL = os.environ.get("FORECASTER_FAULTS") == "full"
START = np.datetime64("2026-09-20T00:00:00", "s")
RULES = Rules(
    band_least_d=0.5, band_most_d=1.5, band_jitters=3, votes=2, wait_at_most_h=6,
    moved_d=1, moved_every_h=24, hours_every_h=12, spare_hours_h=2, ageing_h=12,
    stale_h=30, stale_every_h=24, clock_back_s=300, clock_off_s=600, off_periods=2,
    urgent_late_min=30, votes_span_h=12, period_h=1,
)  # fmt: skip
NAMES = ("back-road", "house")
LASTS_D = 14.0
FORWARD = {
    Change.SOON: Phase.OPENING_SOON,
    Change.OPENED: Phase.OPEN,
    Change.OPENED_ON_FORECAST: Phase.OPEN,
    Change.CLOSING: Phase.CLOSING,
    Change.FEW_HOURS: Phase.CLOSING,
    Change.CLOSED: Phase.CLOSED,
    Change.PRESUMED_CLOSED: Phase.CLOSED,
}
BACKWARD = {*BACK.values(), Change.SPRAY_UNDONE}
RECEIPTS = {Change.SPRAYED, Change.SPRAY_UNDONE, Change.RETIRED, Change.NOT_SPRAYED}
OF_OPEN = {
    Change.OPENED, Change.OPENED_ON_FORECAST, Change.CLOSING, Change.FEW_HOURS,
    Change.REOPENED, Change.SPRAY_UNDONE,
}  # fmt: skip
EVERYTHING = frozenset(Rank)
WAYS = {
    way.name: way
    for way in (
        Way("phone", EVERYTHING),
        Way("mail", EVERYTHING),
        Way("neighbour", EVERYTHING, second=True),
        Way("shed", EVERYTHING, silent=True),
    )
}
CRASHES = ("", "", "", "before commit", "after commit", "before send", "after send")
NAME = st.sampled_from(NAMES)


def d(days: float) -> np.timedelta64:
    """Days, in seconds."""
    return np.timedelta64(round(days * 86_400), "s")


def h(hours: float) -> np.timedelta64:
    """Hours, in seconds."""
    return d(hours / 24)


class CrashError(BaseException):
    """The program is gone."""


@dataclass(frozen=True)
class Step:
    """What one check that was kept did to one window."""

    before: Kept
    after: Kept
    events: tuple[Event, ...]


@dataclass
class Store:
    """All that is kept. It is copied, changed, and put in place whole."""

    farm: FarmKept = field(default_factory=FarmKept)
    windows: dict[WindowKey, Kept] = field(default_factory=dict)
    events: dict[str, Event] = field(default_factory=dict)
    messages: dict[str, Message] = field(default_factory=dict)
    deliveries: dict[tuple[str, str], Delivery] = field(default_factory=dict)
    closes: dict[WindowKey, np.datetime64] = field(default_factory=dict)
    runs: list[np.datetime64] = field(default_factory=list)
    told: set[str] = field(default_factory=set)
    """Events that are in a message."""

    def copy(self) -> Store:
        """Another one that holds the same."""
        inside = {name: copy.copy(value) for name, value in vars(self).items()}
        return Store(**inside)

    def put(self, run: int, after: After, now: np.datetime64) -> None:
        """What a check found out, and the messages about it."""
        first = self.farm.freshness is None
        for each in after.events:
            assert each.key not in self.events, f"one key for two events: {each}"
            self.events[each.key] = each
        self.farm, self.windows = after.farm.kept, after.windows
        made = list(grouped(after.events, first=first))
        day = str(now.astype("datetime64[D]"))
        if first:
            self.farm = replace(self.farm, digest_run=run, digest_day=day)
        elif day > self.farm.digest_day:
            made.append(digest("here", day, self.waiting(), now))
            self.farm = replace(self.farm, digest_run=run, digest_day=day)
        for message in made:
            assert message.key not in self.messages, "one key for two messages"
            assert not self.told & set(message.events), "told in two messages"
            self.told |= set(message.events)
            self.messages[message.key] = message
            for way in deliveries(message, tuple(WAYS.values())):
                self.deliveries[way.message, way.channel] = way

    def waiting(self) -> list[Event]:
        """Events that wait for the digest."""
        since = self.farm.digest_run
        return [
            each
            for each in self.events.values()
            if each.run > since and each.rank is Rank.DIGEST
        ]


class Season(RuleBasedStateMachine):
    """One farm with two windows, from check to check."""

    @initialize()
    def begin(self) -> None:
        """A new farm."""
        self.store = Store()
        self.backup = self.store.copy()
        self.now: np.datetime64 = START
        self.issue: np.datetime64 = START
        self.source, self.basis = "one", "b"
        self.opens = dict.fromkeys(NAMES, 3.0)
        self.sprayed: set[str] = set()
        self.gone: set[str] = set()
        self.unknown: set[str] = set()
        self.dry: set[str] = set()
        self.down: set[str] = set()
        self.snoozes: list[Snooze] = []
        self.weather, self.lag_h = True, 0
        self.copies: Counter[str] = Counter()
        self.allowed: Counter[str] = Counter()
        """Copies that a crash or an older state may cost."""
        self.named: dict[tuple[object, ...], set[str]] = {}
        """Keys under which each step was received."""
        self.heard: set[tuple[WindowKey, int]] = set()
        """Windows and epochs of which somebody was told that they are open."""

    # ------------------------------------------------------------- the world

    @rule(hours=st.integers(1, 40))
    def time_passes(self, hours: int) -> None:
        """The service goes on with its runs, if it is up."""
        self.now = self.now + h(hours)
        if hours >= 6:
            self.new_issue()

    @rule(name=NAME, days=st.floats(-6, 6))
    def forecast_moves(self, name: str, days: float) -> None:
        """A new forecast moves a window."""
        self.opens[name] += days
        self.new_issue()

    @rule(name=NAME, crash=st.sampled_from(CRASHES))
    def forecast_trembles(self, name: str, crash: str) -> None:
        """Back and forth, by less than the dead band, each time by a new forecast."""
        for days in (0.2, -0.2, 0.2, -0.2):
            self.opens[name] += days
            self.now = self.now + h(1)
            self.new_issue()
            self.run_check(crash)

    @rule(name=NAME, crash=st.sampled_from(CRASHES))
    def forecast_was_wrong(self, name: str, crash: str) -> None:
        """Later by two forecasts, then as early as before."""
        for days in (3, 0, -3, 0):
            self.opens[name] += days
            self.now = self.now + h(6)
            self.new_issue()
            self.run_check(crash)
            self.run_check()

    @rule(name=NAME)
    def much_happens_while_nobody_can_be_reached(self, name: str) -> None:
        """It opens, is closing, and gets more time, with no signal anywhere."""
        down, self.down = self.down, {"phone", "mail", "neighbour"}
        for ago in (0.5, LASTS_D - 2, 1.0, 1.25):
            self.opens[name] = float((self.now - START) / d(1)) - ago
            self.new_issue()
            self.run_check()
            self.now = self.now + h(6)
        self.down = down

    @rule()
    def other_service(self) -> None:
        """The one does not answer; the other does."""
        self.source = "two" if self.source == "one" else "one"

    @rule()
    def heads_counted(self) -> None:
        """Somebody changed a file."""
        self.basis += "b"

    @rule(lag_h=st.integers(0, 48))
    def seen_late(self, lag_h: int) -> None:
        """Observed hours arrive late."""
        self.lag_h = lag_h

    @rule()
    def weather_comes_and_goes(self) -> None:
        """The services are down, or back."""
        self.weather = not self.weather

    @rule(name=NAME)
    def spray_or_undo(self, name: str) -> None:
        """Somebody writes it down, or takes it back."""
        self.sprayed ^= {name}
        self.basis += "s"

    @rule(name=NAME)
    def paddock_leaves_or_returns(self, name: str) -> None:
        """The farm file loses a paddock, or has it back."""
        self.gone ^= {name}

    @rule(name=NAME)
    def unknown_comes_and_goes(self, name: str) -> None:
        """One paddock cannot be told."""
        self.unknown ^= {name}

    @rule(name=NAME)
    def good_hours_come_and_go(self, name: str) -> None:
        """A wet week, or a fine one."""
        self.dry ^= {name}

    @rule(name=NAME, days=st.integers(1, 7))
    def snooze(self, name: str, days: int) -> None:
        """Somebody asks for quiet."""
        self.snoozes.append(Snooze(name, "", self.now, self.now + d(days)))

    @rule(name=st.sampled_from(["phone", "mail", "neighbour"]))
    def channel_comes_and_goes(self, name: str) -> None:
        """No signal, or signal."""
        self.down ^= {name}

    def new_issue(self) -> None:
        """A forecast nobody has seen before, where the services are up."""
        if self.weather:
            self.now = self.now + np.timedelta64(1, "s")
            self.issue = self.now

    # ----------------------------------------------------------- the program

    @rule(crash=st.sampled_from(CRASHES))
    def check(self, crash: str) -> None:
        """One check, which may be cut short."""
        self.run_check(crash)

    @rule(hours=st.integers(1, 100))
    def check_on_a_clock_set_back(self, hours: int) -> None:
        """A flat battery; the next check has the right time again."""
        self.run_check(clock=self.now - h(hours))

    @rule(hours=st.integers(1, 20))
    def check_on_a_clock_set_ahead(self, hours: int) -> None:
        """Nobody notices; the true time then seems to be behind."""
        self.run_check(clock=self.now + h(hours))

    @rule(crash=st.sampled_from(["", "before send", "after send"]))
    def deliver(self, crash: str) -> None:
        """Only what is due."""
        self.now = self.now + h(0.5)
        self.relayed(self.now, crash)

    @rule()
    def copy_made(self) -> None:
        """The daily copy of the state."""
        self.backup = self.store.copy()

    @rule()
    def copy_brought_back(self) -> None:
        """The disk failed; some may come twice, but nothing under another name."""
        runs = self.store.runs
        self.store = self.backup.copy()
        self.store.runs = runs.copy()
        self.allowed.update(self.copies.keys())

    def run_check(self, crash: str = "", clock: np.datetime64 | None = None) -> None:
        """Look, decide, keep, hand over; a crash leaves what was kept."""
        now = self.now if clock is None else clock
        earlier = [each for each in self.store.runs if each <= now]
        self.store.runs.append(now)
        run, work = len(self.store.runs), self.store.copy()
        before = Before(
            work.farm, work.windows, {}, self.snoozes,
            Past(last_run=max(earlier, default=None)), "here", run,
        )  # fmt: skip
        sight = self.sight(now)
        after = decide_all(before, sight, RULES)
        work.put(run, after, now)
        work.closes |= {
            each.key: each.close.likely
            for each in sight.windows or ()
            if each.close.likely is not None
        }
        if crash == "before commit":
            return
        self.judge_steps(self.store, after)
        self.store = work
        if crash != "after commit":
            self.relayed(now, crash)

    def sight(self, now: np.datetime64) -> Sight:
        """What a check sees."""
        farm = FarmReading(
            now, 2026, self.source, self.issue, self.now - h(self.lag_h),
            self.issue + d(7), self.basis,
        )  # fmt: skip
        if not self.weather:
            return Sight(replace(farm, issued=None, horizon=None), None)
        names = [name for name in NAMES if name not in self.gone]
        return Sight(farm, tuple(self.reading(name, now) for name in names))

    def reading(self, name: str, now: np.datetime64) -> Reading:
        """One window with its dates of now."""
        opens = START + d(self.opens[name])
        closes = opens + d(LASTS_D)
        end = min(now + h(6), closes)
        good = end > now and name not in self.dry
        return Reading(
            WindowKey(2026, name, "silver_grass", "glyphosate"), name, "Silver grass",
            40.0, 3.0, name in self.sprayed, Span(opens, opens, opens),
            Span(closes, closes, closes), closes, 1.0,
            (GoodBlock(now, end, 225.0, 4.0, 0.7),) if good else (),
            20.0, 20.0, in_sight=True,
            fault="no projection" if name in self.unknown else "",
        )  # fmt: skip

    # -------------------------------------------------------------- messages

    def relayed(self, now: np.datetime64, crash: str = "") -> None:
        """Hand over what is due; a crash leaves what was kept."""
        with suppress(CrashError):
            for way in list(self.store.deliveries.values()):
                if way.state is Sending.WAITING and way.next_at <= now:
                    self.hand_over(way, now, crash)

    def hand_over(self, way: Delivery, now: np.datetime64, crash: str) -> None:
        """Claim, look again, send, mark; each a commit of its own."""
        message = self.store.messages[way.message]
        events = [self.store.events[key] for key in message.events]
        true = still_true(events, self.store.windows, self.store.farm)
        answer = self.needless(way, events, true)
        if answer:
            return self.keep(
                replace(way, state=Sending.CANCELLED, note=answer, ended=now)
            )
        held = gate(
            message.rank, quiet_until=_quiet_until(now),
            last_chance=self.last_chance(true), silent=WAYS[way.channel].silent,
        )  # fmt: skip
        if held.gate is Gate.HOLD and held.until is not None:
            return self.keep(replace(way, next_at=held.until, note=held.reason))
        way = replace(way, attempts=way.attempts + 1)
        self.keep(way)
        if crash == "before send":
            raise CrashError
        if way.channel in self.down:
            return self.keep(replace(way, next_at=next_try(way.attempts, now)))
        letter = keys.of_letter(way.message, way.channel)
        self.receive(letter, true)
        if not WAYS[way.channel].silent:
            self.heard |= {
                (each.window, each.epoch)
                for each in true
                if each.window is not None and each.change in OF_OPEN
            }
        if crash == "after send":
            self.allowed[letter] += 1
            raise CrashError
        return self.keep(replace(way, state=Sending.SENT, note="accepted", ended=now))

    def needless(
        self, way: Delivery, events: Sequence[Event], true: Sequence[Event]
    ) -> str:
        """Why it must not or need not go out, or nothing."""
        siblings = [
            self.store.deliveries[way.message, name]
            for name in WAYS
            if (way.message, name) in self.store.deliveries
        ]
        if way.stand_in and reached(siblings, WAYS):
            return "cancel.accepted elsewhere"
        if events and not true:
            return overtaken(events[-1], self.store.windows, self.store.farm)
        return ""

    def last_chance(self, events: Sequence[Event]) -> np.datetime64 | None:
        """The first close of the windows it is about."""
        closes = self.store.closes
        about = [each.window for each in events if each.window in closes]
        return min((closes[key] for key in about if key is not None), default=None)

    def keep(self, delivery: Delivery) -> None:
        """One commit."""
        self.store.deliveries[delivery.message, delivery.channel] = delivery

    def receive(self, letter: str, events: Sequence[Event]) -> None:
        """What a person reads."""
        self.copies[letter] += 1
        for each in events:
            if each.window is None:
                continue
            kept = self.store.windows[each.window]
            said = each.change not in RECEIPTS
            assert not (said and kept.sprayed), f"told of a sprayed window: {each}"
            assert not (said and kept.retired), f"told of one that is gone: {each}"
            if each.change in FORWARD:
                step = (each.window, each.change, each.epoch)
                self.named.setdefault(step, set()).add(each.key)

    # ----------------------------------------------------------------- judge

    @invariant()
    def one_step_has_one_name(self) -> None:
        """A step told twice, after a copy was brought back, has the key it had."""
        for step, names in getattr(self, "named", {}).items():
            assert len(names) == 1, f"several keys: {step}"

    @invariant()
    def copies_are_bounded(self) -> None:
        """P2: one more for each crash between accepted and marked."""
        for key, number in getattr(self, "copies", {}).items():
            assert number <= 1 + self.allowed[key]

    def judge_steps(self, before: Store, after: After) -> None:
        """P1: each step that is kept has its events; on a wrong clock there is none."""
        if not after.farm.timely:
            there = after.windows.items()
            assert all(before.windows.get(k, Kept(k)).phase is w.phase for k, w in there
                       if not before.windows.get(k, Kept(k)).retired)  # fmt: skip
        for key, kept in after.windows.items():
            found = tuple(each for each in after.events if each.window == key)
            _judge_step(Step(before.windows.get(key, Kept(key)), kept, found))

    def teardown(self) -> None:
        """All comes back; then the whole history is judged."""
        if not hasattr(self, "store"):
            return
        self.weather, self.lag_h = True, 0
        self.down, self.unknown = set(), set()
        for _ in range(14):
            self.now = self.now + h(6)
            self.new_issue()
            self.run_check()
        for hours in (3, 12, 24):
            self.relayed(self.now + h(hours))
        self.one_step_has_one_name()
        self.copies_are_bounded()
        self.judge_messages()
        for name in NAMES:
            self.judge_phase(name)

    def judge_messages(self) -> None:
        """All that happened is told, or waits for the digest of tomorrow."""
        waiting = {each.key for each in self.store.waiting()}
        for each in self.store.events.values():
            assert (each.key in self.store.told) != (each.key in waiting), each
        for way in self.store.deliveries.values():
            assert way.state in {Sending.SENT, Sending.CANCELLED}, way
            assert way.note
            if way.state is Sending.SENT:
                assert self.copies[keys.of_letter(way.message, way.channel)]

    def judge_phase(self, name: str) -> None:
        """After days of good weather each window stands where its dates are."""
        seen = self.reading(name, self.now)
        kept = self.store.windows.get(seen.key)
        assert kept is None or kept.retired is (name in self.gone)
        if kept is None or kept.retired or kept.sprayed:
            return
        farm = self.sight(self.now).farm
        least = phase_of(seen, farm, RULES)
        most = phase_of(seen, farm, RULES, slack_d=RULES.band_most_d)
        assert least.rank <= kept.phase.rank <= most.rank, (least, kept, most)
        assert not kept.unknown
        assert not kept.presumed
        if kept.phase in {Phase.OPEN, Phase.CLOSING}:
            heard = any((seen.key, n) in self.heard for n in _since(kept))
            waits = any(each.window == seen.key for each in self.store.waiting())
            assert heard or waits, f"nobody knows that it is open: {kept}"


def _since(kept: Kept) -> range:
    """Epochs since it came to be open."""
    return range(kept.opened, kept.epoch + 1)


def _quiet_until(now: np.datetime64) -> np.datetime64 | None:
    """The end of the quiet hours, ten in the evening to six in the morning."""
    day = now.astype("datetime64[D]").astype("datetime64[s]")
    return day + h(20) if day + h(12) <= now < day + h(20) else None


def _judge_step(step: Step) -> None:
    """The events of one check lead from what was kept to what is kept."""
    before, after = step.before, step.after
    returned = before.retired and not after.retired
    start = Phase.NOT_OPEN if returned else before.phase
    forward = [each for each in step.events if each.change in FORWARD]
    back = [each for each in step.events if each.change in BACKWARD]
    assert len(back) <= 1
    assert after.epoch == before.epoch + returned + len(back)
    assert all(each.epoch == after.epoch for each in step.events)
    if back:
        assert not forward
        undone = back[0].change is Change.SPRAY_UNDONE
        assert undone or after.phase.rank < start.rank
        return
    passed = [FORWARD[each.change] for each in forward]
    wanted = [each for each in Phase if start.rank < each.rank <= after.phase.rank]
    assert passed == wanted, f"{start} to {after.phase}: {step.events}"
    assert after.phase.rank >= start.rank


def _run(examples: int, steps: int, *, shrink: bool = True) -> None:
    run_state_machine_as_test(
        Season,
        settings=settings(
            max_examples=examples, stateful_step_count=steps, deadline=None,
            suppress_health_check=list(HealthCheck), database=None, derandomize=True,
            report_multiple_bugs=False,
            phases=list(Steps) if shrink else [Steps.generate],
        ),
    )  # fmt: skip


def test_any_story_keeps_the_promise() -> None:
    """P1, P2, and no word of what is sprayed, gone, or no longer so."""
    _run(1500 if FULL else 100, 50 if FULL else 30)


def test_a_key_without_the_epoch_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """The test itself: a second opening would pass for the first."""
    right = keys.of_event

    def wrong(
        installation: str,
        window: WindowKey | None,
        change: Change,
        epoch: int,
        serial: int = 0,
    ) -> str:
        del epoch
        return right(installation, window, change, 0, serial)

    monkeypatch.setattr(keys, "of_event", wrong)
    with pytest.raises(AssertionError, match="one key for two events"):
        _run(300, 30, shrink=False)


def test_a_key_with_a_date_in_it_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """The test itself: what is told again after a mishap would have another name."""
    right = of_events.event_of

    def wrong(
        kept: Kept,
        change: Change,
        rank: Rank,
        context: of_events.Context,
        *,
        at: np.datetime64,
        serial: int = 0,
    ) -> Event:
        event = right(kept, change, rank, context, at=at, serial=serial)
        return replace(event, key=f"{event.key} {context.farm.now}")

    for module in ("decide", "tellings", "unwatched"):
        monkeypatch.setattr(f"forecaster.domain.alerts.{module}.event_of", wrong)
    with pytest.raises(AssertionError, match="several keys"):
        _run(300, 30, shrink=False)
