"""Windows that are sprayed, unknown, snoozed or without weather; our own rules."""

from __future__ import annotations

import pytest
from scene import NOW, changes, context, d, farm, h, kept, reading

from forecaster.domain.alerts.decide import decide
from forecaster.domain.alerts.records import Change, Phase, Rank


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


def test_weather_that_comes_back_corrects_a_presumed_close() -> None:
    """T9 and T14: reopened once two forecasts say so."""
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
