"""Local days and quiet hours as moments of UTC; wall clocks are never added to."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from forecaster.render.words import LocalClock
from forecaster.service.moments import as_utc, local_day

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy as np


def wall_clock(moment: np.datetime64, zone: str) -> dt.datetime:
    """The wall clock of ``zone`` at a UTC moment."""
    return LocalClock(zone).local(moment)


def day_of(moment: np.datetime64, zone: str) -> str:
    """The local date, ISO."""
    return local_day(moment, zone).isoformat()


def moment_at(day: dt.date, time: dt.time, zone: str) -> np.datetime64:
    """UTC of a local time; the later one where it comes twice or not at all."""
    wall = dt.datetime.combine(day, time, tzinfo=ZoneInfo(zone))
    return max(as_utc(wall.replace(fold=fold)) for fold in (0, 1))


def digest_due(now: np.datetime64, zone: str, at: dt.time, last_day: str) -> str | None:
    """The local day whose digest is due, or None; of several missed only the last."""
    today = local_day(now, zone)
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
        day = local_day(now, zone) + dt.timedelta(days=shift)
        last = day + dt.timedelta(days=1) if over_midnight else day
        yield moment_at(day, since, zone), moment_at(last, until, zone)
