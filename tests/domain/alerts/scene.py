"""A made-up window and check, to be changed where a test needs it otherwise."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from forecaster.domain.alerts.decide import decide
from forecaster.domain.alerts.events import Context, Decision
from forecaster.domain.alerts.reading import FarmReading, GoodBlock, Reading, Span
from forecaster.domain.alerts.records import Change, Event, Kept, Phase, WindowKey
from forecaster.domain.alerts.rules import Rules

RULES = Rules(
    band_least_d=0.5, band_most_d=1.5, band_jitters=3, votes=2, wait_at_most_h=6,
    moved_d=1, moved_every_h=24, hours_every_h=12, spare_hours_h=2, ageing_h=12,
    stale_h=30, stale_every_h=24, clock_back_s=300, clock_off_s=600, off_periods=2,
    urgent_late_min=30, votes_span_h=12, period_h=1,
)  # fmt: skip
NOW = np.datetime64("2026-10-12T00:00:00", "s")
KEY = WindowKey(2026, "back-road", "silver_grass", "glyphosate")


def d(days: float) -> np.timedelta64:
    """Days, in seconds."""
    return np.timedelta64(round(days * 86_400), "s")


def h(hours: float) -> np.timedelta64:
    """Hours, in seconds."""
    return d(hours / 24)


def farm(now: np.datetime64 = NOW, **other: Any) -> FarmReading:
    """A farm with an hour-old forecast of a week and all hours seen."""
    plain = FarmReading(
        now=now, season=2026, source="one", issued=now - h(1), seen_until=now,
        horizon=now + d(7), basis="b",
    )  # fmt: skip
    return replace(plain, **other)


def reading(
    opens: float | None, closes: float | None, at: np.datetime64 = NOW, **other: Any
) -> Reading:
    """A window that opens and closes so many days after ``at``."""
    start, end = (None if x is None else at + d(x) for x in (opens, closes))
    first = GoodBlock(at + d(1), at + d(1) + h(6), 225.0, 4.0, 0.7)
    plain = Reading(
        key=KEY, paddock="Back Road", weed="Silver grass", hectares=40.0, needed=3.0,
        sprayed=False, open=Span(start, start, start), close=Span(end, end, end),
        close_soon=end, open_now=1.0, blocks=(first,), hours=20.0, look_hours=20.0,
        in_sight=True,
    )  # fmt: skip
    return replace(plain, **other)


def context(seen: FarmReading | None = None, **other: Any) -> Context:
    """A check."""
    plain = Context(seen or farm(), RULES, "here", 7, usable=True)
    return replace(plain, **other)


def kept(phase: Phase, **other: Any) -> Kept:
    """A window as the last check left it."""
    return replace(Kept(KEY, phase=phase, source="one", basis="b"), **other)


def changes(decision: Decision) -> list[Change]:
    """What happened."""
    return [each.change for each in decision.events]


@dataclass
class Watch:
    """One window over many checks, an hour apart, each on a newer forecast."""

    rules: Rules = RULES
    state: Kept = field(default_factory=lambda: Kept(KEY))
    events: list[Event] = field(default_factory=list)

    def check(self, now: np.datetime64, seen: Reading, **of_farm: Any) -> Decision:
        """One check; the farm's answer may be changed."""
        here = Context(farm(now, **of_farm), self.rules, "here", 7, usable=True)
        decision = decide(self.state, seen, here)
        self.state = decision.kept
        self.events += decision.events
        return decision
