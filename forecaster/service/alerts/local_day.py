"""Local days and quiet hours as moments of UTC; wall clocks are never added to."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator


def wall_clock(moment: np.datetime64, zone: str) -> dt.datetime:
    """The wall clock of ``zone`` at a UTC moment."""
    utc: dt.datetime = moment.astype("datetime64[s]").item().replace(tzinfo=dt.UTC)
    return utc.astimezone(ZoneInfo(zone))


def day_of(moment: np.datetime64, zone: str) -> str:
    """The local date, ISO."""
    return wall_clock(moment, zone).date().isoformat()


def moment_at(day: dt.date, time: dt.time, zone: str) -> np.datetime64:
    """UTC of a local time; the later one where it comes twice or not at all."""
    wall = dt.datetime.combine(day, time, tzinfo=ZoneInfo(zone))
    moments = [wall.replace(fold=fold).astimezone(dt.UTC) for fold in (0, 1)]
    return np.datetime64(max(moments).replace(tzinfo=None), "s")


def digest_due(now: np.datetime64, zone: str, at: dt.time, last_day: str) -> str | None:
    """The local day whose digest is due, or None; of several missed only the last."""
    today = wall_clock(now, zone).date()
    if moment_at(today, at, zone) > now:
        today -= dt.timedelta(days=1)
    return today.isoformat() if today.isoformat() > last_day else None


def quiet_until(
    now: np.datetime64, zone: str, since: dt.time | None, until: dt.time | None
) -> np.datetime64 | None:
    """When the quiet hours end that ``now`` lies in; None outside of them."""
    if since is None or until is None:
        return None
    for begin, end in _nights(now, zone, since, until):
        if begin <= now < end:
            return end
    return None


def _nights(
    now: np.datetime64, zone: str, since: dt.time, until: dt.time
) -> Iterator[tuple[np.datetime64, np.datetime64]]:
    """Quiet hours that begin yesterday, today and tomorrow."""
    over_midnight = until <= since
    for shift in (-1, 0, 1):
        day = wall_clock(now, zone).date() + dt.timedelta(days=shift)
        last = day + dt.timedelta(days=1) if over_midnight else day
        yield moment_at(day, since, zone), moment_at(last, until, zone)
