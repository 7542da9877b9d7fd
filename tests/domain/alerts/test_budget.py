"""How many messages a window leads to, in made-up seasons.

How dates wander is assumed: an error of 0.45 d times the root of the days ahead that
fades from forecast to forecast, and a tremble of its own in each (AR(1) with 0.9).
Forecasts come every six hours. There is no published count to compare with; the
bounds are our own. ``FORECASTER_BENCH=full`` looks at a thousand windows of each kind.
"""

from __future__ import annotations

import os
from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from scene import KEY, RULES, d, h

from forecaster.domain.alerts.decide import decide
from forecaster.domain.alerts.events import Context
from forecaster.domain.alerts.reading import FarmReading, GoodBlock, Reading, Span
from forecaster.domain.alerts.records import Change, Event, Kept, Rank

if TYPE_CHECKING:
    from collections.abc import Callable

    from forecaster.domain.weather import Floats

WINDOWS = 1000 if os.environ.get("FORECASTER_BENCH") == "full" else 25
START = np.datetime64("2026-09-20T00:00:00", "s")
OPENS, CLOSES, ENDS = 9.0, 16.0, 18.0
"""[d] from the start: a window of a week."""
SKIES = {
    "always": (1.0, 0.0),
    "spells": (0.9, 0.1),
    "toss": (0.5, 0.5),
}
"""Chance of good hours in a forecast after one with and one without: to the very end,
in spells of some days, or tossed anew for each forecast, which is as bad as can be."""


@dataclass(frozen=True)
class Year:
    """How a season goes."""

    tremble: float
    every_h: int
    sky: str


def season(dice: np.random.Generator, year: Year) -> list[Event]:
    """The events of one window, checked every so many hours."""
    rules = replace(RULES, period_h=float(year.every_h))
    kept, events, found = Kept(KEY), list[Event](), -99
    wander = dice.normal(size=2)
    edges = np.array([OPENS, CLOSES])
    seen, good = edges, True
    for hour in range(0, int(ENDS * 24), year.every_h):
        day = hour / 24
        if hour % 6 == 0:
            wander = 0.9 * wander + np.sqrt(1 - 0.81) * dice.normal(size=2)
            ahead = np.maximum(edges - day, 0.0)
            shake = year.tremble * dice.normal(size=2) * (ahead > 0)
            seen = edges + 0.45 * np.sqrt(ahead) * wander + shake
            good = bool(dice.random() < SKIES[year.sky][0 if good else 1])
        now = START + h(hour)
        farm = FarmReading(
            now, 2026, "one", START + h(hour - hour % 6), now, now + d(7), "b"
        )
        context = Context(
            farm, rules, "here", 1, usable=True,
            hours_told=hour - found < rules.hours_every_h,
        )  # fmt: skip
        answer = decide(kept, _reading(now, seen, good=good), context)
        kept = answer.kept
        events += answer.events
        if any(each.change is Change.HOURS_FOUND for each in answer.events):
            found = hour
    return events


def _reading(now: np.datetime64, edges: Floats, *, good: bool) -> Reading:
    opens, closes = (START + d(float(edge)) for edge in edges)
    end = min(now + h(6), closes)
    blocks = (GoodBlock(now, end, 225.0, 4.0, 0.7),) if good and end > now else ()
    return Reading(
        KEY, "Back Road", "Silver grass", 40.0, 3.0, False, Span(opens, opens, opens),
        Span(closes, closes, closes), closes, 1.0, blocks, 20.0, 20.0, in_sight=True,
    )  # fmt: skip


def _loud(events: list[Event]) -> int:
    """Pushes and urgent messages; steps of one check are one."""
    told = [each for each in events if each.rank in {Rank.PUSH, Rank.URGENT}]
    return len({(each.made, each.rank) for each in told})


@pytest.mark.parametrize(
    ("year", "above"),
    [
        (Year(0.15, 1, "always"), 0),
        (Year(0.35, 1, "always"), 0),
        (Year(0.35, 1, "spells"), 0),
        (Year(0.35, 1, "toss"), 1),
        (Year(0.15, 24, "always"), 0),
        (Year(0.35, 24, "spells"), 0),
    ],
    ids=str,
)
def test_messages_of_a_window(
    year: Year, above: int, measured: Callable[[str], None]
) -> None:
    """At most 4 in the median, 6 in 99 of 100; corrections in 1 window of 20.

    Hours that come and go with each forecast may cost one message more.
    """
    dice = np.random.default_rng(20261004)
    counts, corrected = [], 0
    for _ in range(WINDOWS):
        events = season(dice, year)
        seen = Counter(each.change for each in events)
        assert seen[Change.OPENED] >= 1
        assert seen[Change.CLOSED] >= 1
        assert len({each.key for each in events}) == len(events)
        counts.append(_loud(events))
        corrected += bool(seen[Change.NOT_OPEN_YET] + seen[Change.REOPENED])
    listed = ", ".join(f"{n} {times} x" for n, times in sorted(Counter(counts).items()))
    measured(
        f"{year}: messages a window {listed}; median {np.median(counts):g}, "
        f"99 in 100 at most {np.quantile(counts, 0.99):.0f}; "
        f"{corrected} of {WINDOWS} corrected"
    )
    assert np.median(counts) <= 4 + above
    assert np.quantile(counts, 0.99) <= 6 + above
    assert corrected <= WINDOWS / 20


def test_without_a_dead_band_or_a_second_forecast_it_would_be_more() -> None:
    """The test itself: the bounds are not met by any rule whatever."""
    naive = replace(RULES, band_least_d=0.0, band_most_d=0.0, votes=1)
    year = Year(0.35, 1, "always")
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(globals(), "RULES", naive)
        dice = np.random.default_rng(20261004)
        counts = [_loud(season(dice, year)) for _ in range(8)]
    assert np.median(counts) > 4
