"""One farm's weather from open services: asked, joined, and honest about gaps.

What fails is left out and said; only without any forecast at all is there none.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.weather import HOUR, Origin, WeatherFrame
from forecaster.errors import NoWeatherError, SourceError
from forecaster.service.gathered import Gathered
from forecaster.service.station import add_station
from forecaster.service.stretches import of_days, of_hours
from forecaster.sources import (
    metno,
    openmeteo_archive,
    openmeteo_ensemble,
    openmeteo_forecast,
    openmeteo_profile,
)
from forecaster.sources.conduct import Conduct
from forecaster.sources.days_table import DaysTable, read_days
from forecaster.sources.lastgood import LastGood
from forecaster.sources.openmeteo import Access
from forecaster.sources.refresh import Refreshed, refresh
from forecaster.sources.season import ExtremesOfYears, season_span

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from forecaster.domain.place import Place
    from forecaster.settings.farm import Farm
    from forecaster.settings.farm_file import WeatherEntry
    from forecaster.sources.request import Parsed, Request

FOLDER = ".weather"
"""Inside the farm folder: what was fetched, and what was good last."""
PAST_DAYS = 10
"""[d] of hours before now asked with the forecast; the archive is five days late."""
OLD_FORECAST = 12.0
"""[h] a kept forecast older than this gives way to the second service."""


@dataclass(slots=True)
class Asker:
    """Asks services for one farm and keeps what they say."""

    place: Place
    now: np.datetime64
    entry: WeatherEntry
    folder: Path
    offline: bool
    warnings: list[str] = field(default_factory=list)

    @property
    def access(self) -> Access:
        """Where to ask Open-Meteo, and as whom."""
        key = os.environ.get(self.entry.key_env, "") if self.entry.key_env else ""
        return Access(self.entry.open_meteo_url, key, self.entry.contact)

    def ask(
        self, request: Request, parse: Callable[[bytes, Request], Parsed]
    ) -> Refreshed | None:
        """The answer, an older one with its age, or None; every trouble is noted."""
        try:
            answer = refresh(
                request,
                parse,
                folder=self.folder / "http",
                store=LastGood(self.folder / "good"),
                now=self.now,
                offline=self.offline,
                conduct=Conduct(contact=self.entry.contact),
            )
        except SourceError as error:
            self.warnings += [str(error), *getattr(error, "__notes__", ())]
            return None
        self.warnings += answer.warnings
        return answer

    def demand(
        self, request: Request, parse: Callable[[bytes, Request], Parsed]
    ) -> Refreshed:
        """The answer, or an older one.

        Raises
        ------
        NoWeatherError
            If there is neither, with every trouble on the way.
        """
        answer = self.ask(request, parse)
        if answer is None:
            raise NoWeatherError("\n".join(["no weather:", *self.warnings]))
        return answer

    def age(self, answer: Refreshed) -> float:
        """Hours since the answer was sent."""
        return float((self.now - answer.retrieved_at) / HOUR)


def asker_for(farm: Farm, now: np.datetime64, *, offline: bool) -> Asker:
    """Who asks for ``farm``."""
    return Asker(farm.place, now, farm.weather, farm.folder / FOLDER, offline)


def gather(farm: Farm, now: np.datetime64, *, offline: bool = False) -> Gathered:
    """Ask for all that a season needs, in order of need.

    Raises
    ------
    NoWeatherError
        If there is no forecast, fresh or kept.
    """
    asker = asker_for(farm, now, offline=offline)
    forecast = _forecast(asker)
    if forecast is None or forecast.parsed.frame is None:
        raise NoWeatherError(
            "no weather: no service gave any and none is kept.\n"
            + "\n".join(asker.warnings)
        )
    frame = _marked(forecast.parsed.frame, now)
    gathered = Gathered(frame, None, None, None)
    gathered.stretches.append(
        of_hours("hours", frame, asker.age(forecast), fresh=forecast.fresh)
    )
    _add_profile(asker, gathered)
    _add_members(asker, gathered)
    _add_days(asker, gathered)
    if farm.weather.station is not None:
        add_station(gathered, farm.folder / farm.weather.station, farm.place, now)
    gathered.warnings = list(dict.fromkeys([*asker.warnings, *gathered.warnings]))
    return gathered


def _forecast(asker: Asker) -> Refreshed | None:
    """The first service; the second where the first is silent and its last is old."""
    request = openmeteo_forecast.request(
        asker.place, asker.now, access=asker.access, past_days=PAST_DAYS
    )
    first = asker.ask(request, openmeteo_forecast.parse)
    if first is not None and (first.fresh or asker.age(first) < OLD_FORECAST):
        return first
    if not asker.entry.contact:
        asker.warnings.append(
            "MET Norway, the second service, is not asked: it wants weather.contact, "
            "a mail address or site"
        )
        return first
    base = asker.entry.met_norway_url
    options = {"base_url": base} if base else {}
    request = metno.request(
        asker.place, asker.now, contact=asker.entry.contact, **options
    )
    second = asker.ask(request, metno.parse)
    if second is None or (first is not None and asker.age(first) < asker.age(second)):
        return first
    return second


def _marked(frame: WeatherFrame, now: np.datetime64) -> WeatherFrame:
    """Hours before its run are the service's analysis, the rest its forecast.

    A kept answer forecast the hours since, and this one too: they have its age. Where
    the run is not known, all is forecast.
    """
    until = np.minimum(now, frame.provenance.issued)
    origin = np.where(frame.time < until, Origin.OBSERVED, Origin.FORECAST)
    there = ~np.isnan(frame.air_temperature)
    codes = np.where(there, origin, Origin.MISSING).astype(np.uint8)
    return replace(frame, origin=codes)


def _add_profile(asker: Asker, gathered: Gathered) -> None:
    """Temperature at 80 m as one model's difference laid on the forecast's 2 m.

    Two models' temperatures must not be subtracted from one another: the difference
    is what tells an inversion.
    """
    request = openmeteo_profile.request(asker.place, asker.now, access=asker.access)
    answer = asker.ask(request, openmeteo_profile.parse)
    if answer is None or answer.parsed.frame is None:
        return
    profile = answer.parsed.frame
    gathered.stretches.append(
        of_hours("profile", profile, asker.age(answer), fresh=answer.fresh)
    )
    frame = gathered.frame
    rise = profile.air_temperature_80m - profile.air_temperature
    at = np.searchsorted(profile.time, frame.time).clip(max=profile.time.size - 1)
    same = profile.time[at] == frame.time
    above = np.where(same, frame.air_temperature + rise[at], np.nan)
    gathered.frame = replace(frame, air_temperature_80m=above)


def _add_members(asker: Asker, gathered: Gathered) -> None:
    if not asker.entry.ensemble:
        return
    request = openmeteo_ensemble.request(asker.place, asker.now, access=asker.access)
    answer = asker.ask(request, openmeteo_ensemble.parse)
    if answer is not None and answer.parsed.frame is not None:
        gathered.members = answer.parsed.frame
        gathered.stretches.append(
            of_hours("members", answer.parsed.frame, asker.age(answer),
                     fresh=answer.fresh)
        )  # fmt: skip


def _add_days(asker: Asker, gathered: Gathered) -> None:
    """The season so far, and past years for traces."""
    found = _past_days(asker)
    if found is None:
        return
    table, age = found
    gathered.stretches.append(
        of_days("past days", "Open-Meteo archive (ERA5)", table, age)
    )
    gathered.earlier = table
    gathered.past = ExtremesOfYears(table, asker.place)


def _past_days(asker: Asker) -> tuple[DaysTable, float] | None:
    """Days of this season and of past years, and the age of the newest [h]."""
    first, _ = season_span(asker.place, asker.now)
    year = int(first.astype("datetime64[Y]").astype(int)) + 1970
    newest = int(asker.now.astype("datetime64[Y]").astype(int)) + 1970
    answers = (
        _year(asker, each) for each in range(year - asker.entry.years, newest + 1)
    )
    known = [each for each in answers if each is not None and each.parsed.days]
    if not known:
        return None
    table = joined([each.parsed.days for each in known if each.parsed.days])
    return table, min(asker.age(each) for each in known)


def past_days(
    farm: Farm, now: np.datetime64, *, offline: bool = False
) -> DaysTable | None:
    """Daily extremes of past years at a farm, from its file or the archive."""
    if farm.weather.past_years is not None:
        return read_days(farm.folder / farm.weather.past_years)
    if farm.weather.kind != "open":
        return None
    found = _past_days(asker_for(farm, now, offline=offline))
    return None if found is None else found[0]


def _year(asker: Asker, year: int) -> Refreshed | None:
    try:
        request = openmeteo_archive.request(
            asker.place, asker.now, year=year, access=asker.access
        )
    except SourceError:
        return None
    return asker.ask(request, openmeteo_archive.parse)


def joined(tables: list[DaysTable]) -> DaysTable:
    """One table of all days; days between the tables are missing."""
    first = min(table.day[0] for table in tables)
    end = max(table.day[-1] for table in tables)
    day = first + np.arange(int((end - first).astype(int)) + 1)
    columns = {name: np.full(day.size, np.nan) for name in ("tmax", "tmin", "rain")}
    for table in tables:
        at = int((table.day[0] - first).astype(int))
        for name, values in columns.items():
            values[at : at + table.day.size] = getattr(table, name)
    return DaysTable(day, **columns)
