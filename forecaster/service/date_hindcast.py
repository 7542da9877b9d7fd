"""Past seasons projected as if they lay ahead: the weather's share of a date's error.

Each past year in turn is left out. Its days are known up to some weeks before half the
heads were out by the same model, and every other year is a trace from then on. How far
a weed's own numbers are from a paddock's is no part of this; only looks can tell.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.belief import Belief
from forecaster.domain.growth.clock import biofix
from forecaster.domain.growth.season import project
from forecaster.domain.growth.stage import Stage
from forecaster.domain.verification.dates import DateErrors, date_errors
from forecaster.domain.weather import Origin, Provenance, WeatherFrame, empty_columns
from forecaster.sources.season import DAY, ExtremesOfYears, Season, season_span

if TYPE_CHECKING:
    from forecaster.domain.growth.season import Projection
    from forecaster.domain.growth.weed import Weed
    from forecaster.domain.place import Place
    from forecaster.domain.weather import Floats
    from forecaster.sources.days_table import DaysTable

LEADS = (7.0, 14.0, 28.0, 56.0)
"""[d] before half the heads were out."""
BREAK_BEFORE_MIDWINTER = np.timedelta64(62, "D")
"""The same break in every year, early May in the south: it is not what is tested."""


def date_hindcast(table: DaysTable, place: Place, weed: Weed) -> DateErrors | None:
    """Errors of the date half the heads are out, by lead; None with under three years.

    ``covered`` is the share of dates between early and late.
    """
    past = ExtremesOfYears(table, place)
    rows: list[tuple[float, float, float, float, float]] = []
    for first, days in _seasons(table, place):
        whole = _season(table, place, (first, days), first + days * DAY)
        truth = _heading(whole, weed)[1]
        if not np.isfinite(truth):
            continue
        for lead in LEADS:
            now = first + np.timedelta64(int(truth - lead), "D")
            season = _season(table, place, (first, days), now, past=past)
            early, likely, late = _heading(season, weed)
            rows.append((early, likely, late, truth, lead))
    if len(rows) < 3 * len(LEADS):
        return None
    early, likely, late, happened, lead = np.array(rows).T
    edges = np.array([0.0, *(np.array(LEADS[:-1]) + np.array(LEADS[1:])) / 2, 1e3])
    return date_errors(likely, happened, lead, edges, between=(early, late))


def _seasons(table: DaysTable, place: Place) -> list[tuple[np.datetime64, int]]:
    """Seasons the table covers from midwinter to their end."""
    years = np.unique(table.day.astype("datetime64[Y]"))
    spans = [season_span(place, year.astype("datetime64[s]")) for year in years]
    return [
        (first, days)
        for first, days in dict(spans).items()
        if table.day[0] <= biofix(first, southern=place.latitude < 0) - 2 * DAY
        and table.day[-1] >= first + (days - 1) * DAY
    ]


def _season(
    table: DaysTable,
    place: Place,
    span: tuple[np.datetime64, int],
    now: np.datetime64,
    *,
    past: ExtremesOfYears | None = None,
) -> Season:
    """A season of which the days up to ``now`` are known."""
    earlier = table.between(span[0], now)
    return Season(place, _no_hours(now), *span, past, earlier=earlier)


def _no_hours(now: np.datetime64) -> WeatherFrame:
    """One missing hour: all that is known is in the days."""
    moment = now.astype("datetime64[s]")
    return WeatherFrame(
        time=np.array([moment]),
        **empty_columns(1),
        origin=np.full(1, Origin.MISSING, np.uint8),
        provenance=Provenance("past years", "", moment),
        marks={},
    )


def _heading(season: Season, weed: Weed) -> tuple[float, float, float]:
    """Early, likely and late day half the heads are out, the weather's spread alone."""
    projection: Projection = project(
        weed,
        season.daily(weed.base.value, weed.ceiling.value)[0],
        season.first_day,
        biofix(season.first_day, southern=season.southern) - BREAK_BEFORE_MIDWINTER,
        southern=season.southern,
        belief=Belief.prior(weed, 1, shift_sd=0.0),
        nodes=_ONE,
    )
    dates = projection.stage_dates((Stage.HEADING,))
    return tuple(float(edge[0]) for edge in dates)  # type: ignore[return-value]  # three edges


_ONE: Floats = np.zeros(1)
"""One node: no error of the weed's own numbers."""
