"""The chances to get paddocks done, from traces, members and the habit of the place."""

from __future__ import annotations

import datetime as dt
import math
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from forecaster.domain.odds_page import DayOdds, OddsPage, PaddockOdds
from forecaster.domain.planned import planned_blocks, stands_against
from forecaster.domain.planning.odds import by_habit, odds
from forecaster.domain.rig.work_rate import hours_needed
from forecaster.domain.spraying.limits import Verdict
from forecaster.domain.weather import HOUR
from forecaster.service import cautions
from forecaster.service.chance import chances_of
from forecaster.service.daily import paddock_outlook, weather_view
from forecaster.service.judging import judge_paddock
from forecaster.service.paddock_window import paddock_window
from forecaster.service.weather import hours_to_judge
from forecaster.settings.odds import habit_near
from forecaster.settings.shipped import config_folder

if TYPE_CHECKING:
    import numpy.typing as npt

    from forecaster.domain.outlook import ActiveOutlook, PaddockOutlook
    from forecaster.domain.spraying.hours import Judgement
    from forecaster.domain.weather import Floats, Times
    from forecaster.service.farm_day import FarmDay
    from forecaster.settings.farm import Farm, Paddock
    from forecaster.settings.odds import Habit


def odds_page(
    day: FarmDay, paddocks: tuple[Paddock, ...], *, demo: bool = False
) -> OddsPage:
    """The chances of each active in each of ``paddocks``; one fault stops no other."""
    habit = habit_near(config_folder() / "odds.toml", day.farm.place)
    members = day.air.members
    told = tuple(each for paddock in paddocks for each in _paddock(day, paddock, habit))
    return OddsPage(
        farm=day.farm.name,
        place=day.weather.place,
        now=day.weather.now,
        demo=demo,
        weather=weather_view(day.weather, day.growth),
        until=hours_to_judge(day.weather)[1],
        members=0 if members is None else members.frame.air_temperature.shape[0],
        station="" if habit is None else habit.station,
        rig=day.farm.rigs[0].name if day.farm.rigs else "",
        paddocks=told,
        cautions=cautions.lines(day.farm),
    )


def _paddock(day: FarmDay, paddock: Paddock, habit: Habit | None) -> list[PaddockOdds]:
    told = paddock_outlook(day, paddock)
    if told.fault is not None:
        return [_none(day.farm, told, "", told.fault)]
    return [_active(day, paddock, told, each, habit) for each in told.actives]


def _active(
    day: FarmDay,
    paddock: Paddock,
    told: PaddockOutlook,
    active: ActiveOutlook,
    habit: Habit | None,
) -> PaddockOdds:
    known = day.farm.actives[active.active]
    projection = day.growth.projection(paddock.target, paddock)
    window = paddock_window(paddock, projection, known.mode)
    if window is None or stands_against(active) or not planned_blocks(active):
        return _none(day.farm, told, active.active, active.step.value)
    judgement = judge_paddock(day.farm, day.air, paddock, known, paddock.target)
    season = day.growth.season
    hours = needed(day.farm, paddock.hectares)
    run = max(1, math.ceil(hours - 1e-9))
    time = judgement.time
    from_first = season.day_of(time[0])
    opened, closed = (
        24.0 * (edge.ravel() - from_first) for edge in (window.open, window.closed)
    )
    day_of, starts = _days(time, day.weather.place.zone)
    found = odds(_fit(day, paddock, judgement), run, opened, closed, day_of)
    noons = np.array([np.flatnonzero(day_of == at).mean() for at in range(len(starts))])
    usual = (
        np.full(len(starts), np.nan)
        if habit is None
        else by_habit(habit.after_none, opened, closed, noons)
    )
    return PaddockOdds(
        paddock=told.name,
        active=active.active,
        hectares=told.hectares,
        hours=hours,
        run=run,
        first=_first(active, run, time, day_of),
        days=tuple(
            DayOdds(time[start], float(by), float(wait), float(own))
            for start, by, wait, own in zip(
                starts, found.by, found.waiting, usual, strict=True
            )
        ),
    )


def needed(farm: Farm, hectares: float) -> float:
    """Hours for a paddock, by the farm's rig, else at the speed alerts assume [h]."""
    if farm.rigs:
        return hours_needed(farm.rigs[0], hectares)
    return hectares / farm.alerts.hectares_an_hour


def _fit(day: FarmDay, paddock: Paddock, judgement: Judgement) -> Floats:
    """(members, hours) chance of each hour that the forecast calls good; else none."""
    chances = chances_of(day.air, paddock, judgement, day.farm.errors)
    told = chances.by_member
    one: Floats = chances.by_error[None, :]
    share = one if told is None else np.where(np.isnan(told), one, told)
    return np.where(judgement.verdict == Verdict.GOOD, share, 0.0)


def _days(time: Times, zone: str) -> tuple[npt.NDArray[np.int64], list[int]]:
    """The local day of each hour, from 0 on, and the first hour of each."""
    at = ZoneInfo(zone)
    dates = [
        dt.datetime.fromtimestamp(int(each), at).toordinal()
        for each in time.astype(np.int64)
    ]
    _, first, day_of = np.unique(dates, return_index=True, return_inverse=True)
    return day_of.astype(np.int64), first.tolist()


def _first(
    active: ActiveOutlook, run: int, time: Times, day_of: npt.NDArray[np.int64]
) -> int | None:
    """The day of the first planned block that is long enough."""
    for block in planned_blocks(active):
        if block.end - block.start >= run * HOUR:
            at = min(int(np.searchsorted(time, block.start)), day_of.size - 1)
            return int(day_of[at])
    return None


def _none(farm: Farm, told: PaddockOutlook, active: str, reason: str) -> PaddockOdds:
    hours = needed(farm, told.hectares)
    run = 0 if math.isnan(hours) else max(1, math.ceil(hours))
    return PaddockOdds(told.name, active, told.hectares, hours, run, None, (), reason)
