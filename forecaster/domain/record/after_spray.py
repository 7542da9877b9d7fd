"""What stands of a paddock once it is sprayed: stock, feed, heads that escaped."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.stage import Stage
from forecaster.domain.record.keeping import Soaked

if TYPE_CHECKING:
    from forecaster.domain.growth.look import Look
    from forecaster.domain.planning.stock_off import Stay
    from forecaster.domain.record.after import Recorded
    from forecaster.domain.record.keeping import Keeping


LATE = np.timedelta64(21, "D")
"""For so long after its days a second look is still asked for. Assumed: later, heads
that escaped have set their seed."""


class Due(StrEnum):
    """What a sprayed paddock asks for, the first to be told first."""

    STOCK_EARLY = "stock too early"
    LOOK_AGAIN = "look again"
    SOAKED = "soaked"
    GOES_OFF = "goes off"


@dataclass(frozen=True, slots=True)
class Escaped:
    """Heads of one weed counted after the spray."""

    weed_name: str
    day: np.datetime64
    """When they were counted, ``datetime64[D]``, local."""
    late: int
    """[heads] before hard dough: their seed can still be kept from setting."""
    ripe: int
    """[heads] in hard dough or past it."""

    @property
    def heads(self) -> int:
        """All that were counted."""
        return self.late + self.ripe


@dataclass(frozen=True, slots=True)
class AfterSpray:
    """One sprayed paddock; days are ``datetime64[D]``, local."""

    today: np.datetime64
    """From which it is seen."""
    sprayed: np.datetime64
    recorded: Recorded | None
    """What the spray record says of that day; None: only the farm file knows it."""
    not_before: np.datetime64 | None
    """The first day for stock; None: read the label."""
    look_again: tuple[np.datetime64, np.datetime64]
    """First and last day to look for heads that escaped."""
    escaped: tuple[Escaped, ...]
    """The latest count of each weed since; empty: nobody has counted."""
    keeping: Keeping
    earlier: Recorded | None = None
    """What the record says of an earlier day; its days for stock count too."""
    topped: np.datetime64 | None = None
    """From which the feed is counted, an earlier spray's; None: ``sprayed``."""
    looked: bool = False
    """Whether the weed it was timed for was counted since."""
    stays: tuple[Stay, ...] = ()
    """Of mobs in this paddock that are not over."""
    broadleaf: bool = False
    """Whether sprayed capeweed stands in it."""

    @property
    def late_heads(self) -> bool | None:
        """Whether heads that can still be stopped were found; None: not known yet."""
        if any(each.late for each in self.escaped):
            return True
        return False if self.looked else None

    @property
    def too_early(self) -> tuple[Stay, ...]:
        """Stays that begin before the first day for stock, or while it is not known."""
        first = self.not_before
        return tuple(
            each
            for each in self.stays
            if each.end > self.sprayed and (first is None or each.start < first)
        )

    @property
    def may_graze(self) -> bool:
        """Whether the typed days of the label are over."""
        return self.not_before is not None and bool(self.today >= self.not_before)

    @property
    def due(self) -> tuple[Due, ...]:
        """What it asks for today.

        A second look is asked for until somebody counted or it is too late; feed that
        went off is told until the later of its two days is over.
        """
        today, (worse, gone) = self.today, self.keeping.held
        first, last = self.look_again
        soaked = self.keeping.rain.soaked is Soaked.FELL
        asked = {
            Due.STOCK_EARLY: not self.may_graze and bool(self.too_early),
            Due.LOOK_AGAIN: first <= today <= last + LATE and not self.looked,
            Due.SOAKED: soaked and today <= gone,
            Due.GOES_OFF: not soaked and worse <= today <= gone,
        }
        return tuple(each for each in Due if asked[each])


def escaped(look: Look, weed_name: str, day: np.datetime64) -> Escaped:
    """What a count on ``day`` after the spray found.

    Heads that were not told apart from riper ones count as late: to go and act once
    too often costs less than seed.
    """
    ripe = sum(
        count
        for stage, count in look.counts
        if stage is not None and stage >= Stage.HARD_DOUGH
    )
    return Escaped(weed_name, day, look.heads - ripe, ripe)
