"""What grazing does to the heads of a paddock: how much later, how much less even.

None of the amounts was measured on these weeds; ``config/grazing.toml`` says so beside
each. A count of heads overrides them all.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.season import stages_now
from forecaster.domain.growth.stage import Stage

if TYPE_CHECKING:
    from forecaster.domain.growth.clock import Clock
    from forecaster.domain.growth.season import Projection
    from forecaster.domain.sourced import Sourced


class How(StrEnum):
    """How a paddock was grazed, as a person at the gate saw it."""

    HARD = "hard"
    PATCHY = "patchy"
    LAX = "lax"


class GrazingCase(StrEnum):
    """What a grazing amounts to for the heads."""

    NONE = "no grazing typed"
    EVEN = "hard, and off before the first heads"
    LATE = "hard, into early head emergence"
    UNEVEN = "patchy or lax"
    SPELLED = "spelled since winter"
    UNKNOWN = "cannot be told"


@dataclass(frozen=True, slots=True)
class Grazed:
    """One grazing of a paddock, both days included."""

    how: How
    start: np.datetime64
    """First day, ``datetime64[D]``."""
    end: np.datetime64 | None
    """Last day, ``datetime64[D]``; None: stock are still on."""
    dse: float | None = None
    """The mob, in dry sheep equivalents."""


@dataclass(frozen=True, slots=True)
class Change:
    """An effect on the heads."""

    spread: Sourced
    """[factor] on the standard deviation between heads."""
    later: Sourced
    """[degC d] that heading comes later."""


@dataclass(frozen=True, slots=True)
class GrazingNumbers:
    """Everything assumed of grazing; every number carries its source."""

    even: Change
    late: Change
    uneven: Change
    first_heads: Sourced
    """[share] of heads out from which hard grazing is late."""
    spelled: Sourced
    """[d] before half the heads are out, beyond which a grazing does nothing."""
    spell_shortest: Sourced
    """[d]"""
    spell_longest: Sourced
    """[d]"""
    stocking_least: Sourced
    """[DSE/ha]"""
    stocking_most: Sourced
    """[DSE/ha]"""
    intake: Sourced
    """[kg DM/DSE/d]"""


@dataclass(frozen=True, slots=True)
class GrazingEffect:
    """What the grazing of a paddock does to one weed's heads."""

    case: GrazingCase = GrazingCase.NONE
    change: Change | None = None
    """The numbers it rests on; None where nothing changes."""
    grazed: Grazed | None = None
    """The grazing that decides."""

    @property
    def shift(self) -> float:
        """How much later heading comes, in °C d."""
        return 0.0 if self.change is None else self.change.later.value

    @property
    def spread(self) -> float:
        """Factor on the standard deviation between heads."""
        return 1.0 if self.change is None else self.change.spread.value


NO_EFFECT = GrazingEffect()


def effect_of(
    grazings: tuple[Grazed, ...],
    projection: Projection,
    today: float,
    numbers: GrazingNumbers,
) -> GrazingEffect:
    """What the grazing of one paddock does to one weed's heads.

    The grazing that ended last decides; stock still on graze until today. Which of
    the hard cases it is follows from the likely share of heads out as it ended.

    Parameters
    ----------
    grazings : tuple of Grazed
        Of the paddock, in any order.
    projection : Projection
        The weed in this one paddock, as it would be without any grazing.
    today : float
        Now, in days from the projection's first day.
    numbers : GrazingNumbers
        What is assumed.

    Returns
    -------
    GrazingEffect
        ``UNKNOWN``, changing nothing, where the heads on its last day cannot be told.
    """
    if not grazings:
        return NO_EFFECT
    last = max(
        grazings, key=lambda each: (_end(each, projection.clock, today), each.start)
    )
    end = _end(last, projection.clock, today)
    out = float(stages_now(projection, end).past.likely.ravel()[0])
    case = _case(last.how, out, _gap(projection, end), numbers)
    change = {
        GrazingCase.EVEN: numbers.even,
        GrazingCase.LATE: numbers.late,
        GrazingCase.UNEVEN: numbers.uneven,
    }.get(case)
    return GrazingEffect(case, change, last)


def _case(how: How, out: float, gap: float, numbers: GrazingNumbers) -> GrazingCase:
    if np.isnan(out) or np.isnan(gap):
        return GrazingCase.UNKNOWN
    if gap > numbers.spelled.value:
        return GrazingCase.SPELLED
    if how is not How.HARD:
        return GrazingCase.UNEVEN
    late = out >= numbers.first_heads.value
    return GrazingCase.LATE if late else GrazingCase.EVEN


def _end(grazed: Grazed, clock: Clock, today: float) -> float:
    """Day number of the end of the last day, or today."""
    if grazed.end is None:
        return today
    past = (grazed.end - clock.first_day) / np.timedelta64(1, "D")
    return min(max(float(past) + 1.0, 0.0), today)


def _gap(projection: Projection, end: float) -> float:
    """Days from ``end`` to likely heading, or the least it can be if not reached."""
    heading = projection.stage_dates((Stage.HEADING,)).likely.ravel()[0]
    return float(np.minimum(heading, projection.clock.days)) - end
