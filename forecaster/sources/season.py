"""One season from several kinds of weather: hours so far, hours ahead, past years.

Each past year, pasted on after the last known day, is one trace; all kinds go
through the same thermal-time formula.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.air.sun import sunrise_sunset
from forecaster.domain.growth.thermal_time import (
    HOURS,
    daily_thermal_time,
    daily_thermal_time_from_extremes,
)
from forecaster.domain.weather import HOUR
from forecaster.sources.days_table import DayOrigin, no_days

if TYPE_CHECKING:
    from forecaster.domain.place import Place
    from forecaster.domain.weather import Bools, Codes, Floats, WeatherFrame
    from forecaster.ports import PastYears
    from forecaster.sources.days_table import Days, DaysTable

DAY = np.timedelta64(1, "D")
SECONDS = 3600.0
"""In an hour."""
LONGEST_FILL = 3
"""[h] gaps in temperature up to this long are drawn straight. Assumed."""
LONGEST_FILL_DAYS = 2
"""[d] without past years, gaps up to this long are drawn straight. Assumed."""
MOST_FILLED_DAYS = 10
"""Unknown days of a season that past years may stand in for. Assumed."""
LEAST_YEAR = 0.9
"""Share of a past year's days that must be known for it to serve as a trace."""


@dataclass(frozen=True, slots=True)
class Season:
    """The days of one season at one place.

    ``first_day`` to ``first_day + days`` (end not included), local solar days.
    ``earlier`` are daily extremes for days the hours do not know; those of SILO also
    for days that they do, unless among ``station_days``, which the farm's own station
    saw. ``members`` (members, hours) is an ensemble that takes over from ``today``, a
    day number.
    """

    place: Place
    frame: WeatherFrame
    first_day: np.datetime64
    days: int
    past: PastYears | None
    earlier: DaysTable | None = None
    members: WeatherFrame | None = None
    today: int = 0
    station_days: Days = field(default_factory=no_days)

    @property
    def southern(self) -> bool:
        """Whether winter is in July."""
        return self.place.latitude < 0

    def daily(self, base: float, ceiling: float) -> tuple[Floats, int]:
        """Thermal time [°C d] (traces, days), and how many days past years filled.

        Known days come first, then each member's own days, then each past year's.
        Members and years are paired off in turn, so that every one of either has a
        trace.
        """
        known = self._known(base, ceiling)
        first, last = _known_span(known)
        members = self._members(base, ceiling)
        no_member = np.isnan(members).all(axis=0)
        last = max(last, _known_span(np.where(no_member, np.nan, 0.0))[1])
        day = np.arange(self.days)
        gaps = np.isnan(known) & no_member & (day >= first) & (day < last)
        years = self._years(gaps | (day >= last), base, ceiling)
        filled = int(gaps.sum())
        if years.shape[0] == 0:
            known = fill_short_gaps(known, LONGEST_FILL_DAYS)
            return _own_days(known, members)[:, :last], filled
        if 0 < filled <= MOST_FILLED_DAYS:
            known = np.where(gaps, _mean_of_years(years), known)
        ahead = _in_turn(_own_days(known, members), years.shape[0])
        years = _in_turn(years, ahead.shape[0])
        return np.where(day >= last, years, ahead), filled

    def _known(self, base: float, ceiling: float) -> Floats:
        """Thermal time (days,): station, then SILO, then hours, then other days."""
        known = self._of_hours(self.frame, base, ceiling)
        if self.earlier is None:
            return known
        # A day's curve leans on the days beside it: one more at either end.
        end_day = self.first_day + (self.days + 1) * DAY
        earlier = self.earlier.between(self.first_day - DAY, end_day)
        if not len(earlier):
            return known
        own = daily_of_extremes(earlier, self.place, base, ceiling)
        days = _on_dates(earlier.day, own, self.first_day, self.days)
        instead = np.isnan(known) | self._from_silo(earlier.day, earlier.warmth_from)
        return np.where(instead & ~np.isnan(days), days, known)

    def _from_silo(self, day: np.typing.NDArray[np.datetime64], origin: Codes) -> Bools:
        """Days of the season that go before the hours, the station's own left out."""
        own = np.isin(day, self.station_days)
        silo = ((origin == DayOrigin.SILO) & ~own).astype(np.float64)
        before: Bools = _on_dates(day, silo, self.first_day, self.days) == 1.0
        return before

    def _members(self, base: float, ceiling: float) -> Floats:
        """Thermal time (members, days) from today on; NaN where they end."""
        if self.members is None:
            return np.empty((0, self.days))
        daily = self._of_hours(self.members, base, ceiling)
        return np.where(np.arange(self.days) >= self.today, daily, np.nan)

    def _of_hours(self, frame: WeatherFrame, base: float, ceiling: float) -> Floats:
        hours = on_days(
            frame, frame.air_temperature, self.first_day, self.days, self.place
        )
        whole = np.apply_along_axis(fill_short_gaps, -1, hours)
        daily: Floats = daily_thermal_time(
            whole.reshape(*whole.shape[:-1], -1, HOURS), base, ceiling
        )
        return daily

    def _years(self, needed: Bools, base: float, ceiling: float) -> Floats:
        """Past years (years, days) that know most of the days ``needed``."""
        if self.past is None or not needed.any():
            return np.empty((0, self.days))
        years = self.past.daily(self.first_day, self.days, base, ceiling)
        enough = (~np.isnan(years[:, needed])).mean(axis=1) >= LEAST_YEAR
        years = years[enough]
        holes = np.isnan(years)
        return np.where(holes, _mean_of_years(years), years) if holes.any() else years

    def day_of(self, moment: np.datetime64) -> float:
        """Fractional days from ``first_day`` to a UTC moment."""
        start = self.first_day.astype("datetime64[s]") - solar_offset(self.place)
        return float((moment.astype("datetime64[s]") - start) / DAY)

    def moment_of(self, day: float) -> np.datetime64:
        """UTC moment of a fractional day."""
        start = self.first_day.astype("datetime64[s]") - solar_offset(self.place)
        moment: np.datetime64 = start + np.timedelta64(round(day * 86_400), "s")
        return moment

    def daily_rain(self) -> Floats:
        """Rain of each day of the season (days,) [mm]; NaN with over 4 h missing."""
        hours = on_days(
            self.frame, self.frame.rain, self.first_day, self.days, self.place
        ).reshape(-1, HOURS)
        missing = np.isnan(hours).sum(axis=1)
        rain = np.where(missing <= 4, np.nansum(hours, axis=1), np.nan)  # noqa: PLR2004 - hours
        if self.earlier is None:
            return rain
        earlier = self.earlier
        days = _on_dates(earlier.day, earlier.rain, self.first_day, self.days)
        instead = np.isnan(rain) | self._from_silo(earlier.day, earlier.rain_from)
        return np.where(instead & ~np.isnan(days), days, rain)


def _known_span(daily: Floats) -> tuple[int, int]:
    """First known day and the day after the last."""
    known = np.flatnonzero(~np.isnan(daily))
    return (int(known[0]), int(known[-1]) + 1) if known.size else (0, 0)


def _own_days(known: Floats, members: Floats) -> Floats:
    """Each member's days where it has them, else the known ones (traces, days)."""
    if members.shape[0] == 0:
        return known[None]
    return np.where(np.isnan(members), known, members)


def _in_turn(rows: Floats, least: int) -> Floats:
    """Rows repeated in turn until there are at least ``least``."""
    turn = np.arange(max(rows.shape[0], least)) % rows.shape[0]
    again: Floats = rows[turn]
    return again


def _on_dates(
    day: np.typing.NDArray[np.datetime64],
    values: Floats,
    first: np.datetime64,
    days: int,
) -> Floats:
    """``values`` of dated days on the days of a season; NaN where there are none."""
    index = (first - day[0]).astype(np.int64) + np.arange(days)
    inside = (index >= 0) & (index < day.size)
    return np.where(inside, values[np.where(inside, index, 0)], np.nan)


def _mean_of_years(years: Floats) -> Floats:
    """Mean of the known years of each date (days,); NaN where none is known."""
    count = np.isfinite(years).sum(axis=0)
    total = np.where(np.isnan(years), 0.0, years).sum(axis=0)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def solar_offset(place: Place) -> np.timedelta64:
    """Whole hours the local solar day is ahead of UTC."""
    return np.timedelta64(round(place.longitude / 15.0) * 3600, "s")


def season_span(place: Place, moment: np.datetime64) -> tuple[np.datetime64, int]:
    """First day and number of days of the season ``moment`` lies in.

    January to December in the south, July to June in the north.
    """
    local = (moment + solar_offset(place)).astype("datetime64[D]")
    year = int(local.astype("datetime64[Y]").astype(int)) + 1970
    month = int(local.astype("datetime64[M]").astype(int)) % 12 + 1
    if place.latitude < 0:
        first, end = f"{year}-01-01", f"{year + 1}-01-01"
    else:
        start = year if month >= 7 else year - 1  # noqa: PLR2004 - July
        first, end = f"{start}-07-01", f"{start + 1}-07-01"
    days = (np.datetime64(end) - np.datetime64(first)) / DAY
    return np.datetime64(first, "D"), int(days)


def on_days(
    frame: WeatherFrame,
    values: Floats,
    first_day: np.datetime64,
    days: int,
    place: Place,
) -> Floats:
    """``values`` on the hours of whole local solar days (…, 24 × days), NaN outside."""
    start = first_day.astype("datetime64[s]") - solar_offset(place)
    spread = np.full((*values.shape[:-1], days * HOURS), np.nan)
    at = ((frame.time - start) / HOUR).astype(int)
    inside = (at >= 0) & (at < days * HOURS)
    spread[..., at[inside]] = values[..., inside]
    return spread


def fill_short_gaps(values: Floats, longest: int = LONGEST_FILL) -> Floats:
    """Draw a straight line through gaps up to ``longest``; longer ones stay NaN."""
    missing = np.isnan(values)
    if not missing.any() or missing.all():
        return values
    edges = np.flatnonzero(
        np.diff(np.concatenate(([False], missing, [False])).view("i1"))
    ).reshape(-1, 2)
    at = np.arange(values.size)
    drawn = np.interp(at, at[~missing], values[~missing])
    filled = values.copy()
    for first, end in edges:
        inside = first > 0 and end < values.size
        if inside and end - first <= longest:
            filled[first:end] = drawn[first:end]
    return filled


@dataclass(frozen=True, slots=True)
class ExtremesOfYears:
    """Past years known by their daily extremes."""

    table: DaysTable
    place: Place
    _thermal: dict[tuple[float, float], Floats] = field(
        default_factory=dict, compare=False, repr=False
    )

    def daily(
        self, first: np.datetime64, days: int, base: float, ceiling: float
    ) -> Floats:
        """See :class:`PastYears`."""
        key = (base, ceiling)
        if key not in self._thermal:
            self._thermal[key] = daily_of_extremes(
                self.table, self.place, base, ceiling
            )
        thermal = self._thermal[key]
        return same_dates(self.table.day, thermal, first, days)


@dataclass(frozen=True, slots=True)
class HoursOfYears:
    """Past years (and, where a record is replayed, later ones) known by the hour."""

    frame: WeatherFrame
    place: Place

    def daily(
        self, first: np.datetime64, days: int, base: float, ceiling: float
    ) -> Floats:
        """See :class:`PastYears`."""
        offset = solar_offset(self.place)
        begin = (self.frame.time[0] + offset).astype("datetime64[D]")
        end = (self.frame.time[-1] + offset).astype("datetime64[D]") + DAY
        span = int((end - begin) / DAY)
        hours = on_days(self.frame, self.frame.air_temperature, begin, span, self.place)
        thermal = daily_thermal_time(
            fill_short_gaps(hours).reshape(-1, HOURS), base, ceiling
        )
        return same_dates(begin + np.arange(span) * DAY, thermal, first, days)


def daily_of_extremes(
    table: DaysTable, place: Place, base: float, ceiling: float
) -> Floats:
    """Thermal time [°C d] of days known by their extremes (days,)."""
    rise, fall = _sun_hours(table, place)
    return daily_thermal_time_from_extremes(
        table.tmax, table.tmin, base, ceiling, sunrise=rise, sunset=fall
    )


def _sun_hours(table: DaysTable, place: Place) -> tuple[Floats, Floats]:
    """Sunrise and sunset of each day [h], local solar."""
    midnight = table.day.astype("datetime64[s]") - solar_offset(place)
    rise, fall = (
        (when - midnight).astype(np.float64) / SECONDS
        for when in sunrise_sunset(table.day, place.latitude, place.longitude)
    )
    return rise, fall


def same_dates(
    day: np.typing.NDArray[np.datetime64],
    thermal: Floats,
    first: np.datetime64,
    days: int,
) -> Floats:
    """Rows of the same dates in other years (years, days); gapped years left out.

    29 February is dropped or taken from the day before, by date and not by number.
    """
    season = first + np.arange(days) * DAY
    own = first.astype("datetime64[Y]")
    rows = []
    for year in np.unique(day.astype("datetime64[Y]")):
        dates = moved_years(season, int((year - own).astype(int)))
        index = dates.astype(np.int64) - int(day[0].astype(np.int64))
        covered = (index >= 0) & (index < day.size)
        if year != own and covered.any():
            rows.append(np.where(covered, thermal[np.where(covered, index, 0)], np.nan))
    return np.array(rows).reshape(-1, days)


def moved_years(
    days: np.typing.NDArray[np.datetime64], years: int
) -> np.typing.NDArray[np.datetime64]:
    """The same calendar dates ``years`` later; 29 February becomes the 28th."""
    month = days.astype("datetime64[M]")
    within = days - month.astype("datetime64[D]")
    target = month + np.timedelta64(12 * years, "M")
    length = (target + 1).astype("datetime64[D]") - target.astype("datetime64[D]")
    kept = np.minimum(within, length - DAY)
    moved: np.typing.NDArray[np.datetime64] = target.astype("datetime64[D]") + kept
    return moved
