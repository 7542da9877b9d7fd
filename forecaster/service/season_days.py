"""The season so far and past years by the day: SILO where it may be asked, else ERA5.

Both come from one record, so that the season so far and the years that carry it on
stand on one level. A day SILO does not know is filled from the archive, brought to
SILO's level by month, counted and shown.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.errors import SourceError
from forecaster.service.stretches import of_days
from forecaster.sources import openmeteo_archive, silo
from forecaster.sources.bias import bias_of, without_bias
from forecaster.sources.contact import is_mail
from forecaster.sources.days_table import DayOrigin
from forecaster.sources.joined_days import joined, warmth_known, wholly_known
from forecaster.sources.season import DAY, season_span, solar_offset

if TYPE_CHECKING:
    from forecaster.domain.weather_report import Stretch
    from forecaster.service.asker import Asker
    from forecaster.sources.days_table import DaysTable
    from forecaster.sources.refresh import Refreshed

ARCHIVE = "Open-Meteo archive (ERA5)"
LEAST_KNOWN = 0.9
"""Share of SILO's days that must be weather, not averages, for it to serve. Assumed."""
HEIGHTS_APART = 100.0
"""[m] between SILO's point and the farm that is worth a word, 0.65 K. Assumed."""
SILO_S = 25.0
"""[s] at most for SILO, so that time is left for the archive. Assumed."""


@dataclass(slots=True)
class SeasonDays:
    """Days of this season and of past years, and where they are from."""

    table: DaysTable
    stretches: list[Stretch]


def season_days(
    asker: Asker, hours_from: np.datetime64 | None = None
) -> SeasonDays | None:
    """SILO's days with its gaps filled, or the archive's; None where neither answers.

    ``hours_from`` is the first day that hours know: from then on no gap needs filling.
    Without it none is filled. Days from the moment stood at on are left out.
    """
    found = _of_silo(asker, hours_from) or _of_archive(asker)
    if found is None:
        return None
    today = (asker.now + solar_offset(asker.place)).astype("datetime64[D]")
    found.table = found.table.between(found.table.day[0], today)
    return found if len(found.table) else None


def _of_silo(asker: Asker, hours_from: np.datetime64 | None) -> SeasonDays | None:
    reason = why_not_silo(asker)
    if reason:
        asker.notes.append(f"SILO, days of Australia, is not asked: {reason}")
        return None
    answer = _silo(asker)
    if answer is None or answer.parsed.days is None:
        asker.warnings.append(
            f"SILO gave no days: the season so far and past years are from {ARCHIVE}"
        )
        return None
    days = silo.on_solar_days(answer.parsed.days)
    asker.notes.append(f"days: {silo.LICENCE}")
    _compare_heights(asker, answer)
    age, fresh = asker.told_age(answer), answer.fresh
    found = SeasonDays(days, [of_days("past days", silo.NAME, days, age, fresh=fresh)])
    if hours_from is not None:
        _fill(asker, found, hours_from)
    return found


def _compare_heights(asker: Asker, answer: Refreshed) -> None:
    """Say where SILO's point lies much higher or lower than the farm is said to."""
    point = answer.parsed.cell
    if point and abs(point.elevation - asker.place.elevation) >= HEIGHTS_APART:
        asker.notes.append(
            f"SILO's point lies at {point.elevation:.0f} m, the farm at "
            f"{asker.place.elevation:.0f} m by its file; SILO's temperatures are not "
            "moved from one to the other"
        )


def why_not_silo(asker: Asker) -> str:
    """Why SILO is not asked for a farm; empty if it is."""
    if not asker.entry.silo:
        return "silo = false in the farm file"
    if not silo.covers(asker.place):
        return (
            f"the farm is not within {silo.WEST:g} to {silo.EAST:g}° E and "
            f"{-silo.NORTH:g} to {-silo.SOUTH:g}° S"
        )
    if not is_mail(asker.entry.contact):
        return "it wants weather.contact, your own e-mail address"
    first, last = _span(asker)
    return "" if first <= last else "it has no whole week of this season yet"


def _span(asker: Asker) -> tuple[np.datetime64, np.datetime64]:
    """From the first past year to the newest whole week."""
    first, _ = season_span(asker.place, asker.now)
    years = np.timedelta64(12 * asker.entry.years, "M")
    begin: np.datetime64 = (first.astype("datetime64[M]") - years).astype(first.dtype)
    return begin, silo.newest_week(asker.clock_now)


def _silo(asker: Asker) -> Refreshed | None:
    """The whole span in one answer; None if it does not come or is mostly averages."""
    first, last = _span(asker)
    base = asker.entry.silo_url
    request = silo.request(
        asker.place,
        asker.clock_now,
        first_day=first,
        last_day=last,
        contact=asker.entry.contact,
        **({"base_url": base} if base else {}),
    )
    answer = asker.ask(request, silo.parse, most_s=SILO_S)
    if answer is None or answer.parsed.days is None:
        return None
    share = float(warmth_known(answer.parsed.days).mean())
    if share < LEAST_KNOWN:
        asker.warnings.append(
            f"SILO knows the temperatures of {share:.0%} of its days; under "
            f"{LEAST_KNOWN:.0%} it is not used"
        )
        return None
    return answer


def _fill(asker: Asker, found: SeasonDays, hours_from: np.datetime64) -> None:
    """Take from the archive what SILO lacks of this season before the hours."""
    first, _ = season_span(asker.place, asker.now)
    lacking = _lacking(found.table, first, hours_from)
    if lacking == 0:
        return
    spare = _archive_year(asker, int(first.astype("datetime64[Y]").astype(int)) + 1970)
    if spare is None or spare.parsed.days is None:
        asker.notes.append(f"SILO lacks {lacking} days of this season, not filled")
        return
    bias = bias_of(spare.parsed.days, found.table)
    found.table = joined([found.table, without_bias(spare.parsed.days, bias)])
    season = found.table.between(first, hours_from)
    filled = season.day[season.warmth_from == DayOrigin.ARCHIVE]
    rain = int((season.rain_from == DayOrigin.ARCHIVE).sum())
    if filled.size:
        stretch = of_days("filled", ARCHIVE, season, asker.told_age(spare))
        found.stretches.append(
            replace(
                stretch,
                first=filled[0].astype("datetime64[s]"),
                last=filled[-1].astype("datetime64[s]"),
                count=int(filled.size),
                missing=0,
                fresh=spare.fresh,
                bias=bias.largest,
                level=silo.NAME,
            )
        )
    left = _lacking(found.table, first, hours_from)
    asker.notes.append(
        f"SILO lacks {lacking} days of this season before the hours; filled from the "
        f"{ARCHIVE}: {filled.size} with temperatures, {rain} with rain; lacking "
        f"still: {left}"
    )


def _lacking(table: DaysTable, first: np.datetime64, end: np.datetime64) -> int:
    """Days from ``first`` up to ``end`` of which something is missing."""
    known = int(wholly_known(table.between(first, end)).sum())
    return max(int((end - first) / DAY), 0) - known


def _of_archive(asker: Asker) -> SeasonDays | None:
    """Days of this season and of past years, one request a year.

    The newest year is asked for first: this season's days are needed most.
    """
    first, _ = season_span(asker.place, asker.now)
    year = int(first.astype("datetime64[Y]").astype(int)) + 1970
    newest = int(asker.now.astype("datetime64[Y]").astype(int)) + 1970
    answers = [
        _archive_year(asker, each)
        for each in range(newest, year - asker.entry.years - 1, -1)
    ]
    known = [each for each in answers if each is not None and each.parsed.days]
    if not known:
        return None
    table = joined([each.parsed.days for each in known if each.parsed.days])
    age = min(asker.told_age(each) for each in known)
    return SeasonDays(table, [of_days("past days", ARCHIVE, table, age)])


def _archive_year(asker: Asker, year: int) -> Refreshed | None:
    try:
        request = openmeteo_archive.request(
            asker.place, asker.clock_now, year=year, access=asker.access
        )
    except SourceError:
        return None
    return asker.ask(request, openmeteo_archive.parse)
