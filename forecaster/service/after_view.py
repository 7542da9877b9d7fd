"""What stands of a paddock since its spray, with rain and counts since."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from forecaster.domain.planning.withholding import DAY
from forecaster.domain.record.after import days_after
from forecaster.domain.record.after_spray import AfterSpray
from forecaster.domain.record.after_spray import escaped as counted_since
from forecaster.domain.record.keeping import keeping, rain_after, topped_at
from forecaster.service.farm_sprayed import first_by_file
from forecaster.service.moments import as_utc, day_on
from forecaster.settings.record_rules import after_numbers

if TYPE_CHECKING:
    from forecaster.domain.record.after_spray import Escaped
    from forecaster.service.farm_day import FarmDay
    from forecaster.settings.farm import Paddock


CAPEWEED = "capeweed"


def after_view(day: FarmDay, paddock: Paddock) -> AfterSpray | None:
    """What stands of a sprayed paddock; None: it was not sprayed this season."""
    if paddock.sprayed is None:
        return None
    numbers, frame = after_numbers(), day.weather.frame
    sprayed, told = np.datetime64(paddock.sprayed, "D"), paddock.recorded
    topped = topped_at(_finishes(day, paddock, paddock.sprayed), numbers)
    rain = rain_after(frame.time, frame.rain, topped, day.weather.now, numbers)
    first = min(sprayed, day_of(day, topped))
    now, escaped = day_of(day, day.weather.now), _escaped(day, paddock, sprayed)
    return AfterSpray(
        today=now,
        sprayed=sprayed,
        recorded=told,
        not_before=_typed(day, paddock, paddock.sprayed)
        if told is None
        else told.not_before,
        look_again=days_after(sprayed, numbers.second_look),
        escaped=tuple(escaped.values()),
        looked=paddock.target in escaped,
        stays=tuple(each for each in paddock.stays if each.end >= now),
        broadleaf=CAPEWEED in paddock.weeds,
        keeping=keeping(first, rain, numbers, lambda at: day_of(day, at)),
        earlier=paddock.earlier,
        topped=first,
    )


def day_of(day: FarmDay, moment: np.datetime64) -> np.datetime64:
    """The farm's local day of a moment, ``datetime64[D]``."""
    return day_on(moment, day.weather.place.zone)


def _finishes(
    day: FarmDay, paddock: Paddock, sprayed: dt.date
) -> tuple[np.datetime64, ...]:
    """Of every spray; one that only the farm file knows is over with its day."""
    if paddock.recorded is not None:
        return paddock.recorded.finishes
    recorded = () if paddock.earlier is None else paddock.earlier.finishes
    return (*recorded, _next_midnight(day, sprayed))


def _next_midnight(day: FarmDay, sprayed: dt.date) -> np.datetime64:
    """The end of the day of a spray of which no hour is known."""
    after = sprayed + dt.timedelta(days=1)
    zone = ZoneInfo(day.weather.place.zone)
    return as_utc(dt.datetime.combine(after, dt.time(), zone))


def _typed(day: FarmDay, paddock: Paddock, sprayed: dt.date) -> np.datetime64 | None:
    """The first day for stock where the farm file names the last spray.

    It holds beside the days of a job that is recorded on an earlier day.
    """
    first = first_by_file(paddock, day.farm, sprayed)
    return first if paddock.earlier is None else paddock.earlier.holds(first)


def _escaped(
    day: FarmDay, paddock: Paddock, sprayed: np.datetime64
) -> dict[str, Escaped]:
    """The latest count of each weed by its id, in the order of the weeds.

    One so soon after the spray that heads still die tells nothing of what escaped.
    """
    soonest = sprayed + round(after_numbers().second_look[0].low) * DAY
    latest = {
        each.weed: (each, counted)
        for each in day.growth.scouting.since_spray(paddock)
        if (counted := day_of(day, each.moment)) >= soonest
    }
    return {
        weed: counted_since(latest[weed][0], day.farm.weeds[weed].name, latest[weed][1])
        for weed in paddock.weeds
        if weed in latest
    }
