"""A farm's feed: what spraying costs of it, and when it runs short."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.choice.rows import Answer
from forecaster.domain.feed.budget import first_short, growth_by_day
from forecaster.domain.feed.loss import days_of_feed, growth_lost
from forecaster.domain.feed.plan import FeedPlan, PaddockFeed, Short
from forecaster.domain.money.cost import PERCENT, cost_of

if TYPE_CHECKING:
    from forecaster.domain.feed.typed import FeedTyped
    from forecaster.domain.money.cost import Cost
    from forecaster.domain.weather import Floats
    from forecaster.settings.farm import Farm, Paddock

NO_SPRAY = frozenset({Answer.LEAVE, Answer.NO_GO})
"""Answers of the choice whose paddocks a feed plan leaves out."""
LONGEST = 731
"""[d] for which a budget runs at most: two years."""


@dataclass(frozen=True, slots=True)
class FarmFeed:
    """A budget ready to be asked, from today to the end of the growth typed."""

    farm: Farm
    today: np.datetime64
    growth: Floats
    """(days,) [kg DM/ha/d]"""
    on_hand: float
    """[kg DM] over what is to be left."""
    hectares: float
    intake: float
    """[kg DM/DSE/d] eaten and spoilt."""
    dse: float

    @classmethod
    def of(cls, farm: Farm, today: np.datetime64) -> FarmFeed | None:
        """None where a number is missing; :func:`missing` names it."""
        feed = farm.feed
        if missing(farm) or feed.dse is None or feed.until is None:
            return None
        today = today.astype("datetime64[D]")
        length = min(int((feed.until - today) / np.timedelta64(1, "D")), LONGEST)
        starts, rates = zip(*feed.growth, strict=True)
        each = farm.grazing.intake.value if feed.intake is None else feed.intake
        return cls(
            farm=farm,
            today=today,
            growth=growth_by_day(starts, rates, today, length),
            on_hand=_on_hand(farm, feed),
            hectares=feed.other_hectares + sum(one.hectares for one in farm.paddocks),
            intake=each * (1.0 + feed.spoilage),
            dse=feed.dse,
        )

    def short(self, sprayed: float, share: float) -> Short:
        """When it runs short if ``sprayed`` hectares lose ``share`` of their growth."""
        lost = share * sprayed
        if self.growth.size == 0:
            return Short(None, known=False)
        eaten = np.full(self.growth.shape, self.dse * self.intake)
        found = float(
            first_short(self.on_hand, self.growth * (self.hectares - lost), eaten)
        )
        if np.isnan(found):
            return Short(None, known=False)
        return Short(None if np.isinf(found) else self.today + int(found))

    @property
    def shares(self) -> tuple[float, float]:
        """Of growth lost, at the least and the most, from 0 to 1."""
        numbers = self.farm.feed_numbers
        return numbers.least.value / PERCENT, numbers.most.value / PERCENT

    def lost(self, hectares: float) -> tuple[float, float]:
        """Growth lost on an area, in kg DM."""
        grown = float(self.growth.sum())
        least, most = (growth_lost(hectares, grown, each) for each in self.shares)
        return least, most

    def days(self, lost: tuple[float, float]) -> tuple[float, float]:
        """The same in days of feed for all stock."""
        least, most = (days_of_feed(each, self.dse, self.intake) for each in lost)
        return least, most


def missing(farm: Farm) -> tuple[str, ...]:
    """What has to be typed before there is a budget."""
    bare = [one.name for one in farm.paddocks if _offer(farm.feed, one) is None]
    if farm.feed.other_hectares and farm.feed.on_offer is None:
        bare.append("other_hectares")
    offer = [f"on_offer_kg_ha (for {', '.join(bare)})"] if bare else []
    return (*farm.feed.missing, *offer)


def feed_short(budget: FarmFeed | None, paddock: Paddock) -> bool | None:
    """Whether feed runs short soon if this paddock alone is sprayed, at the most.

    None where the budget lacks a number, or growth is not known that far.
    """
    if budget is None:
        return None
    found = budget.short(paddock.hectares, budget.shares[1])
    ahead = int(budget.farm.feed_numbers.ahead.value)
    if found.day is not None:
        return bool(found.day - budget.today <= np.timedelta64(ahead, "D"))
    return False if found.known and budget.growth.size >= ahead else None


def feed_plan(
    farm: Farm, today: np.datetime64, sprayed: tuple[Paddock, ...]
) -> FeedPlan:
    """What spraying ``sprayed`` costs of the farm's feed."""
    budget = FarmFeed.of(farm, today)
    if budget is None:
        return FeedPlan(farm.name, today, farm.feed.until, missing(farm))
    hectares = sum(each.hectares for each in sprayed)
    most = budget.shares[1]
    lost = budget.lost(hectares)
    return FeedPlan(
        farm=farm.name,
        today=budget.today,
        until=farm.feed.until,
        missing=(),
        dse=budget.dse,
        eaten=budget.dse * budget.intake,
        hectares=budget.hectares,
        grown=float(budget.growth.sum()),
        lost=lost,
        days=budget.days(lost),
        unsprayed=budget.short(0.0, most),
        sprayed=budget.short(hectares, most),
        paddocks=tuple(_paddock(budget, each, hectares) for each in sprayed),
        numbers=farm.feed_numbers,
    )


def costs(farm: Farm, paddock: Paddock, budget: FarmFeed | None) -> tuple[Cost, ...]:
    """What each active would cost here, where its price is given."""
    each_hectare = None if budget is None else budget.lost(1.0)
    if each_hectare is not None and np.isnan(each_hectare).any():
        each_hectare = None
    found = (
        cost_of(active, paddock.hectares, each_hectare, farm.prices)
        for active in paddock.actives
    )
    return tuple(each for each in found if each is not None)


def _paddock(budget: FarmFeed, paddock: Paddock, hectares: float) -> PaddockFeed:
    most = budget.shares[1]
    lost = budget.lost(paddock.hectares)
    return PaddockFeed(
        name=paddock.name,
        hectares=paddock.hectares,
        lost=lost,
        days=budget.days(lost),
        alone=budget.short(paddock.hectares, most),
        without=budget.short(hectares - paddock.hectares, most),
        costs=costs(budget.farm, paddock, budget),
    )


def _on_hand(farm: Farm, feed: FeedTyped) -> float:
    leave = feed.leave or 0.0
    there = sum(
        one.hectares * ((_offer(feed, one) or 0.0) - leave) for one in farm.paddocks
    )
    return there + feed.other_hectares * ((feed.on_offer or 0.0) - leave)


def _offer(feed: FeedTyped, paddock: Paddock) -> float | None:
    own = paddock.typed.on_offer
    return feed.on_offer if own is None else own
