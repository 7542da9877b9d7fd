"""Past-year traces on long real records: honest bands, and better than the calendar.

Data: daily extremes of Córdoba, Argentina (southern, 1991-2021) and of Cambridge,
England (1991-2021), packed with aquacrop 3.1.0 (Apache-2.0) as input to its own
examples; their origin is not stated there. Each year in turn is left out: its days are
known up to a date, and every other year is a trace from then on.
"""

from __future__ import annotations

from importlib.resources import files
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pandas as pd
import pytest

from forecaster.domain.place import Place
from forecaster.domain.weather import Origin, Provenance, WeatherFrame, empty_columns
from forecaster.sources.days_table import DaysTable
from forecaster.sources.season import ExtremesOfYears, Season, season_span

if TYPE_CHECKING:
    from forecaster.domain.weather import Floats

DAY = np.timedelta64(1, "D")


class Record(NamedTuple):
    """A long daily record and the sum to project on it."""

    file: str
    place: Place
    biofix: str
    stand_at: str
    total: float


CORDOBA = Record(
    "cordoba_climate.txt", Place(-31.4, -64.2, 430.0, "UTC"), "07-01", "08-15", 1100.0
)
CAMBRIDGE = Record(
    "cambridge_climate.txt", Place(52.2, 0.1, 10.0, "UTC"), "01-01", "03-15", 900.0
)


class Skill(NamedTuple):
    """Over all left-out years."""

    covered: float
    error: float
    calendar_error: float
    years: int


def days_of(record: Record) -> DaysTable:
    """The record as its package ships it."""
    path = files("aquacrop") / "data" / record.file
    rows = pd.read_csv(str(path), sep=r"\s+")
    day = pd.to_datetime(rows[["Year", "Month", "Day"]]).to_numpy("datetime64[D]")
    assert (np.diff(day) == DAY).all()
    high, low = rows["Tmax(C)"].to_numpy(float), rows["Tmin(C)"].to_numpy(float)
    return DaysTable(
        day,
        np.maximum(high, low),
        np.minimum(high, low),
        rows["Prcp(mm)"].to_numpy(float),
    )


def part(table: DaysTable, days: np.ndarray) -> DaysTable:
    """Some days of a record."""
    columns = (table.day, table.tmax, table.tmin, table.rain)
    return DaysTable(*(column[days].copy() for column in columns))


def no_hours(at: np.datetime64) -> WeatherFrame:
    """A table of one missing hour: everything known is in the days."""
    return WeatherFrame(
        time=np.array([at], "datetime64[s]"),
        **empty_columns(1),
        origin=np.full(1, Origin.MISSING, np.uint8),
        provenance=Provenance("a test", "none", at.astype("datetime64[s]")),
        marks={},
    )


def crossing(daily: Floats, start: int, total: float) -> Floats:
    """Day number at which each trace's sum from ``start`` reaches ``total``."""
    sums = np.cumsum(daily[:, start:], axis=1)
    assert (sums[:, -1] > total).all()
    reached: Floats = start + np.argmax(sums >= total, axis=1) + 1.0
    return reached


def skill(record: Record) -> Skill:
    """Leave each whole season out in turn."""
    table = days_of(record)
    years = np.unique(table.day.astype("datetime64[Y]").astype(int)) + 1970
    past = ExtremesOfYears(table, record.place)
    truths, bands = [], []
    for year in years[1:-1].tolist():
        now = np.datetime64(f"{year}-{record.stand_at}", "s")
        first, days = season_span(record.place, now)
        start = int((np.datetime64(f"{year}-{record.biofix}") - first) / DAY)
        this_year = (table.day >= first) & (table.day < first + days * DAY)
        known = this_year & (table.day < now.astype("datetime64[D]"))
        season = Season(
            record.place, no_hours(now), first, days, past, earlier=part(table, known)
        )
        whole = Season(
            record.place, no_hours(now), first, days, None,
            earlier=part(table, this_year),
        )  # fmt: skip
        projected = crossing(season.daily(0.0, 26.0)[0], start, record.total)
        (truth,) = crossing(whole.daily(0.0, 26.0)[0], start, record.total)
        truths.append(truth)
        bands.append(np.quantile(projected, (0.1, 0.5, 0.9)))
    truth_days, band = np.array(truths), np.array(bands)
    covered = (band[:, 0] <= truth_days) & (truth_days <= band[:, 2])
    others = (truth_days.sum() - truth_days) / (truth_days.size - 1)
    return Skill(
        float(covered.mean()),
        float(np.abs(band[:, 1] - truth_days).mean()),
        float(np.abs(others - truth_days).mean()),
        truth_days.size,
    )


@pytest.mark.parametrize(
    ("record", "stand_at"),
    [
        *((CORDOBA, at) for at in ("07-15", "08-15", "09-01")),
        *((CAMBRIDGE, at) for at in ("02-15", "03-15", "04-01")),
    ],
)
def test_bands_cover_the_years_left_out(record: Record, stand_at: str) -> None:
    """The 10-90 % band holds 75 to 90 % of years; its middle beats the mean date."""
    found = skill(record._replace(stand_at=stand_at))
    assert found.years >= 28
    assert 0.75 <= found.covered <= 0.90
    assert found.error <= found.calendar_error
