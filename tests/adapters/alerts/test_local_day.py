"""Local days and quiet hours across changes of the clock.

Dates of the changes: time-zone database, file australasia (rules AV and LH): clocks go
forward on the first Sunday in October and back on the first Sunday in April.
"""

from __future__ import annotations

import datetime as dt
import itertools

import numpy as np
import pytest

from forecaster.service.alerts.local_day import (
    day_of,
    digest_due,
    moment_at,
    quiet_until,
    wall_clock,
)

MELBOURNE, LORD_HOWE = "Australia/Melbourne", "Australia/Lord_Howe"
HOUR = np.timedelta64(3600, "s")
HALF_PAST_FIVE = dt.time(5, 30)


def utc(text: str) -> np.datetime64:
    """A UTC moment."""
    return np.datetime64(text, "s")


@pytest.mark.parametrize(
    ("day", "time", "zone", "expected"),
    [
        # 02:30 does not exist on 4 October 2026; it is 03:30 summer time.
        ("2026-10-04", "02:30", MELBOURNE, "2026-10-03T16:30:00"),
        # 02:30 comes twice on 4 April 2027; the later one is standard time.
        ("2027-04-04", "02:30", MELBOURNE, "2027-04-03T16:30:00"),
        ("2026-10-04", "05:30", MELBOURNE, "2026-10-03T18:30:00"),
        ("2026-10-03", "05:30", MELBOURNE, "2026-10-02T19:30:00"),
        # Half an hour of change: from 10:30 to 11 hours ahead.
        ("2026-10-04", "05:30", LORD_HOWE, "2026-10-03T18:30:00"),
        ("2026-10-03", "05:30", LORD_HOWE, "2026-10-02T19:00:00"),
        ("2026-10-04", "05:30", "Australia/Adelaide", "2026-10-03T19:00:00"),
        ("2026-10-04", "05:30", "Australia/Perth", "2026-10-03T21:30:00"),
    ],
)
def test_moments(day: str, time: str, zone: str, expected: str) -> None:
    """E10: a time that comes twice, or never, is the later one."""
    wall = dt.time.fromisoformat(time)
    assert moment_at(dt.date.fromisoformat(day), wall, zone) == utc(expected)


@pytest.mark.parametrize(
    ("zone", "start", "lengths"),
    [
        (MELBOURNE, "2026-10-01T00:00:00", {24.0, 23.0}),
        (MELBOURNE, "2027-04-01T00:00:00", {24.0, 25.0}),
        (LORD_HOWE, "2026-10-01T00:00:00", {24.0, 23.5}),
        (LORD_HOWE, "2027-04-01T00:00:00", {24.0, 24.5}),
        ("Pacific/Auckland", "2026-09-24T00:00:00", {24.0, 23.0}),
        ("Australia/Brisbane", "2026-10-01T00:00:00", {24.0}),
    ],
)
def test_one_digest_a_local_day(zone: str, start: str, lengths: set[float]) -> None:
    """F27: hourly checks over a change: each local day once, whatever its length."""
    begun, last, made = utc(start), "", []
    for hour in range(24 * 7):
        now = begun + hour * HOUR + np.timedelta64(420, "s")
        day = digest_due(now, zone, HALF_PAST_FIVE, last)
        if day is not None:
            made.append((day, now))
            last = day
    days = [day for day, _ in made]
    assert len(days) == len(set(days)) >= 7
    assert days == sorted(days)
    first = dt.date.fromisoformat(days[0])
    moments = [
        moment_at(first + dt.timedelta(days=n), HALF_PAST_FIVE, zone) for n in range(7)
    ]
    steps = {float((b - a) / HOUR) for a, b in itertools.pairwise(moments)}
    assert steps == lengths
    for day, now in made[1:]:
        assert wall_clock(now, zone).hour in {5, 6}, day


def test_of_several_digests_missed_one_is_due() -> None:
    """E42."""
    now = utc("2026-10-09T00:00:00")
    assert digest_due(now, MELBOURNE, HALF_PAST_FIVE, "2026-10-02") == "2026-10-09"
    assert digest_due(now, MELBOURNE, HALF_PAST_FIVE, "2026-10-09") is None
    early = utc("2026-10-08T18:00:00")  # 05:00 in Melbourne
    assert digest_due(early, MELBOURNE, HALF_PAST_FIVE, "2026-10-07") == "2026-10-08"


@pytest.mark.parametrize(
    ("now", "expected"),
    [
        ("2026-10-03T11:00:00", "2026-10-03T18:30:00"),  # 21:00 before the change
        ("2026-10-03T16:30:00", "2026-10-03T18:30:00"),  # 03:30 after it
        ("2026-10-03T18:30:00", None),  # 05:30
        ("2026-10-03T10:00:00", None),  # 20:00
        ("2026-10-04T09:30:00", "2026-10-04T18:30:00"),  # 20:30 the next evening
    ],
)
def test_quiet_hours_over_the_change(now: str, expected: str | None) -> None:
    """From 20:30 to 05:30, an hour shorter in the night of the change."""
    end = quiet_until(utc(now), MELBOURNE, dt.time(20, 30), HALF_PAST_FIVE)
    assert end == (None if expected is None else utc(expected))


def test_quiet_hours_within_a_day_and_none() -> None:
    """A rest at noon; and nobody asked for quiet."""
    noon = utc("2026-10-05T02:00:00")  # 13:00
    assert quiet_until(noon, MELBOURNE, dt.time(12), dt.time(14)) == noon + HOUR
    assert quiet_until(noon - 2 * HOUR, MELBOURNE, dt.time(12), dt.time(14)) is None
    assert quiet_until(noon, MELBOURNE, None, None) is None


def test_day_of() -> None:
    """The local date."""
    assert day_of(utc("2026-10-03T13:59:59"), MELBOURNE) == "2026-10-03"
    assert day_of(utc("2026-10-03T14:00:00"), MELBOURNE) == "2026-10-04"
