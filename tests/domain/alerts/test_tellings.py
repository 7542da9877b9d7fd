"""What is told of a window that stays in its phase; our own rules."""

from __future__ import annotations

from dataclasses import replace

import pytest
from scene import NOW, Watch, changes, context, d, farm, h, kept, reading

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


def test_hours_found_too_soon_after_others_are_told_later() -> None:
    """E3: at most every 12 h for a farm; what has to wait is not lost."""
    state = kept(Phase.OPEN, has_hours=False)
    for _ in range(3):
        state = decide(state, reading(-2, 12), context(hours_told=True)).kept
    told = decide(state, reading(-2, 12), context())
    assert changes(told) == [Change.HOURS_FOUND]
    assert changes(decide(told.kept, reading(-2, 12), context())) == []


def test_hours_that_a_louder_message_told_are_not_owed() -> None:
    """E3: closing told them with all else."""
    state = kept(Phase.OPEN, has_hours=False)
    closing = decide(state, reading(-9, 1.5), context(hours_told=True))
    assert (changes(closing), closing.kept.has_hours) == ([Change.CLOSING], True)


def test_before_it_is_open_hours_are_no_news() -> None:
    """E3 is about open windows."""
    soon = kept(Phase.OPENING_SOON, has_hours=False)
    answer = decide(soon, reading(3, 12), context(hours_told=True))
    assert (changes(answer), answer.kept.has_hours) == ([], True)


@pytest.mark.parametrize(
    ("woken_h", "left_h", "change"),
    [
        (23.9, 23, None),
        (24, 23, Change.LAST_DAY),
        (23.9, 5, None),
        (24, 5, Change.LAST_HOURS),
    ],
)
def test_nobody_is_woken_twice_a_day_about_one_window(
    woken_h: float, left_h: float, change: Change | None
) -> None:
    """2.4, our own: the end is told again where nothing loud was told for a day."""
    state = kept(Phase.CLOSING, loud_at=NOW - h(woken_h), told_at=NOW)
    answer = decide(state, reading(-9, left_h / 24), context())
    assert changes(answer) == ([] if change is None else [change])


def test_closing_with_hours_left_is_one_message() -> None:
    """E1: closing told a quarter of a day before the close says it all."""
    watch = Watch(state=kept(Phase.OPEN))
    for hour in range(21):
        at = NOW + h(hour)
        watch.check(at, reading(-3, 0.8, blocks=reading(0, 1).blocks))
    assert [each.change for each in watch.events] == [Change.CLOSING, Change.CLOSED]


def test_what_waits_for_the_digest_wakes_nobody() -> None:
    """A close that moved, told in the digest, does not keep the last day quiet."""
    state = kept(Phase.CLOSING, told_close=NOW + d(2.5), told_at=NOW - d(2))
    state = decide(state, reading(-9, 1.2), context()).kept
    assert (state.told_at, state.loud_at) == (NOW, None)
    then = NOW + h(6)
    last = decide(state, reading(-9, 0.95), context(farm(then)))
    assert changes(last) == [Change.LAST_DAY]


def test_a_close_beyond_the_weather_has_not_moved() -> None:
    """E16: no date was told, so none moved; and one that is no more has not, either."""
    dateless = kept(Phase.OPEN, told_close=None, told_at=NOW - d(3))
    assert changes(decide(dateless, reading(-2, 12), context())) == []
    dated = kept(Phase.OPEN, told_close=NOW + d(5), told_at=NOW - d(3))
    assert changes(decide(dated, reading(-2, None), context())) == []


def test_hours_that_come_and_go_with_each_forecast_are_told_once() -> None:
    """E3, our own: they count as gone after a day, or once a message said so."""
    watch = Watch(state=kept(Phase.OPENING_SOON))
    for step in range(16):
        at = NOW + h(6 * step)
        seen = reading(-0.1, 40)
        watch.check(at, seen if step % 2 else replace(seen, blocks=()))
    assert [each.change for each in watch.events] == [
        Change.OPENED, Change.HOURS_FOUND,
    ]  # fmt: skip


@pytest.mark.parametrize(("dry_h", "told"), [(23, False), (24, True)])
def test_hours_that_were_gone_for_a_day_are_news(dry_h: int, *, told: bool) -> None:
    """E3: somebody who was told of hours that went must hear when others come."""
    watch = Watch(state=kept(Phase.OPEN, has_hours=True))
    for hour in range(dry_h + 1):
        watch.check(NOW + h(hour), reading(-2, 40, blocks=()))
    back = watch.check(NOW + h(dry_h + 1), reading(-2, 40))
    assert (changes(back) == [Change.HOURS_FOUND]) is told


def test_hours_that_cannot_be_judged_are_neither_gone_nor_found() -> None:
    """NaN in, unknown out."""
    watch = Watch(state=kept(Phase.OPEN, has_hours=True))
    for hour in range(60):
        dark = reading(-2, 40, blocks=(), hours=float("nan"))
        watch.check(NOW + h(hour), dark)
    assert watch.state.has_hours is True
    assert changes(watch.check(NOW + h(60), reading(-2, 40))) == []


def test_after_more_time_the_end_is_told_again() -> None:
    """T8, 2.4: a new epoch has repeats of its own, with keys of their own."""
    state = kept(Phase.CLOSING, reminded=(Change.LAST_DAY,), loud_at=NOW - d(2))
    watch = Watch(state=state)
    assert watch.check(NOW, reading(-9, 0.9)).events == ()
    for hour in (6, 12):
        watch.check(NOW + h(hour), reading(-9, 9))
    for hour in (24, 50):
        watch.check(NOW + h(hour), reading(-9, 0.9, at=NOW + h(hour)))
    assert [each.change for each in watch.events] == [
        Change.MORE_TIME, Change.CLOSING, Change.LAST_DAY,
    ]  # fmt: skip
    assert {each.epoch for each in watch.events} == {2}


def test_a_close_that_slips_is_not_told_again_and_again() -> None:
    """2.4, our own: one reminder an epoch, at a day or at six hours."""
    watch = Watch(state=kept(Phase.CLOSING))
    for hour in range(60):
        at = NOW + h(hour)
        left = max(1.2 - hour / 48, 0.1)
        watch.check(at, reading(-9, left, at=at))
    loud = [each.change for each in watch.events if each.rank is not Rank.DIGEST]
    assert loud == [Change.LAST_DAY]
