"""Which days, paddock and active a history is asked of, from the words typed."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from forecaster.errors import UsageError
from forecaster.service.alerts.local_day import moment_at
from forecaster.service.moments import local_day
from forecaster.service.wiring import paddock_called

if TYPE_CHECKING:
    from collections.abc import Collection

    import numpy as np

    from forecaster.settings.farm import Farm

LONGEST_D = 400
"""[d] More than a season."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What was typed."""

    on: str | None = None
    since: str | None = None
    until: str | None = None
    paddock: str | None = None
    active: str | None = None

    def days(self, now: np.datetime64, zone: str) -> tuple[dt.date, dt.date]:
        """The first and the last local day; today where none is named.

        Raises
        ------
        UsageError
            If one is no date, lies ahead, or they do not go together.
        """
        today = local_day(now, zone)
        if self.on is not None:
            if self.since is not None or self.until is not None:
                raise UsageError("--on is one day; leave out --since and --until")
            day = _date(self.on, "--on", today)
            return day, day
        if self.since is None:
            if self.until is not None:
                raise UsageError("--until needs --since, the first day")
            return today, today
        first = _date(self.since, "--since", today)
        last = today if self.until is None else _date(self.until, "--until", today)
        if first > last:
            raise UsageError(f"--since {first} comes after --until {last}")
        if (last - first).days > LONGEST_D:
            raise UsageError(f"at most {LONGEST_D} days at a time")
        return first, last

    def chosen(self, farm: Farm, known: Collection[str]) -> tuple[str, str]:
        """Ids of the paddock and the active, empty where none is named.

        ``known`` are ids of paddocks that were ever looked at: one that is no longer
        in the farm file goes by its id.

        Raises
        ------
        UsageError
            If there is no such paddock or active.
        """
        paddock = ""
        if self.paddock is not None:
            here = {each.id for each in farm.paddocks}
            gone = self.paddock in known and self.paddock not in here
            paddock = self.paddock if gone else paddock_called(farm, self.paddock).id
        if self.active is not None and self.active not in farm.actives:
            raise UsageError(
                f"--active {self.active!r}: known are {', '.join(farm.actives)}"
            )
        return paddock, self.active or ""


def span_of(
    first: dt.date, last: dt.date, zone: str
) -> tuple[np.datetime64, np.datetime64]:
    """Local days as UTC; the end is no part of them."""
    after = last + dt.timedelta(days=1)
    return moment_at(first, dt.time(), zone), moment_at(after, dt.time(), zone)


def _date(text: str, option: str, today: dt.date) -> dt.date:
    try:
        day = dt.date.fromisoformat(text)
    except ValueError:
        raise UsageError(
            f"{option} {text!r} is not a date; write it like 2026-10-12"
        ) from None
    if day > today:
        raise UsageError(f"{option} {text} lies ahead; today is {today} at the farm")
    return day
