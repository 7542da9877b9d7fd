"""Transitions of one window. The rules are our own (docs/method/alerts.md)."""

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

from forecaster.domain.alerts.decide import decide
from forecaster.domain.alerts.events import BASIS_CHANGED
from forecaster.domain.alerts.records import Change, Kept, Phase, Rank


@pytest.mark.parametrize(
    ("phase", "opens", "closes", "expected", "rank"),
    [
        (Phase.OPENING_SOON, -0.1, 10, Change.OPENED, Rank.PUSH),
        (Phase.OPEN, -5, 1.9, Change.CLOSING, Rank.URGENT),
        (Phase.CLOSING, -9, -0.1, Change.CLOSED, Rank.PUSH),
    ],
)
def test_forward_steps_that_matter_do_not_wait(
    phase: Phase, opens: float, closes: float, expected: Change, rank: Rank
) -> None:
    """T2, T3, T4: told at the first check that sees them."""
    answer = decide(kept(phase), reading(opens, closes), context())
    assert changes(answer) == [expected]
    assert answer.events[0].rank is rank
    assert answer.kept.phase.rank == phase.rank + 1


def test_opening_soon_needs_two_forecasts() -> None:
    """T1: a second forecast has to agree; the same one again is no second (E14)."""
    watch = Watch()
    first = watch.check(NOW, reading(5, 15), issued=NOW)
    assert first.reason == "hold.confirm 1/2"
    again = watch.check(NOW + h(1), reading(5, 15), issued=NOW)
    assert again.reason == "hold.confirm 1/2"
    second = watch.check(NOW + h(6), reading(5, 15), issued=NOW + h(6))
    assert changes(second) == [Change.SOON]
    assert second.events[0].rank is Rank.DIGEST


def test_daily_checks_do_not_wait_for_a_second_forecast() -> None:
    """T1 at checks a day apart: the second would come too late to be of use."""
    daily = replace(RULES, period_h=24)
    answer = decide(Kept(KEY), reading(5, 15), context(rules=daily))
    assert changes(answer) == [Change.SOON]


def test_an_opening_on_forecast_hours_waits_six_hours_at_most() -> None:
    """T2f: two forecasts, or six hours, whichever comes first."""
    watch = Watch(state=kept(Phase.OPENING_SOON))
    late = {"seen_until": NOW - d(1), "issued": NOW - h(8)}
    assert watch.check(NOW, reading(-0.5, 9), **late).reason == "hold.confirm 1/2"
    waited = watch.check(NOW + h(6), reading(-0.5, 9), **late)
    assert changes(waited) == [Change.OPENED_ON_FORECAST]
    other = Watch(state=kept(Phase.OPENING_SOON))
    other.check(NOW, reading(-0.5, 9), **late)
    agreed = other.check(
        NOW + h(1), reading(-0.5, 9), seen_until=NOW - d(1), issued=NOW
    )
    assert changes(agreed) == [Change.OPENED_ON_FORECAST]


def test_a_window_that_opens_unheralded_on_forecast_is_first_soon() -> None:
    """T2f from NOT OPEN: it is at least soon, and that is not in doubt."""
    seen = farm(seen_until=NOW - d(1))
    answer = decide(Kept(KEY), reading(-0.5, 9), context(seen))
    assert changes(answer) == [Change.SOON]
    assert answer.kept.phase is Phase.OPENING_SOON


def test_a_close_on_forecast_hours_is_not_believed() -> None:
    """T4: closed once observed hours reach the close; until then it is closing."""
    seen = farm(seen_until=NOW - d(1))
    answer = decide(kept(Phase.CLOSING), reading(-9, -0.2, blocks=()), context(seen))
    assert (changes(answer), answer.reason) == ([], "hold.unseen")
    assert answer.kept.phase is Phase.CLOSING


def test_few_hours_left_is_urgent() -> None:
    """T3h: hardly more hours to the close than the paddock takes."""
    window = reading(-2, 6, hours=3.0, look_hours=1.5, close_soon=None)
    answer = decide(kept(Phase.OPEN), window, context())
    assert changes(answer) == [Change.FEW_HOURS]
    assert answer.events[0].rank is Rank.URGENT


@pytest.mark.parametrize(
    "other",
    [
        {"in_sight": False},
        {"hours": float("nan"), "look_hours": float("nan")},
        {"look_hours": 40.0},
    ],
    ids=["close beyond the forecast", "hours unknown", "hours to look at first"],
)
def test_few_hours_is_not_said_where_more_may_come(other: dict[str, float]) -> None:
    """T3h only where all hours to the close are in sight and known."""
    few = replace(reading(-2, 6), hours=3.0, look_hours=1.0)
    window = replace(few, **other)  # type: ignore[arg-type]
    assert changes(decide(kept(Phase.OPEN), window, context())) == []


def test_skipped_steps_are_each_an_event_of_one_rank() -> None:
    """T5, E1, E2: all steps have their event, and one message tells them."""
    answer = decide(Kept(KEY), reading(-5, 1), context())
    assert changes(answer) == [Change.SOON, Change.OPENED, Change.CLOSING]
    assert {each.rank for each in answer.events} == {Rank.URGENT}
    assert answer.events[1].at == NOW - d(5)
    over = decide(Kept(KEY), reading(-12, -2), context())
    assert changes(over)[-1] is Change.CLOSED
    assert len(over.events) == 4
    assert over.events[-1].at == NOW - d(2)


def test_a_wavering_edge_changes_nothing() -> None:
    """The dead band: half a day at least."""
    answer = decide(kept(Phase.OPEN), reading(0.4, 12), context())
    assert (answer.kept.phase, answer.reason) == (Phase.OPEN, "hold.band")


@pytest.mark.parametrize(
    ("phase", "opens", "closes", "change", "rank", "after"),
    [
        (Phase.OPENING_SOON, 9, 20, Change.NOT_SO_SOON, Rank.DIGEST, Phase.NOT_OPEN),
        (Phase.OPEN, 2, 12, Change.NOT_OPEN_YET, Rank.PUSH, Phase.OPENING_SOON),
        (Phase.CLOSING, 2, 12, Change.NOT_OPEN_YET, Rank.PUSH, Phase.OPENING_SOON),
        (Phase.CLOSING, -3, 9, Change.MORE_TIME, Rank.DIGEST, Phase.OPEN),
        (Phase.CLOSED, -3, 9, Change.REOPENED, Rank.PUSH, Phase.OPEN),
        (Phase.CLOSED, -9, 2.2, Change.REOPENED, Rank.PUSH, Phase.CLOSING),
    ],
)
def test_steps_back_need_two_forecasts_and_a_new_epoch(  # noqa: PLR0917 - a table
    phase: Phase, opens: float, closes: float, change: Change, rank: Rank, after: Phase
) -> None:
    """T6 to T9."""
    watch = Watch(state=kept(phase))
    first = watch.check(NOW, reading(opens, closes), issued=NOW)
    assert (changes(first), first.kept.epoch) == ([], 1)
    second = watch.check(NOW + h(6), reading(opens, closes), issued=NOW + h(5))
    assert changes(second) == [change]
    assert second.events[0].rank is rank
    assert (second.kept.phase, second.kept.epoch) == (after, 2)


def test_a_second_opening_has_a_key_of_its_own() -> None:
    """The epoch: open, taken back, open again are three messages."""
    watch = Watch(state=kept(Phase.OPENING_SOON))
    watch.check(NOW, reading(-0.1, 12))
    watch.check(NOW + h(6), reading(3, 15))
    watch.check(NOW + h(12), reading(3, 15))
    watch.check(NOW + d(4), reading(-0.1, 12, at=NOW + d(4)))
    assert [each.change for each in watch.events] == [
        Change.OPENED, Change.NOT_OPEN_YET, Change.OPENED,
    ]  # fmt: skip
    assert len({each.key for each in watch.events}) == 3


def test_the_same_change_has_the_same_key_later() -> None:
    """A retry after a crash, or a forecast that wavers, makes no second event."""
    now = decide(kept(Phase.OPEN), reading(-5, 1.5), context())
    then = NOW + h(3)
    later = decide(kept(Phase.OPEN), reading(-5, 1.2, at=then), context(farm(then)))
    assert [each.key for each in now.events] == [each.key for each in later.events]


def test_a_new_source_is_heard_twice_before_a_step_back() -> None:
    """E13: votes of the source before do not count."""
    watch = Watch(state=kept(Phase.OPEN))
    watch.check(NOW, reading(3, 15), source="one", issued=NOW)
    first = watch.check(NOW + h(1), reading(3, 15), source="two", issued=NOW + h(1))
    assert first.reason == "hold.confirm 1/2"
    second = watch.check(NOW + h(7), reading(3, 15), source="two", issued=NOW + h(7))
    assert changes(second) == [Change.NOT_OPEN_YET]


def test_a_new_source_is_heard_twice_at_daily_checks_too() -> None:
    """T7: never on one source's first answer."""
    watch = Watch(rules=replace(RULES, period_h=24), state=kept(Phase.OPEN))
    first = watch.check(NOW, reading(3, 15), source="two")
    assert (changes(first), first.reason) == ([], "hold.confirm 1/2")
    second = watch.check(NOW + d(1), reading(3, 15), source="two")
    assert changes(second) == [Change.NOT_OPEN_YET]


def test_heads_that_were_counted_move_a_window_at_once() -> None:
    """E38: what somebody changed is no tremble, and the message says so."""
    answer = decide(kept(Phase.OPEN), reading(3, 15), context(farm(basis="c")))
    assert changes(answer) == [Change.NOT_OPEN_YET]
    assert answer.events[0].because == BASIS_CHANGED
    assert answer.kept.basis == "c"


def test_the_dead_band_grows_with_the_tremble() -> None:
    """Three usual movements of the edge, one and a half days at most."""
    calm = decide(kept(Phase.OPEN), reading(1.2, 12), context())
    assert calm.reason == "hold.confirm 1/2"
    trembling = decide(kept(Phase.OPEN, jitter=0.45), reading(1.2, 12), context())
    assert trembling.reason == "hold.band"
    at_most = decide(kept(Phase.OPEN, jitter=9.0), reading(1.6, 12), context())
    assert at_most.reason == "hold.confirm 1/2"


def test_the_tremble_is_learnt_from_forecast_to_forecast() -> None:
    """Only a new forecast counts, and only where nobody changed anything."""
    watch = Watch(state=kept(Phase.OPEN))
    watch.check(NOW, reading(-2, 6), issued=NOW)
    assert watch.state.jitter == 0
    watch.check(NOW + h(1), reading(-2, 6.5), issued=NOW)
    assert watch.state.jitter == 0
    watch.check(NOW + h(6), reading(-2, 6.5), issued=NOW + h(6))
    # A fifth of the square of half a day.
    assert watch.state.jitter == pytest.approx((0.2 * 0.25) ** 0.5)
    watch.check(NOW + h(12), reading(-2, None), issued=NOW + h(12))
    assert watch.state.jitter == pytest.approx((0.2 * 0.25) ** 0.5)


def test_a_close_never_reached_is_no_close() -> None:
    """E16: not before the weather ends; no date is made up."""
    answer = decide(kept(Phase.OPENING_SOON), reading(-1, None), context())
    assert changes(answer) == [Change.OPENED]
    assert answer.kept.told_close is None


def test_a_wrong_clock_moves_nothing() -> None:
    """E29."""
    before = kept(Phase.OPEN)
    answer = decide(before, reading(-9, -1), context(timely=False))
    assert (answer.kept, answer.events, answer.reason) == (before, (), "hold.clock")


def test_what_stays_has_its_reason() -> None:
    """Every non-event has one."""
    for phase, dates in (
        (Phase.NOT_OPEN, (20, 30)),
        (Phase.OPEN, (-2, 12)),
        (Phase.CLOSED, (-12, -2)),
    ):
        answer = decide(kept(phase), reading(*dates), context())
        assert answer.reason == f"same.{phase.name.lower()}"


def test_nan_is_never_a_phase() -> None:
    """A chance that is not known is an unknown window, whatever its dates say."""
    answer = decide(kept(Phase.OPEN), reading(-9, -1, open_now=np.nan), context())
    assert changes(answer) == [Change.UNKNOWN]
    assert answer.kept.phase is Phase.OPEN
