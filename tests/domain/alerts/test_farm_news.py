"""What concerns the farm as a whole; our own rules."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from scene import NOW, RULES, d, farm, h

from forecaster.domain.alerts.farm_news import (
    FarmDecision,
    Past,
    clock_fault,
    decide_farm,
    freshness_of,
)
from forecaster.domain.alerts.records import Change, FarmKept, Freshness, Phase, Rank

if TYPE_CHECKING:
    from forecaster.domain.alerts.reading import FarmReading

SEEN = FarmKept(freshness=Freshness.FRESH, highest=NOW, season=2026)


def _decided(
    kept: FarmKept,
    seen: FarmReading,
    *phases: Phase,
    past: Past | None = None,
) -> FarmDecision:
    before = past or Past(last_run=seen.now - h(1))
    return decide_farm(
        kept, seen, RULES, past=before, phases=phases, installation="here", run=3
    )


def _changes(answer: FarmDecision) -> list[Change]:
    return [each.change for each in answer.events]


@pytest.mark.parametrize(
    ("age_h", "expected"),
    [
        (12, Freshness.FRESH),
        (12.1, Freshness.AGEING),
        (30, Freshness.AGEING),
        (30.1, Freshness.STALE),
    ],
)
def test_age_of_the_forecast(age_h: float, expected: Freshness) -> None:
    """T13: half a day, then thirty hours."""
    assert freshness_of(farm(issued=NOW - h(age_h)), RULES) is expected


def test_no_forecast_or_one_that_ended_is_none() -> None:
    """T13: beyond its horizon."""
    assert freshness_of(farm(issued=None), RULES) is Freshness.NONE
    assert freshness_of(farm(horizon=NOW), RULES) is Freshness.NONE


@pytest.mark.parametrize(
    ("phases", "rank"),
    [
        ((Phase.OPEN,), Rank.URGENT),
        ((Phase.CLOSING, Phase.NOT_OPEN), Rank.URGENT),
        ((Phase.OPENING_SOON,), Rank.PUSH),
        ((Phase.NOT_OPEN, Phase.CLOSED), Rank.DIGEST),
        ((), Rank.DIGEST),
    ],
)
def test_want_of_weather_is_told_by_what_waits(
    phases: tuple[Phase, ...], rank: Rank
) -> None:
    """Urgent while a window is open; else as loud as need be."""
    answer = _decided(SEEN, farm(issued=NOW - d(2)), *phases)
    assert (_changes(answer), answer.events[0].rank) == ([Change.NO_WEATHER], rank)
    assert not answer.usable


def test_want_of_weather_is_told_again_every_day_until_it_is_back() -> None:
    """F13: each day once; then that it is back."""
    kept, told = SEEN, []
    for hour in range(73):
        now = NOW + h(hour)
        seen = farm(now, issued=NOW - d(2), horizon=NOW + d(7))
        answer = _decided(kept, seen, Phase.OPEN)
        kept = answer.kept
        told += [(hour, each.change, each.key) for each in answer.events]
    assert [hour for hour, *_ in told] == [0, 24, 48, 72]
    assert len({key for *_, key in told}) == 4
    back = _decided(kept, farm(NOW + h(74)), Phase.OPEN)
    assert (_changes(back), back.events[0].rank) == ([Change.WEATHER_BACK], Rank.PUSH)
    calm = _decided(kept, farm(NOW + h(74)))
    assert calm.events[0].rank is Rank.DIGEST
    assert _changes(_decided(back.kept, farm(NOW + h(75)), Phase.OPEN)) == []


def test_between_two_words_the_reason_is_kept() -> None:
    """Every non-event has one."""
    kept = replace(SEEN, stale_told=NOW, clock_told=NOW)
    seen = farm(NOW + h(1), issued=NOW - d(2), skew_s=1200.0)
    assert _decided(kept, seen).reasons == ("hold.clock told", "hold.no weather told")


def test_a_gap_between_checks_is_told() -> None:
    """Off for longer than two periods; what waits decides how loud."""
    since = NOW - h(5)
    loud = _decided(SEEN, farm(), Phase.OPEN, past=Past(last_run=since))
    assert (_changes(loud), loud.events[0].rank) == ([Change.WAS_OFF], Rank.PUSH)
    assert (loud.events[0].at, loud.events[0].made) == (since, NOW)
    calm = _decided(SEEN, farm(), past=Past(last_run=since))
    assert calm.events[0].rank is Rank.DIGEST
    assert _changes(_decided(SEEN, farm(), past=Past(last_run=NOW - h(2)))) == []


def test_a_clock_behind_what_was_kept_stops_all_that_goes_by_time() -> None:
    """E29: five minutes are allowed."""
    kept = replace(SEEN, highest=NOW + h(3))
    answer = _decided(kept, farm(issued=NOW - d(2)), Phase.OPEN)
    assert (_changes(answer), answer.timely) == ([Change.CLOCK_WRONG], False)
    assert answer.kept.highest == NOW + h(3)
    assert clock_fault(replace(SEEN, highest=NOW + h(0.05)), farm(), RULES) == ""
    assert "3 h" in clock_fault(kept, farm(), RULES)
    right = _decided(answer.kept, farm(NOW + h(4)))
    assert right.kept.clock_told is None
    assert right.kept.highest == NOW + h(4)


@pytest.mark.parametrize(
    ("skew_s", "words", "timely"),
    [
        (500.0, "", True),
        (1200.0, "ahead of the weather service's by 20 min", True),
        (-1200.0, "behind the weather service's by 20 min", True),
        (-40 * 86_400.0, "behind the weather service's by 40 d", False),
    ],
)
def test_a_clock_that_differs_from_the_service(
    skew_s: float, words: str, timely: bool
) -> None:
    """Ten minutes are told, a day stops what goes by time."""
    answer = _decided(SEEN, farm(skew_s=skew_s))
    assert answer.timely is timely
    assert [each.because for each in answer.events] == ([words] if words else [])


def test_a_wrong_clock_is_told_once_a_day() -> None:
    """Not at every check."""
    kept = replace(SEEN, clock_told=NOW - h(25))
    assert _changes(_decided(kept, farm(skew_s=900.0))) == [Change.CLOCK_WRONG]


def test_a_file_that_cannot_be_used_is_told_every_day() -> None:
    """F45: the farm file may be wrong for a while; nobody must think all is well."""
    kept, told = SEEN, []
    for hour in range(26):
        now = NOW + h(hour)
        answer = _decided(kept, farm(now, trouble="farm.toml:3:1: no"))
        kept = answer.kept
        told += [(hour, each.change) for each in answer.events]
    assert told == [(0, Change.TROUBLE), (24, Change.TROUBLE)]
    assert answer.reasons == ("hold.trouble told",)
    mended = _decided(kept, farm(NOW + h(26)))
    assert mended.kept.trouble_told is None


def test_the_first_check_says_so() -> None:
    """E22."""
    answer = _decided(FarmKept(), farm(), past=Past())
    assert (_changes(answer), answer.kept.season) == ([Change.FIRST_LOOK], 2026)


@pytest.mark.parametrize(
    ("past", "change"),
    [
        (Past(lost=True, words="gone"), Change.HISTORY_LOST),
        (Past(restored=True, words="old"), Change.RESTORED),
    ],
)
def test_lost_and_restored_states_are_told(past: Past, change: Change) -> None:
    """E27, E28."""
    answer = _decided(SEEN, farm(), past=past)
    assert (_changes(answer), answer.events[0].because) == ([change], past.words)


def test_without_weather_the_year_of_the_clock_is_no_season() -> None:
    """F25: a clock far ahead must not begin a season, nor become the latest moment."""
    far = np.datetime64("2100-01-01T00:00:00", "s")
    answer = _decided(SEEN, farm(far, season=2100, issued=None, horizon=None))
    assert (answer.kept.season, answer.kept.highest) == (2026, NOW)
    late = _decided(SEEN, farm(NOW + d(90), season=2027))
    assert late.kept.season == 2027


@pytest.mark.parametrize(
    ("age_h", "expected"),
    [
        (36, Freshness.FRESH),
        (36.1, Freshness.AGEING),
        (54, Freshness.AGEING),
        (54.1, Freshness.STALE),
    ],
)
def test_age_where_weather_is_fetched_once_a_day(
    age_h: float, expected: Freshness
) -> None:
    """T13 of daily checks: a day and a half, then two and a quarter."""
    daily = replace(RULES, ageing_h=36, stale_h=54, period_h=24)
    assert freshness_of(farm(issued=NOW - h(age_h)), daily) is expected


@pytest.mark.parametrize(
    ("hours", "told"), [(2.0, False), (2.01, True), (49.0, True)], ids=str
)
def test_more_than_two_periods_are_a_gap(hours: float, *, told: bool) -> None:
    """2.9: "I was off" beyond two periods; of a two days' sleep once (E30)."""
    answer = _decided(SEEN, farm(), past=Past(last_run=NOW - h(hours)))
    assert (_changes(answer) == [Change.WAS_OFF]) is told


def test_a_service_that_answers_knows_better_than_the_past() -> None:
    """E29: a clock that once ran days ahead must not silence the days after.

    It was never more than a memory; a service asked just now says the clock is right.
    """
    ahead = replace(SEEN, highest=NOW + d(6))
    asked = _decided(ahead, farm(skew_s=20.0), Phase.OPEN)
    assert (_changes(asked), asked.timely, asked.kept.highest) == ([], True, NOW)
    alone = _decided(ahead, farm(), Phase.OPEN)
    assert (_changes(alone), alone.timely) == ([Change.CLOCK_WRONG], False)


@pytest.mark.parametrize("seconds", [300.0, 301.0])
def test_five_minutes_behind_are_allowed(seconds: float) -> None:
    """2.10: a clock put right by less has not gone wrong."""
    kept = replace(SEEN, highest=NOW + h(seconds / 3600))
    answer = _decided(kept, farm())
    assert answer.timely is (seconds <= 300)
    assert answer.kept.highest == NOW + h(seconds / 3600)


@pytest.mark.parametrize("seconds", [600.0, 601.0])
def test_ten_minutes_from_a_service_are_allowed(seconds: float) -> None:
    """2.10: told, but nothing is stopped below a day."""
    for skew in (seconds, -seconds):
        answer = _decided(SEEN, farm(skew_s=skew))
        assert bool(answer.events) is (seconds > 600)
        assert answer.timely


@pytest.mark.parametrize("days", [0.99, 1.01])
def test_a_day_from_a_service_stops_all_that_goes_by_time(days: float) -> None:
    """2.10: a clock without a battery may show any year."""
    for skew in (days, -days):
        answer = _decided(SEEN, farm(skew_s=skew * 86_400))
        assert answer.timely is (days < 1)
        assert answer.kept.highest == NOW


def test_a_first_check_on_a_wrong_clock_is_the_first_but_once() -> None:
    """E22, E29: not "first check" every hour until somebody sets the clock."""
    kept, told = FarmKept(), []
    for hour in range(3):
        seen = farm(NOW + h(hour), skew_s=3e8)
        answer = _decided(kept, seen, past=Past())
        kept = answer.kept
        told += _changes(answer)
    assert told == [Change.FIRST_LOOK, Change.CLOCK_WRONG]


def test_weather_that_ages_is_used_and_not_told() -> None:
    """T13: AGEING has no message; windows are judged on it."""
    answer = _decided(SEEN, farm(issued=NOW - h(20)), Phase.OPEN)
    assert (_changes(answer), answer.usable) == ([], True)
    assert answer.kept.freshness is Freshness.AGEING


def test_weather_that_was_never_missed_is_not_said_to_be_back() -> None:
    """T14: only where the want of it was announced."""
    ageing = replace(SEEN, freshness=Freshness.AGEING)
    assert _changes(_decided(ageing, farm(), Phase.OPEN)) == []


def test_no_clock_no_weather_no_gap_is_told_on_a_clock_far_off() -> None:
    """2.4: "clock wrong" mutes what goes by time."""
    seen = farm(NOW - d(40), issued=NOW - d(50))
    answer = _decided(SEEN, seen, Phase.OPEN, past=Past(last_run=NOW))
    assert _changes(answer) == [Change.CLOCK_WRONG]
    assert answer.kept.stale_told is None
