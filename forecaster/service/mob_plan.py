"""The arithmetic of one mob in one paddock, for ``forecaster stock``."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from forecaster.domain.planning.mob import (
    Rates,
    days_at_rate,
    days_before,
    days_of_feed,
    stocking,
)
from forecaster.domain.stock_plan import FeedPlan, StockPlan
from forecaster.errors import UsageError
from forecaster.service.after_view import after_view
from forecaster.service.bounds import check_options
from forecaster.service.stock_view import paddock_stock_off, stock_view, today

if TYPE_CHECKING:
    import numpy as np

    from forecaster.service.farm_day import FarmDay
    from forecaster.settings.farm import Paddock

ALLOWED = {
    "dse": (1.0, 500_000.0, "DSE"),
    "feed": (0.0, 20_000.0, "kg DM/ha"),
    "leave": (0.0, 20_000.0, "kg DM/ha"),
    "growth": (0.0, 300.0, "kg DM/ha a day"),
}
"""Lowest and highest of each number that is not a slip of the finger. Assumed."""


@dataclass(frozen=True, slots=True)
class Asked:
    """The numbers of the command line; None: not given.

    Raises
    ------
    UsageError
        If one is out of bounds, or only one of ``feed`` and ``leave`` is there.
    """

    dse: float | None = None
    feed: float | None = None
    leave: float | None = None
    growth: float | None = None

    def __post_init__(self) -> None:
        check_options(self, ALLOWED)
        if (self.feed is None) != (self.leave is None):
            raise UsageError("--feed and --leave go together; give both or neither")
        if self.growth is not None and self.feed is None:
            raise UsageError("--growth needs --feed and --leave")


def mob_plan(day: FarmDay, paddock: Paddock, asked: Asked) -> StockPlan:
    """What a mob does to ``paddock`` before stock-off.

    Raises
    ------
    UsageError
        If feed is asked about and no mob is named or known to be there.
    """
    numbers = day.farm.grazing
    projection = day.growth.projection(paddock.target, paddock)
    off, now = paddock_stock_off(day, paddock, projection), today(day)
    rates = Rates(numbers.stocking_least.value, numbers.stocking_most.value)
    dse = _there(paddock, now) if asked.dse is None else asked.dse
    if dse is None and asked.feed is not None:
        raise UsageError(
            f"no mob is known to be in {paddock.name}; name its size with --dse"
        )
    mob = None if dse is None else stocking(dse, paddock.hectares, rates)
    feed = None
    if mob is not None and asked.feed is not None and asked.leave is not None:
        growth = asked.growth or 0.0
        lasts = days_of_feed(
            asked.feed, asked.leave, growth, mob.rate, numbers.intake.value
        )
        feed = FeedPlan(asked.feed, asked.leave, growth, float(lasts))
    after = after_view(day, paddock)
    known = off.likely if after is None else None
    return StockPlan(
        paddock=paddock.name,
        hectares=paddock.hectares,
        weed_name=projection.weed.name,
        today=now,
        off=off,
        grazing=stock_view(day, paddock, projection),
        least=numbers.stocking_least,
        most=numbers.stocking_most,
        intake=numbers.intake,
        days_left=None if known is None else days_before(known, now),
        days_at_rate=None
        if known is None
        else days_at_rate(paddock.stays, paddock.hectares, known.last, rates),
        mob=mob,
        feed=feed,
        after=after,
    )


def _there(paddock: Paddock, now: np.datetime64) -> float | None:
    """DSE known to be in the paddock today."""
    mobs = [stay.dse for stay in paddock.stays if stay.covers(now)]
    if mobs:
        return sum(mobs)
    still = [each.dse for each in paddock.grazed if each.end is None and each.dse]
    return still[-1] if still else None
