"""Which weather a farm stands on: its files, its moment, and what to say of them."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.air.pressure import standard_pressure
from forecaster.domain.quality.checked import check
from forecaster.domain.quality.flags import Flag
from forecaster.domain.weather import HOUR, Origin, Provenance, WeatherFrame
from forecaster.errors import NoWeatherError
from forecaster.service.moments import as_utc, parse_moment
from forecaster.service.quality_view import checked
from forecaster.settings.document import read_document, validate
from forecaster.settings.farm import FARM_FILE
from forecaster.settings.farm_file import FarmFile, WeatherEntry
from forecaster.settings.shipped import demo_folder
from forecaster.sources.days_table import no_days
from forecaster.sources.season import ExtremesOfYears, HoursOfYears

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.place import Place
    from forecaster.domain.weather_report import Stretch
    from forecaster.ports import PastYears
    from forecaster.settings.farm import Farm
    from forecaster.sources.days_table import Days, DaysTable

REPLAY_WARNING = (
    "hours after this moment are what was observed later, read as if they had been "
    "forecast; a real forecast is worse"
)
LATER_WARNING = (
    "this moment has passed: hours after it are what was observed or forecast later, "
    "read as if it had been forecast then; a real forecast is worse"
)
HOURS_AHEAD = 7 * 24
"""Hours of the weekly outlook."""


@dataclass(frozen=True, slots=True)
class FarmWeather:
    """The weather of one farm at one moment."""

    frame: WeatherFrame
    place: Place
    now: np.datetime64
    past: PastYears | None
    warnings: tuple[str, ...]
    """What a reader must know before anything else."""
    notes: tuple[str, ...]
    """Where the hours came from, in detail."""
    invented: bool
    members: WeatherFrame | None = None
    """(members, hours) of an ensemble, where there is one."""
    earlier: DaysTable | None = None
    """Daily extremes of the season so far and of past years."""
    station_days: Days = field(default_factory=no_days)
    """Days of which the farm's own station saw enough."""
    stretches: tuple[Stretch, ...] = ()
    asked_at: np.datetime64 | None = None
    """By the clock, where services were asked."""
    service_clock: np.datetime64 | None = None
    """What a service's own clock showed then."""

    @property
    def aged_at(self) -> np.datetime64:
        """The moment up to which weather ages: the one stood at, or now if later.

        To stand in the past makes nothing younger that was fetched since.
        """
        return self.now if self.asked_at is None else max(self.now, self.asked_at)


def load_weather(
    farm: Farm,
    clock_now: np.datetime64,
    *,
    at: str | None = None,
    mapping: Path | None = None,
    offline: bool = False,
) -> FarmWeather:
    """Read the weather of ``farm``.

    Parameters
    ----------
    farm : Farm
        Whose ``[weather]`` to read.
    clock_now : datetime64
        The moment by the clock, used where neither ``at`` nor the file names one.
    at : str, optional
        The moment the user asked for, as typed; on the clock of the weather's place.
    mapping : Path, optional
        A mapping file of a foreign table to read instead; its place counts.
    offline : bool
        Ask no service; use what is kept.

    Raises
    ------
    NoWeatherError
        If the weather does not reach that moment.
    DataError, InputMissingError, SettingsError
        If a file is missing or wrong.
    """
    if mapping is not None:
        weather = _from_csv(mapping, None, clock_now, at)
    elif farm.weather.kind == "csv":
        weather = _from_csv(_file(farm), farm.weather, clock_now, at)
    elif farm.weather.kind == "open":
        weather = _from_services(farm, clock_now, at, offline=offline)
    elif farm.weather.kind == "demo":
        weather = _from_demo(farm, at)
    else:
        weather = _from_hours(farm, farm.weather, farm.folder, clock_now, at)
    return whole(weather)


def whole(weather: FarmWeather) -> FarmWeather:
    """Its hours looked through and pressure filled, as every page takes it.

    Raises
    ------
    NoWeatherError
        If the weather does not reach its moment.
    """
    return _with_pressure(checked(_inside(weather)))


def _moment(
    entry: WeatherEntry | None, clock_now: np.datetime64, at: str | None, zone: str
) -> np.datetime64:
    """The moment typed on the command line, else in the farm file, else now."""
    if at is not None:
        return parse_moment(at, zone)
    if entry is not None and entry.moment is not None:
        return as_utc(entry.moment)
    return clock_now


def _file(farm: Farm) -> Path:
    return farm.folder / str(farm.weather.file)


def _from_demo(farm: Farm, at: str | None) -> FarmWeather:
    """The demo's invented weather under another farm's paddocks."""
    folder = demo_folder()
    entry = validate(read_document(folder / FARM_FILE), FarmFile).weather
    return _from_hours(farm, entry, folder, np.datetime64(0, "s"), at)


def _from_hours(
    farm: Farm,
    entry: WeatherEntry,
    folder: Path,
    clock_now: np.datetime64,
    at: str | None,
) -> FarmWeather:
    from forecaster.sources.hours_table import read_hours

    path = folder / str(entry.file)
    unknown = np.datetime64("NaT", "s")
    licence = "invented for the demo" if entry.invented else "your own file"
    frame = read_hours(path, provenance=Provenance(path.name, licence, unknown))
    issued = as_utc(entry.issued) if entry.issued else last_observed(frame)
    frame = replace(frame, provenance=replace(frame.provenance, issued=issued))
    notes = _past_note(entry)
    now = _moment(entry, clock_now, at, farm.place.zone)
    warnings: tuple[str, ...] = ()
    if issued > now:
        frame, warnings = replayed(frame, now), (REPLAY_WARNING,)
    past = _past_years(entry, folder, farm.place)
    return FarmWeather(frame, farm.place, now, past, warnings, notes, entry.invented)


def _from_services(
    farm: Farm, clock_now: np.datetime64, at: str | None, *, offline: bool
) -> FarmWeather:
    from forecaster.service.open_weather import gather

    now = _moment(farm.weather, clock_now, at, farm.place.zone)
    gathered = gather(farm, clock_now, now=now, offline=offline)
    members, later = gathered.members, (LATER_WARNING,) if gathered.later else ()
    return FarmWeather(
        gathered.frame,
        farm.place,
        now,
        gathered.past,
        (*later, *gathered.warnings),
        (*gathered.frame.provenance.notes, *gathered.notes),
        invented=False,
        members=None if members is None else with_pressure(members, farm.place),
        earlier=gathered.earlier,
        station_days=gathered.station_days,
        stretches=tuple(gathered.stretches),
        asked_at=clock_now,
        service_clock=gathered.service_clock,
    )


def _past_note(entry: WeatherEntry) -> tuple[str, ...]:
    return (f"past years from {entry.past_years}",) if entry.past_years else ()


def _past_years(entry: WeatherEntry, folder: Path, place: Place) -> PastYears | None:
    if entry.past_years is None:
        return None
    from forecaster.sources.days_table import read_days

    return ExtremesOfYears(read_days(folder / entry.past_years), place)


def _with_pressure(weather: FarmWeather) -> FarmWeather:
    """Fill missing pressure and say so; Delta T needs it, and hardly feels it."""
    frame = with_pressure(weather.frame, weather.place)
    filled = int((np.isnan(weather.frame.pressure) & ~np.isnan(frame.pressure)).sum())
    if not filled:
        return weather
    note = (
        f"pressure of {filled:,} hours is that of the standard atmosphere at "
        f"{weather.place.elevation:g} m"
    )
    return replace(weather, frame=frame, notes=(*weather.notes, note))


def with_pressure(frame: WeatherFrame, place: Place) -> WeatherFrame:
    """The standard atmosphere's pressure, marked, where none was measured."""
    lacking = np.isnan(frame.pressure) & ~np.isnan(frame.air_temperature)
    if not lacking.any():
        return frame
    filled = np.where(lacking, standard_pressure(place.elevation), frame.pressure)
    marks = frame.marks_of("pressure").add(Flag.WORKED_OUT, lacking)
    return replace(frame, pressure=filled, marks={**frame.marks, "pressure": marks})


def _from_csv(
    mapping: Path,
    entry: WeatherEntry | None,
    clock_now: np.datetime64,
    at: str | None,
) -> FarmWeather:
    from forecaster.sources.csv_file import read_csv

    imported = read_csv(mapping)
    now = _moment(entry, clock_now, at, imported.place.zone)
    frame = replayed(imported.frame, now)
    later = bool((frame.origin == Origin.REPLAYED).any())
    own = HoursOfYears(check(imported.frame, imported.place).frame, imported.place)
    past = _past_years(entry, mapping.parent, imported.place) if entry else None
    return FarmWeather(
        frame,
        imported.place,
        now,
        past=past or own,
        warnings=(REPLAY_WARNING,) if later else (),
        notes=(
            *(_past_note(entry) if entry else ()),
            *imported.report.text().splitlines(),
        ),
        invented=False,
    )


def replayed(frame: WeatherFrame, now: np.datetime64) -> WeatherFrame:
    """A record cut at ``now``: what comes after counts as replayed."""
    later = (frame.time >= now) & (frame.origin != Origin.MISSING)
    seen = (frame.time < now) & (frame.origin == Origin.OBSERVED)
    issued = frame.time[seen][-1] if seen.any() else np.datetime64("NaT", "s")
    origin = np.where(later, np.uint8(Origin.REPLAYED), frame.origin)
    provenance = replace(frame.provenance, issued=issued)
    return replace(frame, origin=origin, provenance=provenance)


def last_observed(frame: WeatherFrame) -> np.datetime64:
    """The last observed hour, or the first hour where all are forecast."""
    seen = np.flatnonzero(frame.origin == Origin.OBSERVED)
    newest: np.datetime64 = frame.time[seen[-1] if seen.size else 0]
    return newest


def _inside(weather: FarmWeather) -> FarmWeather:
    frame, now = weather.frame, weather.now
    first, last = frame.time[0], frame.time[-1]
    if not first <= now <= last:
        raise NoWeatherError(
            f"{frame.provenance.source}: holds hours from {first}Z to {last}Z, but the "
            f"moment asked for is {now}Z; fetch newer weather, or name a moment inside "
            "with --at"
        )
    return weather


def hours_to_judge(weather: FarmWeather) -> tuple[np.datetime64, np.datetime64]:
    """First hour of the outlook and the hour after its last."""
    start = weather.now.astype("datetime64[h]").astype("datetime64[s]")
    end = min(start + HOURS_AHEAD * HOUR, weather.frame.time[-1] + HOUR)
    return start, end
