"""One paddock's season put together for its page."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.season import stages_now
from forecaster.domain.growth.stage import Stage
from forecaster.domain.season_page import LookMark, SeasonPage, ripeness_shares
from forecaster.errors import NoWeatherError
from forecaster.service import cautions
from forecaster.service.daily import paddock_outlook, weather_view

if TYPE_CHECKING:
    from forecaster.domain.growth.season import Projection
    from forecaster.service.farm_day import FarmDay
    from forecaster.settings.farm import Paddock

BEFORE = 14
"""[d] drawn before the early heading."""
AFTER = 7
"""[d] drawn after the late hard dough."""


def season_page(day: FarmDay, paddock: Paddock, *, demo: bool = False) -> SeasonPage:
    """The season of a paddock's target weed.

    Raises
    ------
    NoWeatherError
        If its heads cannot be projected.
    """
    growth = day.growth
    projection = growth.projection(paddock.target, paddock)
    days = _days(projection, growth.season.day_of(day.weather.now))
    if days is None:
        raise NoWeatherError(
            f"{paddock.name}: its season cannot be drawn; the season's warmth or its "
            "break is not known. 'forecaster weather' shows what is missing; "
            "autumn_break in the farm file sets the break"
        )
    past = np.stack([stages_now(projection, each).past.likely for each in days])
    scouted = growth.scouting.of(paddock, paddock.target)
    looks = () if scouted is None else scouted.looks
    return SeasonPage(
        farm=day.farm.name,
        place=day.weather.place,
        now=day.weather.now,
        demo=demo,
        paddock=paddock_outlook(day, paddock),
        noon=np.array([growth.season.moment_of(each) for each in days]),
        shares=ripeness_shares(past),
        looks=tuple(LookMark(look.moment, look.heads) for look in looks),
        weather=weather_view(day.weather, growth),
        cautions=cautions.lines(day.farm),
    )


def _days(projection: Projection, now: float) -> np.typing.NDArray[np.float64] | None:
    """Noons from before the first heads to after the last are hard."""
    edges = projection.stage_dates((Stage.HEADING, Stage.HARD_DOUGH))
    first = float(edges.early[0])
    if not np.isfinite(first):
        return None
    last = projection.clock.days - 1.0
    late = float(edges.late[1])
    end = min(late + AFTER, last) if np.isfinite(late) else last
    start = max(min(first, now) - BEFORE, 0.0)
    days = np.arange(np.floor(start), max(np.floor(end), np.floor(now)) + 1) + 0.5
    known = days[days <= projection.clock.days]
    return known if known.size else None
