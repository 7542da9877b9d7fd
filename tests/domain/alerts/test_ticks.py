"""When a check is due: days of clock changes, sleep, and clocks that jump.

Dates and lengths of days come from the IANA time-zone database, file *australasia*:
rules AN, AS, AT and AV change at 2:00 standard time on the first Sunday of October
and of April, LH by half an hour on the same days, NZ on the last Sunday of September
and the first of April; Queensland, the Northern Territory and Western Australia have
no rule in force.
"""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from forecaster.domain.alerts.ticks import (
    CHECK,
    DELIVER,
    SLACK_S,
    Beat,
    due,
    latest,
    overslept,
)

MINUTE = np.timedelta64(60, "s")
HOUR = np.timedelta64(3600, "s")
AUSTRALIA = ("Melbourne", "Adelaide", "Hobart", "Lord_Howe")
WITHOUT = ("Brisbane", "Darwin", "Perth")
SOON = (2026, 2027)
LATER = (2028, 2032, 2036)


def sunday(year: int, month: int, *, last: bool = False) -> dt.date:
    """The first or last Sunday of a month."""
    days = [dt.date(year, month, 1) + dt.timedelta(days=k) for k in range(30)]
    sundays = [day for day in days if day.weekday() == 6 and day.month == month]
    return sundays[-1] if last else sundays[0]


def changes() -> list[tuple[str, dt.date, float]]:
    """Zone, local day, its length [h] by the rules."""
    found = []
    for year in SOON + LATER:
        for city in AUSTRALIA:
            step = 0.5 if city == "Lord_Howe" else 1.0
            zone = f"Australia/{city}"
            found.append((zone, sunday(year, 10), 24 - step))
            found.append((zone, sunday(year, 4), 24 + step))
        found.append(("Pacific/Auckland", sunday(year, 9, last=True), 23.0))
        found.append(("Pacific/Auckland", sunday(year, 4), 25.0))
        found += [(f"Australia/{city}", sunday(year, 10), 24.0) for city in WITHOUT]
    return found


def utc(day: dt.date, zone: str) -> np.datetime64:
    """The midnight a local day begins with, in UTC."""
    midnight = dt.datetime.combine(day, dt.time(), tzinfo=ZoneInfo(zone))
    return np.datetime64(int(midnight.timestamp()), "s")


def starts(
    moments: np.ndarray[tuple[int], np.dtype[np.datetime64]],
    last: np.datetime64 | None,
    beat: Beat = CHECK,
) -> list[np.datetime64]:
    """Moments at which a run starts, of those at which the clock is looked at."""
    found = []
    for now in moments:
        if due(now, last, latest(now, beat)):
            last = now
            found.append(now)
    return found


def at(text: str) -> np.datetime64:
    """A UTC moment."""
    return np.datetime64(text, "s")


def test_the_rules_give_the_dates_of_the_brief_season() -> None:
    """First Sundays of October 2026 and April 2027, last of September 2026."""
    assert sunday(2026, 10) == dt.date(2026, 10, 4)
    assert sunday(2027, 4) == dt.date(2027, 4, 4)
    assert sunday(2026, 9, last=True) == dt.date(2026, 9, 27)


@pytest.mark.parametrize(("zone", "day", "length"), changes())
def test_a_local_day_has_a_check_for_each_hour_it_lasts(
    zone: str, day: dt.date, length: float
) -> None:
    """No hour is left out or doubled, and no two checks lie 62 minutes apart."""
    first, end = utc(day, zone), utc(day + dt.timedelta(days=1), zone)
    assert (end - first) / HOUR == length
    begun = first - HOUR
    (before,) = starts(np.array([begun]), None)
    ran = starts(np.arange(begun, end + HOUR, MINUTE), before)
    gaps = np.diff(np.array([begun, *ran]))
    assert gaps.max() <= np.timedelta64(62, "m")
    inside = [each for each in ran if first <= each < end]
    assert abs(len(inside) - length) < 1  # half an hour holds minute 7 or does not


def test_after_two_days_of_sleep_there_is_one_check() -> None:
    """49 checks were missed; one makes them good, the next comes at minute 7."""
    slept = at("2026-10-03T10:07:00")
    woke = np.arange(at("2026-10-05T11:20:00"), at("2026-10-05T12:06:59"), MINUTE)
    assert starts(woke, slept) == [woke[0]]
    assert due(at("2026-10-05T12:07:00"), woke[0], at("2026-10-05T12:07:00"))


def test_a_clock_set_back_an_hour_costs_one_check_and_no_silence() -> None:
    """One at once, for nobody knows how long it has been; then as always."""
    last = at("2026-10-04T10:07:00")
    after = np.arange(at("2026-10-04T09:30:00"), at("2026-10-04T12:00:00"), MINUTE)
    assert starts(after, last) == [
        at("2026-10-04T09:30:00"),
        at("2026-10-04T10:07:00"),
        at("2026-10-04T11:07:00"),
    ]


@pytest.mark.parametrize("seconds", [1, 30, SLACK_S])
def test_a_clock_put_right_by_seconds_costs_nothing(seconds: int) -> None:
    """Time services move a clock by little: no check twice, none late by much."""
    last = at("2026-10-04T10:07:00")
    back = last - np.timedelta64(seconds, "s")
    ran = starts(np.arange(back, back + 2 * HOUR, np.timedelta64(1, "s")), last)
    assert ran[0] == last + HOUR
    assert ran[0] - back <= np.timedelta64(62, "m")


@pytest.mark.parametrize(
    "jumped",
    [
        "1970-01-01T00:00:30",
        "1999-12-31T23:59:50",
        "2026-10-05T10:20:00",
        "2038-01-19T03:14:08",
        "2100-02-28T23:59:59",
    ],
)
def test_wherever_the_clock_jumps_there_is_one_check_and_an_hourly_one_after(
    jumped: str,
) -> None:
    """A day ahead; 1970 of a flat battery; the ends of 31 bits and of a century."""
    last = at("2026-10-04T10:07:00")
    there = np.arange(at(jumped), at(jumped) + 5 * HOUR, MINUTE)
    ran = starts(there, last)
    assert ran[0] == there[0]
    assert len(ran) == 6
    assert all(int(each.astype(int)) // 60 % 60 == 7 for each in ran[1:])
    # … and back: the true time again, as when a time service answers at last.
    true = np.arange(
        at("2026-10-04T11:20:00"), at("2026-10-04T12:07:00"), np.timedelta64(20, "s")
    )
    assert starts(true, ran[-1]) == [true[0]]


def test_the_first_look_is_a_check() -> None:
    """Nothing is known yet of an earlier one."""
    now = at("2026-10-04T10:03:00")
    assert due(now, None, latest(now, CHECK))


def test_deliveries_come_every_five_minutes() -> None:
    """Twelve an hour, on the whole five minutes of UTC."""
    now = at("2026-10-04T10:00:00")
    ran = starts(np.arange(now, now + HOUR, MINUTE), now - MINUTE, DELIVER)
    assert [int(each.astype(int)) // 60 % 60 for each in ran] == list(range(0, 60, 5))


def test_who_waits_for_a_look_that_a_clock_put_off_is_found() -> None:
    """A look half a minute off is waited for; one an hour off is not."""
    now = at("2026-10-04T10:00:00")
    assert not overslept(now + np.timedelta64(30, "s"), now, 30)
    assert overslept(now + HOUR, now, 30)
    assert not overslept(now - HOUR, now, 30)
