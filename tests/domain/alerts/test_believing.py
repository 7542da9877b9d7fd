"""What makes a change believed: forecasts that agree, observed hours, known hours.

The rules are our own (docs/method/alerts.md); no source outside is known.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scene import KEY, NOW, RULES, Watch, changes, context, d, farm, h, kept, reading

from forecaster.domain.alerts.decide import decide
from forecaster.domain.alerts.records import Change, Kept, Phase, Votes

DAILY = replace(RULES, period_h=24)
NOT_SEEN = {"seen_until": NOW - d(9)}


# --------------------------------------------------------------- forecasts


def test_an_older_forecast_is_no_second_one() -> None:
    """T6: a service that falls back to an earlier run says nothing new (F24)."""
    watch = Watch(state=kept(Phase.OPEN))
    watch.check(NOW, reading(3, 15), issued=NOW)
    older = watch.check(NOW + h(1), reading(3, 15), issued=NOW - h(6))
    assert older.reason == "hold.confirm 1/2"
    newer = watch.check(NOW + h(6), reading(3, 15), issued=NOW + h(6))
    assert changes(newer) == [Change.NOT_OPEN_YET]


def test_a_forecast_in_between_begins_the_count_anew() -> None:
    """T7: two forecasts in a row; a tremble back and forth is never confirmed."""
    watch = Watch(state=kept(Phase.OPEN))
    for step in range(8):
        at = NOW + h(6 * step)
        opens = 0.9 if step % 2 else -0.2
        watch.check(at, reading(opens, 15, at=at), issued=at)
    assert watch.events == []


def test_forecasts_that_differ_agree_on_the_nearest_step_back() -> None:
    """T7, T8: one says a little more time, one that it never opened: more time."""
    watch = Watch(state=kept(Phase.CLOSING))
    watch.check(NOW, reading(-3, 9), issued=NOW)
    second = watch.check(NOW + h(6), reading(9, 20), issued=NOW + h(6))
    assert changes(second) == [Change.MORE_TIME]
    watch.check(NOW + h(7), reading(9, 20), issued=NOW + h(7))
    third = watch.check(NOW + h(12), reading(9, 20), issued=NOW + h(12))
    assert changes(third) == [Change.NOT_OPEN_YET]


def test_soon_by_one_forecast_and_open_by_another_is_soon() -> None:
    """T1, T2f: an opening on forecast hours needs two forecasts of its own."""
    watch = Watch()
    watch.check(NOW, reading(5, 15), issued=NOW, **NOT_SEEN)
    second = watch.check(
        NOW + h(6), reading(-0.5, 9), issued=NOW + h(6), seen_until=NOW - d(9)
    )
    assert changes(second) == [Change.SOON]
    late = {"seen_until": NOW - d(9)}
    watch.check(NOW + h(7), reading(-0.5, 9), issued=NOW + h(6), **late)
    third = watch.check(NOW + h(12), reading(-0.5, 9), issued=NOW + h(12), **late)
    assert changes(third) == [Change.OPENED_ON_FORECAST]


def test_services_that_take_turns_hold_no_opening_back() -> None:
    """T1: only steps back start anew with another service (E13)."""
    watch = Watch()
    watch.check(NOW, reading(5, 15), source="one", issued=NOW)
    second = watch.check(NOW + h(6), reading(5, 15), source="two", issued=NOW + h(5))
    assert changes(second) == [Change.SOON]


def test_services_that_take_turns_keep_the_six_hours() -> None:
    """T2f: the wait for an opening on forecast hours goes on (6 h at most)."""
    watch = Watch(state=kept(Phase.OPENING_SOON))
    late = {"seen_until": NOW - d(9), "issued": NOW}
    for hour in range(7):
        source = "one" if hour % 2 else "two"
        at = NOW + h(hour)
        answer = watch.check(at, reading(-0.5, 9), source=source, **late)
        expected = [Change.OPENED_ON_FORECAST] if hour == 6 else []
        assert changes(answer) == expected


def test_at_daily_checks_a_new_service_opens_at_once() -> None:
    """T1: one forecast is enough where checks are 12 h apart; only T7 waits."""
    watch = Watch(rules=DAILY, state=kept(Phase.NOT_OPEN))
    assert changes(watch.check(NOW, reading(5, 15), source="two")) == [Change.SOON]


def test_at_daily_checks_a_new_service_has_to_say_it_twice() -> None:
    """E13: two issues of the new service; the same one served again is one (E14)."""
    watch = Watch(rules=DAILY, state=kept(Phase.OPEN))
    late = {"source": "two", "issued": NOW}
    for day in range(2):
        answer = watch.check(NOW + d(day), reading(3, 15), **late)
        assert answer.reason == "hold.confirm 1/2"
    other = watch.check(NOW + d(2), reading(3, 15), source="two", issued=NOW + d(2))
    assert changes(other) == [Change.NOT_OPEN_YET]


def test_what_somebody_changed_is_believed_as_it_is() -> None:
    """Our own rule: heads counted explain the move, also past what waited before."""
    waiting = Votes(Phase.OPEN, (NOW - h(6),), NOW - h(6))
    before = kept(Phase.CLOSING, votes=waiting)
    answer = decide(before, reading(9, 20), context(farm(basis="c")))
    assert (changes(answer), answer.kept.phase) == (
        [Change.NOT_OPEN_YET],
        Phase.NOT_OPEN,
    )
    soon = kept(
        Phase.NOT_OPEN, votes=Votes(Phase.OPENING_SOON, (NOW - h(6),), NOW - h(6))
    )
    opened = decide(soon, reading(-1, 9), context(farm(basis="c", **NOT_SEEN)))
    assert changes(opened) == [Change.SOON, Change.OPENED_ON_FORECAST]


# ----------------------------------------------------------- the dead band


@pytest.mark.parametrize(
    ("phase", "opens", "closes", "back"),
    [
        (Phase.OPENING_SOON, 7.4, 20, False),
        (Phase.OPENING_SOON, 7.6, 20, True),
        (Phase.OPEN, 0.4, 12, False),
        (Phase.OPEN, 0.6, 12, True),
        (Phase.CLOSING, -5, 3.4, False),
        (Phase.CLOSING, -5, 3.6, True),
        (Phase.CLOSED, -9, 0.4, False),
        (Phase.CLOSED, -9, 0.6, True),
    ],
)
def test_half_a_day_beyond_the_edge(
    phase: Phase, opens: float, closes: float, *, back: bool
) -> None:
    """T6 to T9: each edge has the same band, half a day by the rules."""
    watch = Watch(state=kept(phase))
    for step in range(2):
        at = NOW + h(step / 60)
        watch.check(at, reading(opens, closes), issued=at)
    assert bool(watch.events) is back


def test_the_earliest_plausible_close_has_the_band_too() -> None:
    """T8: 48 h and the band; the likely close is far off."""
    for soon, back in ((2.4, False), (2.6, True)):
        watch = Watch(state=kept(Phase.CLOSING))
        for step in range(2):
            at = NOW + h(step / 60)
            watch.check(at, reading(-5, 9, close_soon=NOW + d(soon)), issued=at)
        assert bool(watch.events) is back


def test_one_leap_does_not_widen_its_own_band() -> None:
    """T7: a leap of 1.2 d is told by the second forecast, as the rule says."""
    watch = Watch(state=kept(Phase.OPEN, issue=NOW - h(6), edge=NOW + d(12)))
    watch.check(NOW, reading(1.2, 13.2), issued=NOW)
    second = watch.check(NOW + h(6), reading(1.2, 13.2), issued=NOW + h(6))
    assert changes(second) == [Change.NOT_OPEN_YET]


def test_many_leaps_do() -> None:
    """The band is three usual movements: edges that swing by a day stay untold."""
    watch = Watch(state=kept(Phase.OPEN))
    for step in range(40):
        at = NOW + h(6 * step)
        swing = 0.5 if step % 2 else -0.5
        watch.check(at, reading(-2, 30 + swing, at=at), issued=at)
    # Swings of a day: three times that is more than the most of a day and a half.
    back = [
        watch.check(
            NOW + h(240 + hour), reading(1.4, 30, at=NOW + h(240)),
            issued=NOW + h(240 + hour),
        )
        for hour in (0, 1)
    ]  # fmt: skip
    assert [each.reason for each in back] == ["hold.band", "hold.band"]


@pytest.mark.parametrize("other", ["source", "basis"])
def test_another_service_or_a_count_of_heads_is_no_tremble(other: str) -> None:
    """How far the edge moves is learnt from forecasts of one service alone."""
    before = kept(Phase.OPEN, issue=NOW - h(6), edge=NOW + d(9))
    seen = replace(farm(issued=NOW), **{other: "another"})  # type: ignore[arg-type]
    answer = decide(before, reading(-2, 12), context(seen))
    assert (answer.kept.jitter, answer.kept.edge) == (0.0, NOW + d(12))


def test_a_date_moved_by_a_count_is_the_one_presumed_by() -> None:
    """T4: heads counted on the same forecast move the close that is kept."""
    before = kept(Phase.OPEN, issue=NOW, edge=NOW + d(6))
    moved = decide(before, reading(-9, 9), context(farm(basis="c", issued=NOW)))
    then = NOW + d(7)
    lost = decide(moved.kept, None, context(farm(then, issued=None), usable=False))
    assert lost.reason == "hold.no weather"


# ------------------------------------------------------------- a step back


def test_a_step_back_leads_to_where_the_dates_are() -> None:
    """T9: open by its dates is open, so that closing can be told again.

    With the slack of the dead band it would count as closing already, and the urgent
    message of that would never come.
    """
    watch = Watch(state=kept(Phase.CLOSED))
    watch.check(NOW, reading(-9, 3.2), issued=NOW)
    back = watch.check(NOW + h(1), reading(-9, 3.2), issued=NOW + h(1))
    assert (changes(back), back.kept.phase) == ([Change.REOPENED], Phase.OPEN)
    closing = watch.check(NOW + h(8), reading(-9, 3.2), issued=NOW + h(7))
    assert changes(closing) == [Change.CLOSING]


# ------------------------------------------------------------ few hours left


@pytest.mark.parametrize(
    ("left", "told"), [(4.9, True), (5.0, True), (5.1, False)], ids=str
)
def test_few_hours_are_those_needed_and_two(left: float, *, told: bool) -> None:
    """T3h: three hours needed and two to spare."""
    window = reading(-2, 6, hours=left - 1, look_hours=1.0, needed=3.0)
    answer = decide(kept(Phase.OPEN), window, context())
    assert (changes(answer) == [Change.FEW_HOURS]) is told


def test_few_hours_are_taken_back_by_twice_the_spare_ones() -> None:
    """T8: of hours, too, more than a wavering is needed."""
    for left, back in ((6.9, False), (7.1, True)):
        watch = Watch(state=kept(Phase.CLOSING))
        for step in range(2):
            at = NOW + h(step / 60)
            watch.check(at, reading(-2, 6, hours=left, look_hours=0.0), issued=at)
        assert bool(watch.events) is back


def test_hours_that_are_not_known_take_few_hours_not_back() -> None:
    """NaN opens nothing: whether there are more hours cannot be said."""
    watch = Watch(state=kept(Phase.OPEN))
    few = reading(-2, 6, hours=3.0, look_hours=0.0)
    assert changes(watch.check(NOW, few)) == [Change.FEW_HOURS]
    for step in range(1, 4):
        dark = reading(-2, 6, hours=np.nan, look_hours=np.nan, blocks=())
        answer = watch.check(NOW + h(6 * step), dark)
        assert answer.reason == "hold.hours unknown"
    assert watch.state.phase is Phase.CLOSING
    for step in range(4, 6):
        bright = reading(-2, 6, hours=20.0, look_hours=0.0)
        answer = watch.check(NOW + h(6 * step), bright)
    assert changes(answer) == [Change.MORE_TIME]


# ------------------------------------------------------------------ observed


@pytest.mark.parametrize(
    ("seen_d", "change"),
    [(-0.1, Change.OPENED), (-0.5, Change.OPENED), (-0.6, None)],
)
def test_an_opening_is_observed_once_hours_reach_it(
    seen_d: float, change: Change | None
) -> None:
    """T2: likely opening half a day ago; observed hours up to this moment of it."""
    seen = farm(seen_until=NOW + d(seen_d))
    answer = decide(kept(Phase.OPENING_SOON), reading(-0.5, 12), context(seen))
    assert changes(answer) == ([] if change is None else [change])


def test_a_close_no_hour_was_observed_of_is_presumed_in_the_end() -> None:
    """T4: weather that ended before the close is as old as weather may get (30 h)."""
    watch = Watch(state=kept(Phase.CLOSING))
    late = {"seen_until": None}
    for hour in range(30):
        at = NOW + h(hour)
        seen = reading(-9, 0, blocks=())
        assert watch.check(at, seen, **late).reason == "hold.unseen"
    over = watch.check(NOW + h(30), reading(-9, 0, blocks=()), **late)
    assert (changes(over), over.kept.presumed) == ([Change.PRESUMED_CLOSED], True)
    still = watch.check(NOW + h(31), reading(-9, 0, blocks=()), **late)
    assert (still.reason, still.kept.presumed) == ("same.closed", True)
    seen_now = watch.check(NOW + h(32), reading(-9, 0, blocks=()))
    assert (seen_now.reason, seen_now.kept.presumed) == ("same.closed", False)


def test_a_presumed_close_is_taken_back_by_the_first_weather() -> None:
    """T14, T9: only a date of long ago speaks for it, so nothing is waited for."""
    blind = context(farm(issued=None), usable=False)
    closed = decide(kept(Phase.CLOSING, edge=NOW - h(1)), None, blind)
    assert changes(closed) == [Change.PRESUMED_CLOSED]
    then = NOW + h(2)
    back = decide(closed.kept, reading(-9, 0.2, at=then), context(farm(then)))
    assert (changes(back), back.kept.phase) == ([Change.REOPENED], Phase.CLOSING)
    assert (back.kept.presumed, back.kept.epoch) == (False, 2)
    over = decide(
        back.kept, reading(-9, -0.1, at=then + d(1)), context(farm(then + d(1)))
    )
    assert changes(over) == [Change.CLOSED]
    assert len({each.key for each in (*closed.events, *back.events, *over.events)}) == 3


def test_a_presumed_close_that_was_right_is_not_told_again() -> None:
    """T14: weather comes back and agrees; once observed it stands as any other."""
    blind = context(farm(issued=None), usable=False)
    closed = decide(kept(Phase.CLOSING, edge=NOW - h(1)), None, blind)
    then = NOW + h(2)
    same = decide(closed.kept, reading(-9, -0.1, at=then), context(farm(then)))
    assert (changes(same), same.kept.presumed) == ([], False)
    wavers = decide(same.kept, reading(-9, 0.3, at=then), context(farm(then + h(1))))
    assert wavers.reason == "hold.band"


def test_the_first_check_of_a_window_that_opened_long_ago() -> None:
    """T5, E22: without observed hours it is at least soon, and then as forecast."""
    watch = Watch(state=Kept(KEY))
    first = watch.check(NOW, reading(-5, 9), seen_until=None, issued=NOW)
    assert changes(first) == [Change.SOON]
    watch.check(NOW + h(1), reading(-5, 9), seen_until=None, issued=NOW)
    then = watch.check(NOW + h(6), reading(-5, 9), seen_until=None, issued=NOW + h(6))
    assert changes(then) == [Change.OPENED_ON_FORECAST]
