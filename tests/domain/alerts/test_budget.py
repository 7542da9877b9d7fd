"""How many messages a window leads to, in made-up seasons.

How dates wander is assumed: an error of 0.45 d times the root of the days ahead that
fades from forecast to forecast, and a tremble of its own in each (AR(1) with 0.9).
There is no published count to compare with; the bounds are our own.
"""

from __future__ import annotations

import os
from collections import Counter
from dataclasses import replace
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

WINDOWS = 1000 if os.environ.get("FORECASTER_BENCH") == "full" else 40
START = np.datetime64("2026-09-20T00:00:00", "s")
OPENS, CLOSES, ENDS = 12.0, 22.0, 24.0
"""[d] from the start."""


def season(dice: np.random.Generator, tremble: float, every_h: int) -> list[Event]:
    """The events of one window, checked every so many hours."""
    rules = replace(RULES, period_h=float(every_h))
    kept, events = Kept(KEY), list[Event]()
    wander = dice.normal(size=2)
    edges = np.array([OPENS, CLOSES])
    seen = edges
    for hour in range(0, int(ENDS * 24), every_h):
        day = hour / 24
        if hour % 6 == 0:
            wander = 0.9 * wander + np.sqrt(1 - 0.81) * dice.normal(size=2)
            ahead = np.maximum(edges - day, 0.0)
            shake = tremble * dice.normal(size=2) * (ahead > 0)
            seen = edges + 0.45 * np.sqrt(ahead) * wander + shake
        now = START + h(hour)
        farm = FarmReading(
            now, 2026, "one", START + h(hour - hour % 6), now, now + d(7), "b"
        )
        answer = decide(
            kept, _reading(now, seen), Context(farm, rules, "here", 1, usable=True)
        )
        kept = answer.kept
        events += answer.events
    return events


def _reading(now: np.datetime64, edges: Floats) -> Reading:
    opens, closes = (START + d(float(edge)) for edge in edges)
    block = GoodBlock(now + h(1), now + h(7), 225.0, 4.0, 0.7)
    return Reading(
        KEY, "Back Road", "Silver grass", 40.0, 3.0, False, Span(opens, opens, opens),
        Span(closes, closes, closes), closes, 1.0,
        (block,) if block.end < closes else (), 20.0, 20.0, in_sight=True,
    )  # fmt: skip


@pytest.mark.parametrize("every_h", [1, 24])
@pytest.mark.parametrize("tremble", [0.15, 0.35])
def test_messages_of_a_window(
    tremble: float, every_h: int, measured: Callable[[str], None]
) -> None:
    """At most 4 pushes in the median, 6 in 99 of 100; corrections 1 in 20."""
    dice = np.random.default_rng(20261004)
    pushes, corrections, closed = [], 0, 0
    for _ in range(WINDOWS):
        events = season(dice, tremble, every_h)
        told = [each for each in events if each.rank in {Rank.PUSH, Rank.URGENT}]
        # Steps of one check are one message.
        pushes.append(len({(each.made, each.rank) for each in told}))
        seen = Counter(each.change for each in events)
        corrections += bool(seen[Change.NOT_OPEN_YET] + seen[Change.REOPENED])
        closed += seen[Change.CLOSED] > 0
    counts = ", ".join(f"{n} {times} x" for n, times in sorted(Counter(pushes).items()))
    measured(
        f"tremble {tremble} d, checked every {every_h} h: messages a window {counts}; "
        f"{corrections} of {WINDOWS} corrected"
    )
    assert closed == WINDOWS
    assert np.median(pushes) <= 4
    assert np.quantile(pushes, 0.99) <= 6
    assert corrections <= WINDOWS / 20
