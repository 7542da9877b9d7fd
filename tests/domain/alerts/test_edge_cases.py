"""Odd cases by name, as far as decisions have a part in them; our own rules.

E4, E10, E17 to E20, E25 to E28, E32, E34 to E36, E39 to E41 and E43 to E45 are the
business of readings, settings, the state, the relay or the words, and tested there.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scene import (
    KEY,
    NOW,
    RULES,
    Watch,
    changes,
    context,
    d,
    farm,
    h,
    kept,
    reading,
)

from forecaster.domain.alerts import keys
from forecaster.domain.alerts.decide import decide
from forecaster.domain.alerts.events import BASIS_CHANGED
from forecaster.domain.alerts.farm_news import Past, decide_farm
from forecaster.domain.alerts.messages import Way, deliveries, grouped
from forecaster.domain.alerts.records import (
    Change,
    FarmKept,
    Freshness,
    Kept,
    Message,
    Phase,
    Rank,
)
from forecaster.domain.alerts.sending import Gate, gate, overtaken, still_true

FARM = FarmKept(freshness=Freshness.FRESH, highest=NOW, season=2026)
ANYTHING = frozenset(Rank)


def test_e1_a_window_shorter_than_the_closing_lead() -> None:
    """Open and already closing: two events and one message."""
    answer = decide(kept(Phase.OPENING_SOON), reading(-0.1, 1.2), context())
    assert changes(answer) == [Change.OPENED, Change.CLOSING]
    assert len(grouped(answer.events, first=False)) == 1


def test_e2_opened_and_closed_while_the_machine_was_off() -> None:
    """Every step is an event with the moment it happened at; one message."""
    answer = decide(kept(Phase.NOT_OPEN), reading(-12, -2), context())
    assert changes(answer) == [
        Change.SOON, Change.OPENED, Change.CLOSING, Change.CLOSED,
    ]  # fmt: skip
    # Soon a week before the opening, by the outlook's rule.
    assert [each.at for each in answer.events] == [
        NOW - d(19), NOW - d(12), NOW, NOW - d(2),
    ]  # fmt: skip
    assert [each.rank for each in grouped(answer.events, first=False)] == [Rank.PUSH]


def test_e3_open_without_good_hours() -> None:
    """It opens all the same; one message when hours appear."""
    dry = decide(kept(Phase.OPENING_SOON), reading(-1, 12, blocks=()), context())
    assert changes(dry) == [Change.OPENED]
    found = decide(dry.kept, reading(-1, 12), context())
    assert changes(found) == [Change.HOURS_FOUND]
    assert changes(decide(found.kept, reading(-1, 12), context())) == []


def test_e5_two_actives_for_one_weed_are_two_windows() -> None:
    """Sprayed with one covers that one; the other has keys of its own."""
    other = KEY._replace(active="paraquat")
    done = decide(kept(Phase.OPEN), reading(-1, 9, sprayed=True), context()).kept
    open_still = replace(kept(Phase.OPENING_SOON), key=other)
    answer = decide(open_still, reading(-1, 9, key=other), context())
    assert changes(answer) == [Change.OPENED]
    assert overtaken(answer.events[0], {KEY: done, other: answer.kept}, FARM) == ""
    first = keys.of_event("here", KEY, Change.OPENED, 1)
    assert answer.events[0].key != first


@pytest.mark.parametrize("phase", [Phase.NOT_OPEN, Phase.OPENING_SOON])
def test_e6_sprayed_before_it_opened(phase: Phase) -> None:
    """Taken from any phase; its dates are told no more."""
    answer = decide(kept(phase), reading(5, 15, sprayed=True), context())
    assert changes(answer) == [Change.SPRAYED]
    later = decide(answer.kept, reading(-3, 7, sprayed=True), context())
    assert later.events == ()


def test_e8_undone_after_the_close() -> None:
    """Closed, and told in the digest only."""
    done = kept(Phase.OPEN, sprayed=True)
    answer = decide(done, reading(-12, -2), context())
    assert (changes(answer), answer.kept.phase) == (
        [Change.SPRAY_UNDONE],
        Phase.CLOSED,
    )
    assert answer.events[0].rank is Rank.DIGEST


def test_e9_a_snooze_across_the_close() -> None:
    """What closes speaks, however quiet somebody wanted it."""
    quiet = context(snoozed=True)
    for phase, dates, change in (
        (Phase.OPEN, (-9, 1), Change.CLOSING),
        (Phase.CLOSING, (-9, -0.1), Change.CLOSED),
    ):
        answer = decide(kept(phase), reading(*dates), quiet)
        assert changes(answer) == [change]
        assert answer.events[0].rank is not Rank.DIGEST


def test_e11_an_opening_taken_back_after_somebody_sprayed() -> None:
    """Sprayed stays so, in silence; undone, it stands where the dates are."""
    done = decide(kept(Phase.OPEN), reading(-1, 9, sprayed=True), context()).kept
    for _ in range(3):
        answer = decide(done, reading(5, 15, sprayed=True), context())
        assert (answer.events, answer.kept) == ((), done)
    undone = decide(done, reading(5, 15), context())
    assert undone.kept.phase is Phase.OPENING_SOON


@pytest.mark.parametrize(("shift", "back"), [(0.3, False), (0.7, True)])
def test_e12_observed_hours_replace_forecast_ones(shift: float, *, back: bool) -> None:
    """Within the dead band nothing; beyond it a correction by two forecasts."""
    watch = Watch(state=kept(Phase.OPEN))
    for step in range(2):
        at = NOW + h(step / 60)
        watch.check(at, reading(shift, 12), issued=at)
    assert bool(watch.events) is back


def test_e13_another_service_brings_a_bias() -> None:
    """Two forecasts of the new service before a step back."""
    watch = Watch(state=kept(Phase.OPEN))
    for step in range(2):
        at = NOW + h(6 * step)
        told = changes(watch.check(at, reading(3, 15), source="two", issued=at))
        assert told == ([Change.NOT_OPEN_YET] if step else [])


def test_e14_the_same_forecast_again_confirms_nothing() -> None:
    """However often it is served."""
    watch = Watch(state=kept(Phase.OPEN))
    for hour in range(20):
        watch.check(NOW + h(hour), reading(3, 15), issued=NOW)
    assert watch.events == []


def test_e15_weather_that_ends_before_the_lead() -> None:
    """A close not reached is none, and hours beyond are not counted as few."""
    window = reading(-2, 9, hours=1.0, look_hours=0.0, in_sight=False)
    seen = farm(horizon=NOW + h(60))
    answer = decide(kept(Phase.OPEN), window, context(seen))
    assert (changes(answer), answer.reason) == ([], "same.open")


def test_e16_a_close_beyond_the_weather() -> None:
    """Open, and no date is kept that might be told."""
    answer = decide(kept(Phase.OPENING_SOON), reading(-1, None), context())
    assert (changes(answer), answer.kept.told_close) == ([Change.OPENED], None)
    lost = decide(answer.kept, None, context(usable=False))
    assert lost.reason == "hold.no weather"


def test_e21_a_paddock_that_comes_back_has_an_epoch_of_its_own() -> None:
    """An opening told before it left is not the one told now."""
    gone = kept(Phase.OPEN, retired=True, epoch=1)
    back = Kept(KEY, epoch=gone.epoch + 1)
    answer = decide(back, reading(-1, 12), context())
    told = keys.of_event("here", KEY, Change.OPENED, 1)
    assert changes(answer) == [Change.SOON, Change.OPENED]
    assert told not in {each.key for each in answer.events}


def test_e22_a_first_check_with_everything_open() -> None:
    """One message for all windows, whatever their phases."""
    events = [
        each
        for number, dates in enumerate(((-2, 12), (-9, 1), (-20, -5), (3, 15)))
        for each in decide(
            Kept(KEY._replace(paddock=f"p{number}")),
            reading(*dates, key=KEY._replace(paddock=f"p{number}")),
            context(),
        ).events
    ]
    (message,) = grouped(events, first=True)
    assert (message.rank, len(message.events)) == (Rank.URGENT, 2 + 3 + 4)


def test_e24_each_channel_has_a_delivery_of_its_own() -> None:
    """One that fails leaves the other as it is."""
    message = Message("m", Rank.URGENT, (), NOW)
    ways = [Way("phone", ANYTHING), Way("mail", ANYTHING)]
    assert [each.channel for each in deliveries(message, ways)] == ["phone", "mail"]


def test_e29_a_clock_that_is_wrong_moves_no_window() -> None:
    """1970, a day back, a century ahead: nothing is closed by the clock alone."""
    for now in ("1970-01-01", "2026-10-11", "2100-01-01"):
        seen = farm(
            np.datetime64(now, "s"),
            issued=NOW - h(1),
            seen_until=NOW,
            horizon=NOW + d(7),
        )
        answer = decide_farm(
            FARM, seen, RULES, past=Past(last_run=NOW), phases=[Phase.OPEN],
            installation="here", run=1,
        )  # fmt: skip
        ctx = context(
            seen, usable=answer.usable, timely=answer.timely, near=answer.near
        )
        window = decide(kept(Phase.OPEN, edge=NOW + d(9)), reading(-2, 9), ctx)
        assert window.kept.phase is Phase.OPEN
        assert window.events == ()
        assert answer.kept.highest == NOW


def test_e30_two_days_of_sleep_are_one_check_and_one_word() -> None:
    """Not 48; and the steps meanwhile are one message."""
    answer = decide_farm(
        FARM, farm(NOW + d(2)), RULES, past=Past(last_run=NOW),
        phases=[Phase.OPENING_SOON], installation="here", run=1,
    )  # fmt: skip
    assert [each.change for each in answer.events] == [Change.WAS_OFF]


def test_e31_quiet_hours_over_all_that_is_left() -> None:
    """Urgent breaks through where the last hours would be slept through."""
    morning = NOW + h(8)
    for ends, expected in ((2.0, Gate.SEND), (2.1, Gate.HOLD)):
        answer = gate(
            Rank.URGENT, quiet_until=morning, last_chance=morning + h(ends),
            silent=False,
        )  # fmt: skip
        assert answer.gate is expected


def test_e33_held_and_then_no_longer_so() -> None:
    """Cancelled, with the reason."""
    opened = decide(kept(Phase.OPENING_SOON), reading(-0.1, 12), context())
    watch = Watch(state=opened.kept)
    for step in range(1, 3):
        at = NOW + h(6 * step)
        watch.check(at, reading(3, 15), issued=at)
    windows = {KEY: watch.state}
    assert overtaken(opened.events[0], windows, FARM) == "cancel.retracted"
    assert still_true(opened.events, windows, FARM) == ()


def test_e37_what_never_came_through_before_the_close() -> None:
    """The earlier message goes, the close is told."""
    closing = decide(kept(Phase.OPEN), reading(-9, 1), context())
    then = NOW + d(1.1)
    closed = decide(closing.kept, reading(-9, 1), context(farm(then)))
    windows = {KEY: closed.kept}
    assert overtaken(closing.events[0], windows, FARM) == "cancel.superseded"
    assert overtaken(closed.events[0], windows, FARM) == ""


@pytest.mark.parametrize(
    ("phase", "opens", "rank"),
    [(Phase.OPEN, 5, Rank.PUSH), (Phase.OPENING_SOON, 15, Rank.DIGEST)],
)
def test_e38_an_upgrade_moves_the_dates(phase: Phase, opens: float, rank: Rank) -> None:
    """Said so, at once; loud only where a window was open."""
    seen = farm(basis="another version")
    answer = decide(kept(phase), reading(opens, opens + 10), context(seen))
    assert [(each.rank, each.because) for each in answer.events] == [
        (rank, BASIS_CHANGED)
    ]
