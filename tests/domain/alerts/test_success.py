"""When a check may be called a success, and its exit code.

Codes are those of sysexits.h (BSD); their order of gravity is our own.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from forecaster.domain.alerts.records import Freshness
from forecaster.domain.alerts.success import ORDER, Findings, exit_code, wanting

WELL = Findings(
    Freshness.FRESH, 4, 4, committed=True, clock_ok=True, state_checked=True
)


def test_all_well() -> None:
    """Nothing is wanting, and the code is 0."""
    assert (wanting(WELL, told=False), exit_code(WELL)) == ((), 0)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"committed": False}, 74),
        ({"answered": 3}, 0),
        ({"freshness": Freshness.STALE}, 69),
        ({"freshness": Freshness.NONE}, 69),
        ({"clock_ok": False}, 75),
        ({"state_checked": False}, 0),
        ({"urgent_late": 1}, 0),
        ({"dead": 1}, 75),
    ],
)
def test_each_want_fails_the_check(change: dict[str, object], code: int) -> None:
    """The heartbeat is silent then."""
    found = replace(WELL, **change)  # type: ignore[arg-type]
    assert len(wanting(found, told=False)) == 1
    assert exit_code(found) == code


def test_want_of_weather_that_was_told_is_a_success() -> None:
    """The people know; the watcher outside need not."""
    stale = replace(WELL, freshness=Freshness.STALE)
    assert wanting(stale, told=True) == ()


def test_waiting_messages_and_ageing_weather_are_for_later() -> None:
    """75: it will be tried again."""
    assert exit_code(replace(WELL, waiting=2)) == 75
    assert exit_code(replace(WELL, freshness=Freshness.AGEING)) == 75


def test_the_gravest_code_wins() -> None:
    """All are told, the first of the order is the code."""
    for place, code in enumerate(ORDER):
        assert exit_code(WELL, ORDER[place:][::-1]) == code
    assert exit_code(WELL, (1,)) == 1
