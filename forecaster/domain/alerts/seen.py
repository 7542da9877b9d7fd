"""What is believed of a step forward: observed hours count for more than others."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.alerts.phases import by, hours, phase_of
from forecaster.domain.alerts.ranks import STEPS
from forecaster.domain.alerts.records import Change, Phase

if TYPE_CHECKING:
    from forecaster.domain.alerts.reading import FarmReading, Reading
    from forecaster.domain.alerts.rules import Rules


def as_seen(
    target: Phase, reading: Reading, farm: FarmReading, rules: Rules
) -> tuple[Phase, Change]:
    """The phase that is believed of one that the dates give, and the step's name.

    A close is believed once observed hours reach it; where none do for as long as
    weather may age, it is presumed.
    """
    if target is Phase.CLOSED and not _reached(reading.close.likely, farm):
        if by(reading.close.likely, farm.now - hours(rules.stale_h)):
            return target, Change.PRESUMED_CLOSED
        target = Phase.CLOSING
    if target is Phase.OPEN and not _reached(reading.open.likely, farm):
        return target, Change.OPENED_ON_FORECAST
    if target is Phase.CLOSING and not _by_date(reading, farm, rules):
        return target, Change.FEW_HOURS
    return target, STEPS[target]


def _reached(edge: np.datetime64 | None, farm: FarmReading) -> bool:
    return farm.seen_until is not None and by(edge, farm.seen_until)


def _by_date(reading: Reading, farm: FarmReading, rules: Rules) -> bool:
    """Whether the window is closing by its dates, not for want of hours."""
    plenty = replace(reading, hours=np.inf)
    return phase_of(plenty, farm, rules).rank >= Phase.CLOSING.rank
