"""Alerts over seasons of real temperatures, checked once a day.

Data: daily extremes of Córdoba, Argentina (southern, 1991-2021), packed with aquacrop
3.1.0 (Apache-2.0) as input to its own examples; its origin is not stated there. Each
day of a season is judged on the days up to it, with every other year as what may
follow. Where a window opened and closed in the end is worked out from the whole year.
Hours are not known: the record has no wind.
"""

from __future__ import annotations

import os
from collections import Counter
from dataclasses import dataclass
from importlib.resources import files
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest

from forecaster.domain.alerts.decide import decide
from forecaster.domain.alerts.events import Context
from forecaster.domain.alerts.reading import FarmReading, Reading, Span
from forecaster.domain.alerts.records import Change, Event, Kept, Phase, Rank, WindowKey
from forecaster.domain.growth.belief import Belief
from forecaster.domain.growth.clock import biofix
from forecaster.domain.growth.season import equal_nodes, project
from forecaster.domain.growth.stage_window import window_dates, window_of
from forecaster.domain.place import Place
from forecaster.domain.planning.windows import soonest_close, status_of
from forecaster.domain.weather import Origin, Provenance, WeatherFrame, empty_columns
from forecaster.service.likely import likely
from forecaster.settings.alert_rules import read_alert_rules, rules_of
from forecaster.settings.shipped import config_folder
from forecaster.settings.weeds import load_weeds
from forecaster.sources.days_table import DaysTable
from forecaster.sources.season import ExtremesOfYears, Season, season_span

if TYPE_CHECKING:
    from collections.abc import Callable

    from forecaster.domain.outlook import Likely

DAY = np.timedelta64(1, "D")
CORDOBA = Place(-31.4, -64.2, 430.0, "UTC")
YEARS = range(1993, 2019) if os.environ.get("FORECASTER_BENCH") == "full" else (
    1997, 2003, 2010,
)  # fmt: skip
CONFIG = config_folder()
RULES = rules_of(read_alert_rules(CONFIG / "alerts.toml"), "daily")
WEED = load_weeds(CONFIG / "weeds")["silver_grass"]
NODES = equal_nodes()
KEY = WindowKey(0, "back-road", "silver_grass", "glyphosate")
BREAK_BEFORE_MIDWINTER = np.timedelta64(62, "D")


def record() -> DaysTable:
    """The record as its package ships it."""
    rows = pd.read_csv(
        str(files("aquacrop") / "data" / "cordoba_climate.txt"), sep=r"\s+"
    )
    day = pd.to_datetime(rows[["Year", "Month", "Day"]]).to_numpy("datetime64[D]")
    high, low = rows["Tmax(C)"].to_numpy(float), rows["Tmin(C)"].to_numpy(float)
    return DaysTable(
        day, np.maximum(high, low), np.minimum(high, low),
        rows["Prcp(mm)"].to_numpy(float),
    )  # fmt: skip


@dataclass(frozen=True)
class Sky:
    """One season of the record, as far as it is known on a day."""

    table: DaysTable
    past: ExtremesOfYears
    first: np.datetime64
    days: int
    sure: bool
    """Whether the weed's own numbers are taken for certain: weather alone spreads."""

    def reading(self, now: np.datetime64) -> Reading:
        """The window as it is seen at ``now``; hours are not known."""
        frame = WeatherFrame(
            time=np.array([now]), **empty_columns(1),
            origin=np.full(1, Origin.MISSING, np.uint8),
            provenance=Provenance("a record", "", now), marks={},
        )  # fmt: skip
        season = Season(
            CORDOBA, frame, self.first, self.days, self.past,
            earlier=self.table.between(self.first, now),
        )  # fmt: skip
        belief = Belief.prior(WEED, 1, shift_sd=0.0 if self.sure else None)
        projection = project(
            WEED, season.daily(WEED.base.value, WEED.ceiling.value)[0], self.first,
            biofix(self.first, southern=True) - BREAK_BEFORE_MIDWINTER,
            southern=True, belief=belief,
            nodes=np.zeros(1) if self.sure else NODES,
        )  # fmt: skip
        window = window_of(projection, "translocated")
        day, dates = season.day_of(now), window_dates(window)
        soon = soonest_close(window, day)
        return Reading(
            KEY, "Back Road", "Silver grass", 40.0, 3.0, False,
            _span(likely(dates.open, season)), _span(likely(dates.closed, season)),
            season.moment_of(soon) if np.isfinite(soon) else None,
            status_of(window, day).open_now, (), float("nan"), float("nan"),
        )  # fmt: skip


def _span(edge: Likely) -> Span:
    return Span(edge.early, edge.likely, edge.late)


def season_of(sky: Sky) -> tuple[list[Event], Kept]:
    """A check at ten each morning from midwinter to November."""
    year = str(sky.first)[:4]
    start = np.datetime64(f"{year}-07-01T10:00:00", "s")
    kept, events = Kept(KEY), list[Event]()
    for number in range(130):
        now = start + number * DAY
        farm = FarmReading(
            now, int(year), "record", now, now, now + 7 * DAY, "b"
        )  # fmt: skip
        context = Context(farm, RULES, "here", number, usable=True)
        answer = decide(kept, sky.reading(now), context)
        kept = answer.kept
        events += answer.events
    return events, kept


@pytest.mark.parametrize("sure", [False, True], ids=["no look", "known weed"])
def test_each_season_is_told_as_it_came(
    measured: Callable[[str], None], *, sure: bool
) -> None:
    """Open and closed at the first check after, closing before, few messages.

    Bounds are our own: 4 messages in the median, 6 at most, corrections in 1 of 20.
    """
    table = record()
    past = ExtremesOfYears(table, CORDOBA)
    counts, corrected, leads = [], 0, []
    for year in YEARS:
        first, days = season_span(CORDOBA, np.datetime64(f"{year}-08-01T00:00:00"))
        sky = Sky(table, past, first, days, sure)
        truth = sky.reading(np.datetime64(f"{year}-12-20T00:00:00", "s"))
        events, kept = season_of(sky)
        assert kept.phase is Phase.CLOSED
        made = {each.change: each.made for each in events}
        for change, edge in (
            (Change.OPENED, truth.open.likely),
            (Change.CLOSED, truth.close.likely),
        ):
            assert edge is not None
            assert edge <= made[change] < edge + DAY, (year, change)
        assert truth.close.likely is not None
        assert made[Change.SOON] < made[Change.OPENED]
        leads.append(float((truth.close.likely - made[Change.CLOSING]) / DAY))
        loud = {e.made for e in events if e.rank in {Rank.URGENT, Rank.PUSH}}
        counts.append(len(loud))
        seen = Counter(each.change for each in events)
        corrected += bool(seen[Change.NOT_OPEN_YET] + seen[Change.REOPENED])
    measured(
        f"{len(counts)} seasons of Córdoba, weed known {sure}: messages a window "
        f"{sorted(Counter(counts).items())}, {corrected} corrected; closing told "
        f"{min(leads):.1f} to {max(leads):.1f} days before"
    )
    assert min(leads) > 0
    assert np.median(counts) <= 4
    assert max(counts) <= 6
    assert corrected <= len(counts) / 20
