"""In which phase a window is, by the rules of the outlook, with or without slack."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.alerts.records import Phase
from forecaster.domain.planning.windows import LAST_DAYS, NEXT_DAYS, SOON

if TYPE_CHECKING:
    from forecaster.domain.alerts.reading import FarmReading, Reading
    from forecaster.domain.alerts.rules import Rules

_DAY_S = 86_400
_HOUR_S = 3_600


def days(count: float) -> np.timedelta64:
    """A span of days, in seconds."""
    return np.timedelta64(round(count * _DAY_S), "s")


def hours(count: float) -> np.timedelta64:
    """A span of hours, in seconds."""
    return np.timedelta64(round(count * _HOUR_S), "s")


def by(edge: np.datetime64 | None, moment: np.datetime64) -> bool:
    """Whether an edge has been reached; one that is never reached has not."""
    return edge is not None and bool(edge <= moment)


def phase_of(
    reading: Reading, farm: FarmReading, rules: Rules, *, slack_d: float = 0.0
) -> Phase:
    """The phase now; with slack, the furthest that edges so much earlier would give.

    A phase that was told stands until even with slack it is no longer reached.
    """
    now = farm.now + days(slack_d)
    if by(reading.close.likely, now):
        return Phase.CLOSED
    if by(reading.open.likely, now):
        if _closing(reading, now) or few_hours(reading, farm, rules, now=now):
            return Phase.CLOSING
        return Phase.OPEN
    if by(reading.open.likely, now + days(SOON)):
        return Phase.OPENING_SOON
    return Phase.NOT_OPEN


def _closing(reading: Reading, now: np.datetime64) -> bool:
    return by(reading.close_soon, now + days(NEXT_DAYS)) or by(
        reading.close.likely, now + days(LAST_DAYS)
    )


def few_hours(
    reading: Reading, farm: FarmReading, rules: Rules, *, now: np.datetime64
) -> bool:
    """Whether hardly more hours are left than the paddock takes.

    Only where all hours to the close are in sight: what lies beyond the forecast may
    hold any number. With slack in ``now``, twice the spare hours.
    """
    left = reading.hours + reading.look_hours
    spare = rules.spare_hours_h * (1 if now == farm.now else 2)
    return reading.in_sight and bool(left <= reading.needed + spare)


def unknown(reading: Reading) -> bool:
    """Whether a window cannot be told."""
    return bool(reading.fault) or bool(np.isnan(reading.open_now))


def band_d(jitter_d: float, rules: Rules) -> float:
    """How far an edge must move back to count, from its usual movement."""
    wide = max(rules.band_least_d, rules.band_jitters * jitter_d)
    return min(wide, rules.band_most_d)
