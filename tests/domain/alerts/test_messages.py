"""Which events go together, through which channels, and when; our own rules."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from scene import KEY, NOW, d, h, kept

from forecaster.domain.alerts import keys
from forecaster.domain.alerts.messages import (
    Way,
    deliveries,
    digest,
    grouped,
    reached,
)
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
    WindowKey,
)
from forecaster.domain.alerts.sending import (
    SINCE,
    Gate,
    gate,
    gave_up,
    next_try,
    overtaken,
    still_true,
)

if TYPE_CHECKING:
    import numpy as np

ALL = frozenset(Rank)
FARM = FarmKept()


def _event(change: Change, rank: Rank, epoch: int = 1, **other: object) -> Event:
    key = keys.of_event("here", KEY, change, epoch)
    plain = Event(key, change, rank, NOW, NOW, KEY, epoch)
    return replace(plain, **other)  # type: ignore[arg-type]


OPENED = _event(Change.OPENED, Rank.PUSH)
CLOSING = _event(Change.CLOSING, Rank.URGENT)
SOON = _event(Change.SOON, Rank.DIGEST)


def test_one_message_a_rank() -> None:
    """Grouping; what can wait for the digest waits."""
    made = grouped([OPENED, CLOSING, SOON], first=False)
    assert [(each.rank, each.events) for each in made] == [
        (Rank.URGENT, (CLOSING.key,)),
        (Rank.PUSH, (OPENED.key,)),
    ]


def test_the_first_check_is_one_message() -> None:
    """E22: no burst."""
    (made,) = grouped([OPENED, CLOSING, SOON], first=True)
    assert (made.rank, len(made.events)) == (Rank.URGENT, 3)
    (calm,) = grouped([SOON], first=True)
    assert calm.rank is Rank.PUSH
    assert grouped([], first=True) == ()


def test_keys_hold_no_dates_and_no_order() -> None:
    """A forecast that wavers makes no new key."""
    later = replace(OPENED, at=NOW - d(3), made=NOW + d(1))
    assert keys.of_event("here", KEY, later.change, 1) == OPENED.key
    assert keys.of_message([OPENED.key, SOON.key], Rank.PUSH) == keys.of_message(
        [SOON.key, OPENED.key], Rank.PUSH
    )
    others = {
        OPENED.key,
        keys.of_event("there", KEY, Change.OPENED, 1),
        keys.of_event("here", KEY, Change.OPENED, 2),
        keys.of_event("here", KEY._replace(active="paraquat"), Change.OPENED, 1),
        keys.of_event("here", None, Change.OPENED, 1),
        keys.of_event("here", KEY, Change.OPENED, 1, 1),
        keys.of_event("here", KEY, Change.CLOSED, 1),
    }
    assert len(others) == 7
    assert keys.of_digest("here", "2026-10-12") != keys.of_digest("here", "2026-10-13")
    assert keys.of_letter("a", "phone") != keys.of_letter("a", "mail")


PHONE, MAIL = Way("phone", ALL), Way("mail", ALL)
NEIGHBOUR = Way("neighbour", ALL, second=True)
SHED = Way("shed", ALL, silent=True)


def _waits(rank: Rank, *ways: Way) -> dict[str, tuple[float, bool]]:
    message = Message("key", rank, (), NOW)
    return {
        each.channel: (float((each.next_at - NOW) / h(1)), each.stand_in)
        for each in deliveries(message, ways)
    }


def test_urgent_goes_to_all_and_to_the_second_contact_after_two_hours() -> None:
    """Escalation."""
    assert _waits(Rank.URGENT, PHONE, MAIL, NEIGHBOUR, SHED) == {
        "phone": (0, False),
        "mail": (0, False),
        "neighbour": (2, True),
        "shed": (0, False),
    }


def test_a_push_goes_to_one_channel_after_another() -> None:
    """The next after half an hour without acceptance; a file at once."""
    assert _waits(Rank.PUSH, SHED, PHONE, MAIL, NEIGHBOUR) == {
        "phone": (0, False),
        "mail": (0.5, True),
        "neighbour": (2, True),
        "shed": (0, False),
    }


def test_a_digest_goes_to_its_channels_only() -> None:
    """Nobody's second contact reads a digest."""
    phone = Way("phone", frozenset({Rank.URGENT}))
    assert _waits(Rank.DIGEST, phone, MAIL, NEIGHBOUR) == {"mail": (0, False)}


def test_somebody_hears_of_what_no_channel_is_for() -> None:
    """A farm file that names no channel for a rank must not silence it."""
    phone = Way("phone", frozenset({Rank.DIGEST}))
    assert _waits(Rank.URGENT, phone) == {"phone": (0, False)}
    assert _waits(Rank.URGENT, NEIGHBOUR) == {"neighbour": (0, False)}


def test_a_file_is_nobody() -> None:
    """Only a person's channel calls off the stand-ins."""
    ways = {way.name: way for way in (PHONE, SHED)}
    sent = Delivery("m", "shed", Sending.SENT, NOW)
    assert not reached([sent], ways)
    assert reached([sent, replace(sent, channel="phone")], ways)
    assert not reached([replace(sent, channel="gone")], ways)


def test_the_digest_of_a_day_is_one() -> None:
    """Its key is the day's."""
    one = digest("here", "2026-10-12", [SOON], NOW)
    other = digest("here", "2026-10-12", [], NOW + h(3))
    assert one.key == other.key
    assert one.events == (SOON.key,)


@pytest.mark.parametrize(
    ("change", "phase", "expected"),
    [
        (Change.SOON, Phase.OPEN, "cancel.superseded"),
        (Change.SOON, Phase.OPENING_SOON, ""),
        (Change.OPENED, Phase.CLOSED, "cancel.superseded"),
        (Change.OPENED, Phase.CLOSING, ""),
        (Change.LAST_HOURS, Phase.CLOSED, "cancel.superseded"),
        (Change.CLOSING, Phase.CLOSING, ""),
        (Change.CLOSED, Phase.CLOSED, ""),
    ],
)
def test_what_a_window_has_left_behind_is_not_told(
    change: Change, phase: Phase, expected: str
) -> None:
    """Supersede, never lie."""
    event = _event(change, Rank.PUSH)
    assert overtaken(event, {KEY: kept(phase)}, FARM) == expected


@pytest.mark.parametrize(
    ("window", "expected"),
    [
        (kept(Phase.OPEN, sprayed=True), "cancel.sprayed"),
        (kept(Phase.OPEN, retired=True), "cancel.retired"),
        (kept(Phase.OPENING_SOON, epoch=2), "cancel.retracted"),
        (kept(Phase.OPEN, epoch=2, opened=2), "cancel.retracted"),
        (kept(Phase.OPEN), ""),
    ],
)
def test_what_is_done_or_taken_back_is_not_told(window: Kept, expected: str) -> None:
    """T10, T15, E33."""
    assert overtaken(OPENED, {KEY: window}, FARM) == expected
    receipt = _event(Change.SPRAYED, Rank.DIGEST)
    assert overtaken(receipt, {KEY: window}, FARM) == ""


@pytest.mark.parametrize(
    ("window", "expected"),
    [
        (kept(Phase.CLOSED, sprayed=True), ""),
        (kept(Phase.CLOSED), "cancel.retracted"),
        (kept(Phase.CLOSED, sprayed=True, epoch=2), "cancel.retracted"),
        (kept(Phase.CLOSED, sprayed=True, retired=True), "cancel.retired"),
    ],
)
@pytest.mark.parametrize("change", sorted(SINCE))
def test_what_follows_a_spray_is_told_while_the_spray_stands(
    change: Change, window: Kept, expected: str
) -> None:
    """A spray that was taken back asks for nothing."""
    event = _event(change, Rank.DIGEST)
    assert overtaken(event, {KEY: window}, FARM) == expected
    told = still_true([SOON, event], {KEY: window}, FARM)
    assert told == (() if expected else (event,))


def test_news_of_the_farm_or_an_unknown_window_is_told() -> None:
    """Nothing is known against it."""
    assert (
        overtaken(replace(OPENED, window=None), {KEY: kept(Phase.CLOSED)}, FARM) == ""
    )
    assert overtaken(OPENED, {}, FARM) == ""


@pytest.mark.parametrize(
    "change", [Change.NO_WEATHER, Change.CLOCK_WRONG, Change.TROUBLE]
)
def test_a_trouble_that_passed_or_was_told_anew_is_not_told(change: Change) -> None:
    """One message about what still is, not one for each day it lasted."""
    event = replace(OPENED, window=None, change=change)
    for told, expected in (
        (None, "cancel.superseded"),
        (NOW, ""),
        (NOW + d(1), "cancel.superseded"),
    ):
        farm = replace(FARM, stale_told=told, clock_told=told, trouble_told=told)
        assert overtaken(event, {}, farm) == expected


def test_steps_on_the_way_stay_with_the_last() -> None:
    """One message lists them all; they go when the last goes."""
    other = WindowKey(2026, "house", "silver_grass", "paraquat")
    elsewhere = replace(OPENED, window=other)
    about_farm = replace(OPENED, window=None)
    windows = {KEY: kept(Phase.CLOSING), other: kept(Phase.CLOSED)}
    events = [about_farm, SOON, CLOSING, elsewhere]
    assert still_true(events, windows, FARM) == (about_farm, SOON, CLOSING)


MORNING = NOW + h(8)


@pytest.mark.parametrize(
    ("rank", "quiet", "chance", "silent", "expected"),
    [
        (Rank.PUSH, None, None, False, Gate.SEND),
        (Rank.PUSH, MORNING, MORNING, False, Gate.HOLD),
        (Rank.PUSH, MORNING, None, True, Gate.SEND),
        (Rank.RECEIPT, MORNING, None, False, Gate.SEND),
        (Rank.URGENT, MORNING, MORNING + h(2), False, Gate.SEND),
        (Rank.URGENT, MORNING, MORNING + h(2.1), False, Gate.HOLD),
        (Rank.URGENT, MORNING, None, False, Gate.HOLD),
    ],
)
def test_quiet_hours(
    rank: Rank,
    quiet: np.datetime64 | None,
    chance: np.datetime64 | None,
    silent: bool,
    expected: Gate,
) -> None:
    """E31: broken only where the last good hours would be slept through."""
    answer = gate(rank, quiet_until=quiet, last_chance=chance, silent=silent)
    assert answer.gate is expected
    assert answer.until == (quiet if expected is Gate.HOLD else None)


def test_tries_are_one_five_fifteen_sixty_minutes_apart() -> None:
    """Back-off; a receiver's wish counts up to a day."""
    waits = [float((next_try(n, NOW) - NOW) / h(1)) * 60 for n in (0, 1, 2, 3, 4, 9)]
    assert waits == pytest.approx([1, 1, 5, 15, 60, 60])
    assert next_try(1, NOW, wait_s=600) == NOW + h(1 / 6)
    assert next_try(1, NOW, wait_s=1e9) == NOW + d(1)
    assert next_try(1, NOW, wait_s=-5) == NOW + h(1 / 60)


def test_only_a_test_is_given_up() -> None:
    """All else is tried until it is overtaken: a farm may be offline for days."""
    for rank in (Rank.URGENT, Rank.PUSH, Rank.DIGEST):
        assert not gave_up(rank, NOW, NOW + d(9))
    assert gave_up(Rank.RECEIPT, NOW, NOW + d(1))
    assert not gave_up(Rank.RECEIPT, NOW, NOW + h(23))


def test_more_time_takes_no_opening_back() -> None:
    """E33: the phone was off while it opened, was closing, and got more time.

    An opening that was never delivered still has to be: the window is open.
    """
    window = kept(Phase.OPEN, epoch=2, opened=1)
    assert overtaken(OPENED, {KEY: window}, FARM) == ""
    assert overtaken(CLOSING, {KEY: window}, FARM) == "cancel.retracted"
    told = still_true([SOON, OPENED, CLOSING], {KEY: window}, FARM)
    assert told == (SOON, OPENED)


def test_more_time_is_not_told_of_a_window_that_is_closing_again() -> None:
    """Supersede, never lie."""
    event = _event(Change.MORE_TIME, Rank.DIGEST, epoch=2)
    closing = kept(Phase.CLOSING, epoch=2)
    assert overtaken(event, {KEY: closing}, FARM) == "cancel.superseded"
    assert overtaken(event, {KEY: replace(closing, phase=Phase.OPEN)}, FARM) == ""


@pytest.mark.parametrize(
    ("change", "window", "expected"),
    [
        (Change.UNKNOWN, kept(Phase.OPEN, unknown=True), ""),
        (Change.UNKNOWN, kept(Phase.OPEN), "cancel.superseded"),
        (Change.HOURS_FOUND, kept(Phase.OPEN, has_hours=True), ""),
        (Change.HOURS_FOUND, kept(Phase.OPEN), ""),
        (Change.HOURS_FOUND, kept(Phase.OPEN, dry_since=NOW), "cancel.superseded"),
    ],
)
def test_what_is_no_longer_so_is_not_told(
    change: Change, window: Kept, expected: str
) -> None:
    """Hours that went again overnight must not be told as good in the morning."""
    assert overtaken(_event(change, Rank.PUSH), {KEY: window}, FARM) == expected


def test_ten_thousand_windows_are_one_message() -> None:
    """E23."""
    many = [replace(OPENED, key=f"{n:024d}") for n in range(10_000)]
    (made,) = grouped(many, first=False)
    assert len(made.events) == 10_000


@pytest.mark.parametrize(
    ("change", "window"),
    [
        (Change.SPRAYED, kept(Phase.OPEN, sprayed=True)),
        (Change.RETIRED, kept(Phase.OPEN, retired=True)),
        (Change.SPRAY_UNDONE, kept(Phase.OPEN, epoch=2, opened=2)),
    ],
)
def test_a_receipt_keeps_no_step_alive(change: Change, window: Kept) -> None:
    """T10, T15: in one digest the mark is told, and nothing of before."""
    receipt = _event(change, Rank.DIGEST, epoch=window.epoch)
    assert still_true([SOON, OPENED, receipt], {KEY: window}, FARM) == (receipt,)
