"""Windows that are sprayed, unknown, snoozed or without weather; our own rules."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from scene import NOW, changes, context, d, farm, h, kept, reading

from forecaster.domain.alerts.decide import decide
from forecaster.domain.alerts.records import Change, Phase, Rank

if TYPE_CHECKING:
    from forecaster.domain.alerts.reading import Reading


@pytest.mark.parametrize("phase", list(Phase))
def test_sprayed_is_taken_in_any_phase_and_then_silent(phase: Phase) -> None:
    """T10, E6."""
    first = decide(kept(phase), reading(-2, 9, sprayed=True), context())
    assert (changes(first), first.events[0].rank) == ([Change.SPRAYED], Rank.DIGEST)
    then = decide(first.kept, reading(-12, -2, sprayed=True), context())
    assert (then.events, then.reason) == ((), "skip.sprayed")


@pytest.mark.parametrize(
    ("opens", "closes", "phase", "rank"),
    [
        (-2, 12, Phase.OPEN, Rank.PUSH),
        (-9, 1, Phase.CLOSING, Rank.PUSH),
        (-12, -2, Phase.CLOSED, Rank.DIGEST),
        (20, 30, Phase.NOT_OPEN, Rank.DIGEST),
    ],
)
def test_undone_is_worked_out_anew(
    opens: float, closes: float, phase: Phase, rank: Rank
) -> None:
    """T11, E8: loud only where there is still something to do."""
    answer = decide(kept(Phase.OPEN, sprayed=True), reading(opens, closes), context())
    assert changes(answer) == [Change.SPRAY_UNDONE]
    assert (answer.kept.phase, answer.kept.epoch) == (phase, 2)
    assert answer.events[0].rank is rank


def test_undone_while_unknown_keeps_its_phase() -> None:
    """What cannot be told is not guessed."""
    window = reading(None, None, fault="no projection")
    answer = decide(kept(Phase.OPEN, sprayed=True), window, context())
    assert answer.kept.phase is Phase.OPEN


def test_undone_twice_is_told_twice() -> None:
    """Each time is an event of its own."""
    keys = set()
    state = kept(Phase.OPEN)
    for sprayed in (True, False, True, False):
        answer = decide(state, reading(-2, 9, sprayed=sprayed), context())
        state = answer.kept
        keys |= {each.key for each in answer.events}
    assert len(keys) == 4


@pytest.mark.parametrize(
    ("phase", "rank"), [(Phase.OPEN, Rank.PUSH), (Phase.NOT_OPEN, Rank.DIGEST)]
)
def test_unknown_is_told_once(phase: Phase, rank: Rank) -> None:
    """One failing paddock says so and stands where it stood."""
    window = reading(None, None, fault="no projection")
    first = decide(kept(phase), window, context())
    assert (changes(first), first.events[0].rank) == ([Change.UNKNOWN], rank)
    then = decide(first.kept, window, context())
    assert (then.events, then.reason) == ((), "unknown")
    back = decide(first.kept, reading(20, 30), context())
    assert not back.kept.unknown


def test_a_snooze_keeps_quiet_but_for_the_end() -> None:
    """T12: all waits for the digest, save closing and closed."""
    quiet = context(snoozed=True)
    opened = decide(kept(Phase.OPENING_SOON), reading(-1, 12), quiet)
    assert opened.events[0].rank is Rank.DIGEST
    closing = decide(kept(Phase.OPEN), reading(-5, 1), quiet)
    assert closing.events[0].rank is Rank.URGENT


def test_without_weather_nothing_moves() -> None:
    """T13: the phase is kept."""
    before = kept(Phase.OPENING_SOON)
    answer = decide(before, reading(-1, 12), context(usable=False))
    assert (answer.kept, answer.reason) == (before, "hold.no weather")
    assert decide(before, None, context(usable=False)).reason == "hold.no weather"


def test_a_close_that_was_foreseen_is_presumed() -> None:
    """T4 on old weather: by its own dates, or by those of the last forecast."""
    seen = decide(kept(Phase.CLOSING), reading(-12, -1), context(usable=False))
    assert changes(seen) == [Change.PRESUMED_CLOSED]
    assert seen.events[0].at == NOW - d(1)
    blind = kept(Phase.OPEN, edge=NOW - h(2))
    answer = decide(blind, None, context(farm(issued=None), usable=False))
    assert changes(answer) == [Change.CLOSING, Change.PRESUMED_CLOSED]
    assert answer.kept.phase is Phase.CLOSED
    assert decide(kept(Phase.OPEN), None, context(usable=False)).events == ()


def test_a_close_that_was_observed_needs_two_forecasts_to_reopen() -> None:
    """T9: a record that was corrected by more than the dead band."""
    state = kept(Phase.CLOSED)
    first = decide(state, reading(-9, 4), context(farm(NOW, issued=NOW)))
    then = farm(NOW + h(6), issued=NOW + h(6))
    second = decide(first.kept, reading(-9, 4), context(then))
    assert changes(second) == [Change.REOPENED]


def test_sprayed_is_noted_without_weather_too() -> None:
    """A grower's word needs no forecast."""
    window = reading(-1, 12, sprayed=True)
    answer = decide(kept(Phase.OPEN), window, context(usable=False))
    assert changes(answer) == [Change.SPRAYED]


def test_undone_after_a_close_nobody_saw_is_still_closing() -> None:
    """T11, T4: on forecast hours alone a window is not closed by taking a mark back."""
    unseen = context(farm(seen_until=NOW - d(3)))
    answer = decide(kept(Phase.OPEN, sprayed=True), reading(-9, -0.5), unseen)
    assert answer.kept.phase is Phase.CLOSING
    assert answer.events[0].rank is Rank.PUSH
    long_ago = decide(kept(Phase.OPEN, sprayed=True), reading(-9, -2), unseen)
    assert (long_ago.kept.phase, long_ago.kept.presumed) == (Phase.CLOSED, True)


def test_what_moved_while_it_was_sprayed_is_no_tremble() -> None:
    """The dead band is learnt of a window that is watched."""
    before = kept(Phase.OPEN, sprayed=True, edge=NOW - d(20), issue=NOW - d(30))
    undone = decide(before, reading(-2, 12), context())
    then = NOW + h(6)
    after = decide(undone.kept, reading(-2, 12), context(farm(then)))
    assert after.kept.jitter == 0


def test_a_window_that_comes_and_goes_wakes_once_a_day() -> None:
    """E17, our own: what cannot be told is told aloud once in 24 h."""
    state, ranks = kept(Phase.OPEN), []
    gone = reading(None, None, fault="no projection")
    for hour in range(50):
        at = NOW + h(hour)
        seen = gone if hour % 2 else reading(-2, 40)
        answer = decide(state, seen, context(farm(at)))
        state = answer.kept
        ranks += [(hour, each.rank) for each in answer.events]
    assert [hour for hour, rank in ranks if rank is Rank.PUSH] == [1, 25, 49]
    assert len(ranks) == 25


@pytest.mark.parametrize(
    "seen",
    [reading(None, None, fault="no projection"), reading(-2, 12)],
    ids=["unknown", "undone"],
)
def test_a_snooze_covers_all_but_the_end(seen: Reading) -> None:
    """T12: unknown, or not marked sprayed any more, waits for the digest."""
    before = kept(Phase.OPEN, sprayed=not seen.fault)
    answer = decide(before, seen, context(snoozed=True))
    assert [each.rank for each in answer.events] == [Rank.DIGEST]


@pytest.mark.parametrize("usable", [True, False])
def test_a_window_that_left_the_farm_file_stays_silent(*, usable: bool) -> None:
    """T15: also where there is no weather and its last known close passes."""
    gone = kept(Phase.CLOSING, retired=True, edge=NOW - d(1))
    answer = decide(gone, None, context(usable=usable))
    assert (answer.kept, answer.events, answer.reason) == (gone, (), "skip.retired")


def test_what_a_sprayed_paddock_asks_for_is_told_once_a_spray() -> None:
    """In the digest, snoozed or not, on old weather too; undone it may come again."""
    asks = reading(-12, -2, sprayed=True, due=(Change.LOOK_AGAIN,))
    first = decide(kept(Phase.CLOSED, sprayed=True), asks, context(usable=False))
    assert (changes(first), first.events[0].rank) == ([Change.LOOK_AGAIN], Rank.DIGEST)
    more = replace(asks, due=(Change.LOOK_AGAIN, Change.SOAKED))
    then = decide(first.kept, more, context(snoozed=True))
    assert (changes(then), then.events[0].rank) == ([Change.SOAKED], Rank.DIGEST)
    assert decide(then.kept, more, context()).reason == "skip.sprayed"
    undone = decide(then.kept, reading(-12, -2), context()).kept
    again = decide(undone, reading(-12, -2, sprayed=True), context()).kept
    last = decide(again, more, context())
    assert changes(last) == [Change.LOOK_AGAIN, Change.SOAKED]
    keys = [each.key for each in (*first.events, *then.events, *last.events)]
    assert len(set(keys)) == 4
