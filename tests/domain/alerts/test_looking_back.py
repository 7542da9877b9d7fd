"""Snoozes in force, gaps between checks, the gravest finding; our own rules."""

from __future__ import annotations

import pytest
from scene import KEY, NOW, d, h

from forecaster.domain.alerts.finding import exit_of, fail, ok, skipped, warn
from forecaster.domain.alerts.hindsight import gaps
from forecaster.domain.alerts.history_page import Gap
from forecaster.domain.alerts.records import Snooze
from forecaster.domain.alerts.snoozes import covers, in_force

WEEK = Snooze("back-road", "", NOW - d(1), NOW + d(6))


def test_the_newest_snooze_of_a_paddock_counts() -> None:
    """T12: one that ends at once ends the older; another paddock's is its own."""
    ended = Snooze("back-road", "", NOW - h(1), NOW - h(1))
    other = Snooze("house", "", NOW - h(1), NOW + d(1))
    assert in_force([WEEK, other], NOW) == [WEEK, other]
    assert in_force([WEEK, other, ended], NOW) == [other]


@pytest.mark.parametrize(("days", "expected"), [(-1.1, 0), (-1, 1), (5.9, 1), (6, 0)])
def test_a_snooze_begins_and_ends(days: float, expected: int) -> None:
    """T12: until its end, which is no part of it; not before it was asked for."""
    assert len(in_force([WEEK], NOW + d(days))) == expected


@pytest.mark.parametrize(
    ("paddock", "active", "covered"),
    [
        ("back-road", "", True),
        ("back-road", "glyphosate", True),
        ("back-road", "paraquat", False),
        ("house", "", False),
    ],
)
def test_a_snooze_covers_what_it_names(
    paddock: str, active: str, *, covered: bool
) -> None:
    """E5: an empty active is all of the paddock's."""
    assert covers(Snooze(paddock, active, NOW, NOW + d(1)), KEY) is covered


@pytest.mark.parametrize(("apart", "gap"), [(2.0, False), (2.1, True)])
def test_checks_more_than_two_periods_apart_leave_a_gap(
    apart: float, *, gap: bool
) -> None:
    """2.9: "I was off from A to B"; only where it touches the days asked for."""
    starts = [NOW, NOW + h(apart)]
    found = gaps(starts, NOW, NOW + d(1), 1.0)
    assert found == ((Gap(*starts),) if gap else ())
    assert gaps(starts, NOW + d(1), NOW + d(2), 1.0) == ()
    assert gaps(starts, NOW - d(2), NOW - d(1), 1.0) == ()


def test_only_what_failed_gives_an_exit_code() -> None:
    """The gravest of the order: settings (78) before weather (69)."""
    fine = [ok("well"), warn("soon full", "make room"), skipped("not here")]
    assert exit_of(fine) == 0
    down = [fail("down", "look", 69), fail("wrong", "mend", 78)]
    assert exit_of([*fine, *down]) == 78
