"""What is told of a window that stays in its phase; our own rules."""

from __future__ import annotations

import pytest
from scene import NOW, Watch, changes, context, d, h, kept, reading

from forecaster.domain.alerts.decide import decide
from forecaster.domain.alerts.records import Change, Phase, Rank


@pytest.mark.parametrize(
    ("left_h", "change"),
    [(23, Change.LAST_DAY), (5, Change.LAST_HOURS), (30, None)],
)
def test_the_end_is_told_again_once(left_h: float, change: Change | None) -> None:
    """Again at a day and at six hours, while there are good hours."""
    window = reading(-9, left_h / 24)
    first = decide(kept(Phase.CLOSING), window, context())
    assert changes(first) == ([] if change is None else [change])
    then = decide(first.kept, window, context())
    assert changes(then) == []


def test_the_end_is_not_told_again_without_good_hours() -> None:
    """There is nothing to be done about it; the close itself will be told."""
    window = reading(-9, 0.5, blocks=())
    assert changes(decide(kept(Phase.CLOSING), window, context())) == []


def test_hours_that_appear_are_told_once_in_a_while() -> None:
    """E3: a window that was open without good hours."""
    dry = decide(kept(Phase.OPEN), reading(-2, 12, blocks=()), context())
    assert dry.kept.has_hours is False
    held = decide(dry.kept, reading(-2, 12), context(hours_told=True))
    assert changes(held) == []
    told = decide(dry.kept, reading(-2, 12), context())
    assert (changes(told), told.events[0].rank) == ([Change.HOURS_FOUND], Rank.PUSH)
    unknown = decide(
        dry.kept, reading(-2, 12, blocks=(), hours=float("nan")), context()
    )
    assert unknown.kept.has_hours is False


def test_a_close_that_moves_a_day_is_told_once_a_day() -> None:
    """A material change, for the digest."""
    watch = Watch(state=kept(Phase.OPENING_SOON))
    watch.check(NOW, reading(-0.1, 10))
    watch.check(NOW + h(6), reading(-0.1, 12))
    assert len(watch.events) == 1
    told = watch.check(NOW + d(1), reading(-0.1, 12))
    assert (changes(told), told.events[0].rank) == ([Change.MOVED], Rank.DIGEST)
    watch.check(NOW + d(1) + h(1), reading(-0.1, 14))
    again = watch.check(NOW + d(2) + h(1), reading(-0.1, 14))
    assert changes(again) == [Change.MOVED]
    assert len({each.key for each in watch.events}) == 3


def test_small_moves_are_not_told() -> None:
    """Numbers may drift without a message."""
    watch = Watch(state=kept(Phase.OPENING_SOON))
    watch.check(NOW, reading(-0.1, 10))
    for hour in range(1, 100):
        watch.check(NOW + h(hour), reading(-0.1, 10.9))
    assert len(watch.events) == 1
