"""When a schedule strikes, worked out in UTC across every change of the clock."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from functools import cache
from zoneinfo import ZoneInfo

import numpy as np

from forecaster.errors import InternalError

ELAPSES = 400
"""In a row, looked at from each start."""
MOST_APART = np.timedelta64(62, "m")
"""Two hourly checks: an hour, and what a scheduler may be late by."""
YEAR = np.timedelta64(366, "D")
_BEFORE = np.timedelta64(8, "D")
"""A change of the clock lies well inside 400 hours from here."""
_STEP = np.timedelta64(1, "D")
_MINUTE = np.timedelta64(1, "m")
_HOUR = np.timedelta64(1, "h")


@dataclass(frozen=True, slots=True)
class Strikes:
    """Minutes of the hour, at all hours or at some, on the clock of a zone.

    A wall time that a change leaves out does not strike, one that comes twice does so
    twice: nothing is taken for granted of how a scheduler makes up for either.
    """

    minutes: frozenset[int]
    hours: frozenset[int]
    zone: str


@dataclass(frozen=True, slots=True)
class ClockChange:
    """A change of a zone's offset from UTC."""

    at: np.datetime64
    """The first minute of the new offset, UTC."""
    before: np.timedelta64
    after: np.timedelta64

    @property
    def whole_hours(self) -> bool:
        """Whether the minutes of the hour stay what they were."""
        return bool((self.after - self.before) % _HOUR == np.timedelta64(0, "m"))


def offset(zone: str, moment: np.datetime64) -> np.timedelta64:
    """Local time less UTC [min], at a moment of UTC."""
    second = int(moment.astype("datetime64[s]").astype(np.int64))
    local = dt.datetime.fromtimestamp(second, _zone(zone))
    away = local.utcoffset() or dt.timedelta()
    return np.timedelta64(round(away.total_seconds() / 60), "m")


@cache
def _zone(name: str) -> ZoneInfo:
    return ZoneInfo(name)


def clock_changes(
    zone: str, start: np.datetime64, end: np.datetime64
) -> tuple[ClockChange, ...]:
    """Every change of the clock from ``start`` to ``end``, UTC, to the minute.

    Two changes within a day that undo each other are not seen.
    """
    found = []
    low = start.astype("datetime64[m]")
    while low < end:
        high = low + _STEP
        before, after = offset(zone, low), offset(zone, high)
        if before != after:
            at = _first_minute(zone, low, high, before)
            found.append(ClockChange(at, before, after))
        low = high
    return tuple(found)


def _first_minute(
    zone: str, low: np.datetime64, high: np.datetime64, before: np.timedelta64
) -> np.datetime64:
    """The first minute after ``low`` whose offset is another than ``before``."""
    while high - low > _MINUTE:
        middle = low + (high - low) // 2
        if offset(zone, middle) == before:
            low = middle
        else:
            high = middle
    return high


def latest_daily(now: np.datetime64, zone: str, at: dt.time) -> np.datetime64:
    """The last moment up to ``now``, UTC, at which it was ``at`` in ``zone``.

    ``at`` must be a time that no change of the clock leaves out or doubles.
    """
    today = (now + offset(zone, now)).astype("datetime64[D]")
    wall = np.timedelta64(at.hour * 60 + at.minute, "m")
    for day in (today, today - 1):
        local = day.astype("datetime64[m]") + wall
        # Now's offset may be another one than that of the moment looked for.
        moment = local - offset(zone, local - offset(zone, now))
        if moment <= now:
            break
    return np.datetime64(moment, "s")


def elapses(
    strikes: Strikes, start: np.datetime64, count: int = ELAPSES
) -> np.ndarray[tuple[int], np.dtype[np.datetime64]]:
    """The next ``count`` strikes from ``start`` on, UTC ``datetime64[m]``."""
    each_day = len(strikes.minutes) * len(strikes.hours)
    days = np.timedelta64(count // each_day + 3, "D")
    first = start.astype("datetime64[m]")
    minutes = np.arange(first, first + days, _MINUTE)
    away = np.full(minutes.shape, offset(strikes.zone, first))
    for change in clock_changes(strikes.zone, first, first + days):
        away[minutes >= change.at] = change.after
    wall = (minutes + away).astype(np.int64)
    strike = np.isin(wall % 60, list(strikes.minutes)) & np.isin(
        wall // 60 % 24, list(strikes.hours)
    )
    return minutes[strike][:count]


def prove_hourly(
    strikes: Strikes,
    zone: str,
    now: np.datetime64,
    most: np.timedelta64 = MOST_APART,
) -> None:
    """Look at 400 strikes from now and around each change of a year.

    Raises
    ------
    InternalError
        If two of them lie further apart than ``most``.
    """
    changes = clock_changes(zone, now, now + YEAR)
    for start in (now, *(change.at - _BEFORE for change in changes)):
        times = elapses(strikes, start)
        gaps = np.diff(times)
        widest = int(np.argmax(gaps))
        if gaps[widest] > most:
            raise InternalError(
                f"the schedule would leave {gaps[widest].astype(int)} minutes without "
                f"a check after {times[widest]} UTC; nothing was written. Report it"
            )


def prove_daily(strikes: Strikes, zone: str, now: np.datetime64) -> None:
    """Look at 400 strikes from now: one on each day of the zone's calendar.

    Raises
    ------
    InternalError
        If a day has none, or more than one.
    """
    times = elapses(strikes, now)
    days = np.array(
        [(each + offset(zone, each)).astype("datetime64[D]") for each in times]
    )
    steps = np.diff(days).astype(int)
    if np.any(steps != 1):
        first = int(np.argmax(steps != 1))
        day = days[first]
        word = "twice on" if steps[first] == 0 else "not at all on the day after"
        raise InternalError(
            f"the schedule would check {word} {day}; nothing was written. Choose "
            "another alerts.digest_at, and report it"
        )
