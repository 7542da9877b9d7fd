"""Earlier springs as a farm file tells of them, and where it gainsays itself."""

from __future__ import annotations

from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from forecaster.domain.choice.springs import Springs, differing, listed

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    from forecaster.errors import Fault
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


def faults(farm: Farm, this_year: int) -> Iterator[Fault]:
    """Springs for which the two say what cannot both be."""
    for number, paddock in enumerate(farm.paddocks):
        found = typed_springs(paddock, this_year)
        years = differing(found.past, found.listed, farm.actives)
        for place, year in enumerate(years):
            if year is None:
                continue
            there = sorted(used for at, used in found.past if at == year)
            done = found.listed[place][1]
            yield farm.document.fault(
                ("paddock", number, "choice", "last_springs", place),
                f"last_springs says {done} for {year}, [[paddock.past]] "
                f"{' and '.join(there) or 'no spray'}; allowed is the same in both: "
                "correct one, or type springs in [[paddock.past]] alone, where they "
                "keep their years",
            )
