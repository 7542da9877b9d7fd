"""One farm's weather from open services: asked, joined, and honest about gaps.

What fails is left out and said; only without any forecast at all is there none.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.weather import Origin, WeatherFrame
from forecaster.errors import NoWeatherError, PartialError, SourceError
from forecaster.service.asker import asker_for
from forecaster.service.gathered import Gathered
from forecaster.service.season_days import season_days
from forecaster.service.station import add_station
from forecaster.service.stretches import of_hours
from forecaster.sources import (
    metno,
    openmeteo_ensemble,
    openmeteo_forecast,
    openmeteo_profile,
    openmeteo_status,
)
from forecaster.sources.days_table import read_days
from forecaster.sources.http import BUDGET_S
from forecaster.sources.lastgood import LastGood
from forecaster.sources.season import DAY, ExtremesOfYears, solar_offset

if TYPE_CHECKING:
    from forecaster.service.asker import Asker
    from forecaster.settings.farm import Farm
    from forecaster.sources.days_table import DaysTable
    from forecaster.sources.deadline import Deadline
    from forecaster.sources.refresh import Refreshed
    from forecaster.sources.request import Request

PAST_DAYS = 10
"""[d] of hours before now asked with the forecast; the archive is five days late."""
OLD_FORECAST = 12.0
"""[h] a kept forecast older than this gives way to the second service; so much
older than the forecast, a profile is not laid on it."""
USELESS_FORECAST = 72.0
"""[h] hours of an older one are unknown (config/limits/data.toml)."""
STATUS_S = 5.0
"""[s] at most for the model status, which can be done without. Assumed."""


def gather(
    farm: Farm,
    clock_now: np.datetime64,
    *,
    now: np.datetime64 | None = None,
    offline: bool = False,
    budget: Deadline | float = BUDGET_S,
) -> Gathered:
    """Ask for all that a season needs, in order of need.

    Parameters
    ----------
    farm : Farm
        Whose place and services.
    clock_now : datetime64
        The moment by the clock, UTC.
    now : datetime64, optional
        The moment stood at, UTC, where it is another.
    offline : bool
        Ask no service.
    budget : Deadline or float
        For all asks together [s].

    Raises
    ------
    NoWeatherError
        If there is no forecast, fresh or kept.
    """
    asker = asker_for(farm, clock_now, offline=offline, now=now, budget=budget)
    forecast = _forecast(asker)
    if forecast is None or forecast.parsed.frame is None:
        raise NoWeatherError(
            "no weather: no service gave any and none is kept.\n"
            + "\n".join(asker.warnings)
        )
    frame = _marked(forecast.parsed.frame, asker)
    gathered = Gathered(frame, None, None, None)
    _add_stretch(asker, gathered, "hours", forecast)
    _add_profile(asker, gathered, forecast)
    _add_members(asker, gathered)
    _add_days(asker, gathered)
    if farm.weather.station is not None:
        mapping = farm.folder / farm.weather.station
        add_station(gathered, mapping, farm.place, asker.now)
    gathered.warnings = list(dict.fromkeys([*asker.warnings, *gathered.warnings]))
    gathered.notes += asker.notes
    gathered.service_clock = asker.service_clock
    return gathered


def _forecast(asker: Asker) -> Refreshed | None:
    """The first service; the second where the first is silent and its last is old.

    Where neither has hours that could still be judged, one that only tells dates.
    """
    request = openmeteo_forecast.request(
        asker.place, asker.clock_now, access=asker.access, past_days=PAST_DAYS
    )
    first = asker.ask(request, openmeteo_forecast.parse)
    partly = isinstance(asker.fault, PartialError)
    if first is not None and (first.fresh or asker.age(first) < OLD_FORECAST):
        return _dated(asker, first)
    second = _second(asker)
    best = _younger(asker, first, second)
    if best is None or asker.age(best) > USELESS_FORECAST:
        best = _younger(asker, best, _for_dates(asker, request, came=partly))
    return best if best is None or best is second else _dated(asker, best)


def _for_dates(asker: Asker, request: Request, *, came: bool) -> Refreshed | None:
    """A forecast without all that hours are judged by; kept ones are looked up only."""
    request = openmeteo_forecast.for_dates(request)
    if not came and LastGood(asker.folder / "good").load(request) is None:
        return None
    return asker.ask(request, openmeteo_forecast.parse_dates, kept_only=not came)


def _younger(
    asker: Asker, one: Refreshed | None, other: Refreshed | None
) -> Refreshed | None:
    """The younger answer, ``other`` if as old.

    What was said of using the one left aside goes; why it was not new stays.
    """
    if one is None or other is None:
        return one or other
    older = asker.age(one) >= asker.age(other)
    used, left = (other, one) if older else (one, other)
    asker.warnings = [each for each in asker.warnings if each not in left.warnings]
    asker.warnings += [str(left.fault)] if left.fault else []
    return used


def _second(asker: Asker) -> Refreshed | None:
    """MET Norway, where there is somebody it can turn to."""
    if not asker.entry.contact:
        asker.warnings.append(
            "MET Norway, the second service, is not asked: it wants weather.contact, "
            "a mail address or site"
        )
        return None
    base = asker.entry.met_norway_url
    options = {"base_url": base} if base else {}
    request = metno.request(
        asker.place, asker.clock_now, contact=asker.entry.contact, **options
    )
    return asker.ask(request, metno.parse)


def _dated(asker: Asker, answer: Refreshed) -> Refreshed:
    """An Open-Meteo forecast with its run, where the model status tells it.

    With a kept forecast goes the status kept with it: what runs now is not in it.
    """
    if answer.parsed.frame is None:
        return answer
    request = openmeteo_status.request(
        asker.place, asker.clock_now, access=asker.access
    )
    run, trouble = None, ""
    seen: np.datetime64 = np.datetime64("NaT", "s")
    try:
        status = asker.refreshed(
            request,
            openmeteo_status.parse,
            offline=asker.offline or not answer.fresh,
            budget=asker.budget.within(STATUS_S),
        )
        run, seen = status.parsed.run, status.retrieved_at
    except SourceError as error:
        trouble = str(error)
    frame = openmeteo_status.dated(
        answer.parsed.frame, answer.retrieved_at, run, seen, trouble
    )
    return replace(answer, parsed=replace(answer.parsed, frame=frame))


def _marked(frame: WeatherFrame, asker: Asker) -> WeatherFrame:
    """Hours before its run are the service's analysis, the rest its forecast.

    A kept answer forecast the hours since, and this one too: they have its age. Where
    the run is not known, all is forecast. From a moment past, analysis is replayed.
    """
    issued = frame.provenance.issued
    past = frame.time < np.minimum(asker.now, issued)
    since = (asker.now < asker.clock_now) & (frame.time < issued)
    origin = np.select(
        [past, since], [Origin.OBSERVED, Origin.REPLAYED], Origin.FORECAST
    )
    there = ~np.isnan(frame.air_temperature)
    codes = np.where(there, origin, Origin.MISSING).astype(np.uint8)
    return replace(frame, origin=codes)


def _add_stretch(
    asker: Asker, gathered: Gathered, kind: str, answer: Refreshed
) -> None:
    """Note where hours are from, how old, and whether they came to be known later."""
    frame = gathered.frame if kind == "hours" else answer.parsed.frame
    if frame is not None:
        age = asker.told_age(answer)
        gathered.stretches.append(of_hours(kind, frame, age, fresh=answer.fresh))
        gathered.later |= not asker.knew(answer)


def _add_profile(asker: Asker, gathered: Gathered, forecast: Refreshed) -> None:
    """Temperature at 80 m as one model's difference laid on the forecast's 2 m.

    Two models' temperatures must not be subtracted from one another: the difference
    is what tells an inversion. One much older than the forecast would lend its hours
    an age they do not show.
    """
    request = openmeteo_profile.request(
        asker.place, asker.clock_now, access=asker.access
    )
    answer = asker.ask(request, openmeteo_profile.parse)
    if answer is None or answer.parsed.frame is None:
        return
    if asker.age(answer) > asker.age(forecast) + OLD_FORECAST:
        asker.warnings.append(
            f"the profile kept is over {OLD_FORECAST:g} h older than the forecast: "
            "inversions are judged without it"
        )
        return
    profile = answer.parsed.frame
    _add_stretch(asker, gathered, "profile", answer)
    frame = gathered.frame
    rise = profile.air_temperature_80m - profile.air_temperature
    at = np.searchsorted(profile.time, frame.time).clip(max=profile.time.size - 1)
    same = profile.time[at] == frame.time
    above = np.where(same, frame.air_temperature + rise[at], np.nan)
    said = profile.marks_of("air_temperature_80m").take(np.where(same, at, -1))
    marks = {**frame.marks, "air_temperature_80m": said}
    gathered.frame = replace(frame, air_temperature_80m=above, marks=marks)


def _add_members(asker: Asker, gathered: Gathered) -> None:
    if not asker.entry.ensemble:
        return
    request = openmeteo_ensemble.request(
        asker.place, asker.clock_now, access=asker.access
    )
    answer = asker.ask(request, openmeteo_ensemble.parse)
    if answer is not None and answer.parsed.frame is not None:
        gathered.members = answer.parsed.frame
        _add_stretch(asker, gathered, "members", answer)


def _add_days(asker: Asker, gathered: Gathered) -> None:
    """The season so far, and past years for traces."""
    begin = gathered.frame.time[0] + solar_offset(asker.place)
    whole = (begin - np.timedelta64(1, "s")).astype("datetime64[D]") + DAY
    found = season_days(asker, whole)
    if found is None:
        return
    gathered.stretches += found.stretches
    gathered.earlier = found.table
    gathered.past = ExtremesOfYears(found.table, asker.place)


def past_days(
    farm: Farm, now: np.datetime64, *, offline: bool = False
) -> DaysTable | None:
    """Daily extremes of past years at a farm, from its file or the services."""
    if farm.weather.past_years is not None:
        return read_days(farm.folder / farm.weather.past_years)
    if farm.weather.kind != "open":
        return None
    found = season_days(asker_for(farm, now, offline=offline))
    return None if found is None else found.table
