"""Earlier springs as a farm file tells of them."""

from __future__ import annotations

from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from forecaster.domain.choice.springs import Springs, listed

if TYPE_CHECKING:
    import datetime as dt

    from forecaster.settings.farm import Farm, Paddock


def year_typed_in(farm: Farm, latest: dt.date) -> int:
    """The year by which a farm file is read: its own where it stands at a moment."""
    moment = farm.weather.moment
    if moment is None:
        return latest.year
    return moment.astimezone(ZoneInfo(farm.place.zone)).year


def typed_springs(paddock: Paddock, this_year: int) -> Springs:
    """``[[paddock.past]]`` and ``last_springs``, whose first is last year's."""
    last = listed(paddock.typed.last_springs, this_year)
    return Springs(frozenset(paddock.past), last)
