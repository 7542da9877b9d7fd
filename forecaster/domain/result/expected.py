"""What was to be expected of a spray, and what may lie behind it when less came."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.control import seedlings_next_year

if TYPE_CHECKING:
    from forecaster.domain.result.reduction import Reduction
    from forecaster.domain.sourced import Sourced

WIDE = 0.5
"""[share of untreated] Limits farther apart than this settle nothing. Assumed."""


class Found(StrEnum):
    """How what was counted lies to what was expected."""

    SHORT = "fell short"
    AS_EXPECTED = "as expected"
    BETTER = "better than expected"
    UNSETTLED = "not settled by these counts"
    UNKNOWN = "unknown"


class Cause(StrEnum):
    """What may have made a spray fall short."""

    STAGE = "stage at the spray"
    UNEVEN = "uneven heads"
    RAIN = "weather in the rain-free hours"
    OLD_SEED = "seed from an older bank"
    RESISTANCE = "resistance"


class Evidence(StrEnum):
    """What speaks for a cause."""

    TOLD = "told"
    """Someone saw it, or a number says so."""
    OPEN = "not known"
    AGAINST = "told that it was not so"


@dataclass(frozen=True, slots=True)
class Expected:
    """Seedlings as a share of untreated, from a range of control and of old seed."""

    control: Sourced
    carry_over: Sourced
    low: float
    value: float
    high: float


@dataclass(frozen=True, slots=True)
class Seen:
    """What the user tells of the day of the spray; None: not told."""

    off_stage: bool | None = None
    """Whether the stage explains it by what trials found there."""
    uneven: bool | None = None
    rain: bool | None = None


@dataclass(frozen=True, slots=True)
class Likely:
    """A cause and what speaks for it."""

    cause: Cause
    evidence: Evidence


def expected(control: Sourced, carry_over: Sourced) -> Expected:
    """Seedlings next year over the ranges of both: (1 − k)(1 − c) + c.

    The fewest come with most control and least old seed.
    """
    shares = seedlings_next_year(
        np.array([control.high, control.value, control.low]),
        np.array([carry_over.low, carry_over.value, carry_over.high]),
    )
    low, value, high = (float(each) for each in shares)
    return Expected(control, carry_over, low, value, high)


def judged(found: Reduction, wanted: Expected | None) -> Found:
    """Hold what was found against what was expected; where limits meet it agrees."""
    if wanted is None or not found.known:
        return Found.UNKNOWN
    if found.low > wanted.high:
        return Found.SHORT
    if found.high < wanted.low:
        return Found.BETTER
    wide = found.high - found.low > WIDE
    return Found.UNSETTLED if wide else Found.AS_EXPECTED


def causes(seen: Seen, found: Reduction, wanted: Expected) -> tuple[Likely, ...]:
    """What may have made it fall short: told first, then not known, then told not.

    Within each the order is that of :class:`Cause`. Resistance comes last whatever
    else is known: counts in a paddock cannot show it, a test of seed or plants can.
    """
    told: dict[Cause, bool | None] = {
        Cause.STAGE: seen.off_stage,
        Cause.UNEVEN: seen.uneven,
        Cause.RAIN: seen.rain,
        Cause.OLD_SEED: _old_seed(found, wanted),
    }
    ranks = {True: Evidence.TOLD, None: Evidence.OPEN, False: Evidence.AGAINST}
    order = list(Evidence)
    listed = [Likely(cause, ranks[said]) for cause, said in told.items()]
    listed.sort(key=lambda each: order.index(each.evidence))
    return (*listed, Likely(Cause.RESISTANCE, Evidence.OPEN))


def carry_over_needed(found: Reduction, wanted: Expected) -> float:
    """Share of old seed that would by itself explain what was found.

    (1 − k)(1 − c) + c = ratio, solved for c with the middle control. [share] NaN where
    no control was expected; above 1 no bank explains it.
    """
    prevented = wanted.control.value
    if prevented == 0.0:
        return float("nan")
    return max(0.0, (found.ratio - (1.0 - prevented)) / prevented)


def _old_seed(found: Reduction, wanted: Expected) -> bool | None:
    """Told where what is needed lies in what is published; never ruled out."""
    needed = carry_over_needed(found, wanted)
    return True if needed <= wanted.carry_over.high else None
