"""Moments as people type them."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import numpy as np

from forecaster.errors import UsageError


def as_utc(moment: dt.datetime) -> np.datetime64:
    """An aware datetime as UTC ``datetime64[s]``."""
    return np.datetime64(int(moment.timestamp()), "s")


def parse_moment(text: str, zone: str, what: str = "--at") -> np.datetime64:
    """A moment as typed, on the farm's clock unless it names an offset.

    ``what`` is what the user calls it: an option, or the column of a table.

    Raises
    ------
    UsageError
        If it is no date, or a local time that does not exist or comes twice.
    """
    try:
        moment = dt.datetime.fromisoformat(text)
    except ValueError:
        raise UsageError(
            f"{what} {text!r} is not a moment; write it like 2026-10-12T07:00 (farm "
            "clock) or 2026-10-11T20:00Z"
        ) from None
    if moment.tzinfo is not None:
        return as_utc(moment)
    local = moment.replace(tzinfo=ZoneInfo(zone))
    first, second = local.replace(fold=0), local.replace(fold=1)
    if first.utcoffset() != second.utcoffset():
        back = first.astimezone(dt.UTC).astimezone(ZoneInfo(zone))
        exists = back.replace(tzinfo=None) == moment
        problem = "comes twice" if exists else "does not exist"
        raise UsageError(
            f"{what} {text!r} {problem} on the clock of {zone} (daylight saving "
            "changes); name the offset, such as "
            f"{first.isoformat()} or {second.isoformat()}"
        )
    return as_utc(local)


def day_on(moment: np.datetime64, zone: str) -> np.datetime64:
    """The same as :func:`local_day`, as ``datetime64[D]``."""
    return np.datetime64(local_day(moment, zone), "D")


def local_day(moment: np.datetime64, zone: str) -> dt.date:
    """The date on the calendar of ``zone``."""
    return dt.datetime.fromtimestamp(int(moment.astype("int64")), ZoneInfo(zone)).date()
