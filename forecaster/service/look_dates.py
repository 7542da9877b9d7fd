"""When heads were counted: dates as people and spreadsheets write them."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.errors import UsageError
from forecaster.service.clock import utc_now
from forecaster.service.moments import as_utc, local_day, parse_moment
from forecaster.sources.season import season_span

if TYPE_CHECKING:
    from forecaster.settings.farm import Farm

NOON = 12
"""[h] of the farm's clock at which a count with a date alone is set."""
EARLIEST = dt.date(1990, 1, 1)
"""An earlier date is a slip of the pen. Assumed."""

_DAY_FIRST = re.compile(r"(\d{1,2})/(\d{1,2})/(\d{4})", re.ASCII)


@dataclass(frozen=True, slots=True)
class Present:
    """The moment a look is recorded, and the one the farm stands at."""

    clock: np.datetime64
    """UTC ``datetime64[s]`` by the clock."""
    farm: np.datetime64
    """The same, or the fixed moment of a farm that stands still."""

    @classmethod
    def of(cls, farm: Farm) -> Present:
        """Now, for this farm."""
        clock = utc_now()
        fixed = farm.weather.moment
        return cls(clock, clock if fixed is None else as_utc(fixed))

    @property
    def latest(self) -> np.datetime64:
        """Nothing can have been seen after this."""
        return max(self.clock, self.farm)


@dataclass(frozen=True, slots=True)
class Counted:
    """When heads were counted."""

    moment: np.datetime64
    """UTC ``datetime64[s]``"""
    day: dt.date
    """On the farm's calendar."""
    stated: str
    """The date alone, or the moment: the same however it was typed."""


def counted_at(text: str | None, farm: Farm, present: Present, what: str) -> Counted:
    """The moment ``text`` stands for; the present one where it is None.

    A date alone, ``2026-10-11`` or ``11/10/2026`` (day first), is noon of that day,
    or now if noon has not come yet. ``what`` is what the user calls it.

    Raises
    ------
    UsageError
        If it is no date, lies in the future or before 1990.
    """
    zone = farm.place.zone
    today = local_day(present.latest, zone)
    date = None if text is None else _date(text.strip(), what)
    if text is None:
        moment = present.farm
    elif date is None:
        moment = parse_moment(text.strip(), zone, what)
    else:
        noon = parse_moment(f"{_sane(date, text, today, what)}T{NOON}:00", zone, what)
        return Counted(min(noon, present.latest), date, str(date))
    day = local_day(moment, zone)
    if text is not None:
        _sane(day, text, today, what)
        if moment > present.latest:
            raise UsageError(f"{what} {text!r} is in the future; correct it")
    return Counted(moment, day, f"{moment}Z")


def earlier_season(farm: Farm, counted: Counted, present: Present) -> bool:
    """Whether a look belongs to a season before the present one."""
    first, _ = season_span(farm.place, present.latest)
    return bool(np.datetime64(counted.day, "D") < first)


def _date(text: str, what: str) -> dt.date | None:
    """A date without a time of day, or None."""
    day_first = _DAY_FIRST.fullmatch(text)
    try:
        if day_first:
            day, month, year = map(int, day_first.groups())
            return dt.date(year, month, day)
        return dt.date.fromisoformat(text)
    except ValueError:
        if day_first:
            raise UsageError(
                f"{what} {text!r} is no date: it is read as day/month/year; better "
                "write it like 2026-10-11"
            ) from None
        return None


def _sane(date: dt.date, text: str, today: dt.date, what: str) -> dt.date:
    if date > today:
        raise UsageError(
            f"{what} {text!r} is in the future (today is {today}); correct it"
        )
    if date < EARLIEST:
        raise UsageError(f"{what} {text!r} is before {EARLIEST.year}; check the year")
    return date
