"""What a spray costs, and the share of weed from which it pays."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

PERCENT = 100.0
KG_A_TONNE = 1000.0


@dataclass(frozen=True, slots=True)
class Prices:
    """``[prices]``: all the user's own; None: not given."""

    currency: str = "$"
    spraying: float | None = None
    """A hectare, of one pass."""
    actives: Mapping[str, float] = field(default_factory=dict)
    """A hectare, by active."""
    feed: float | None = None
    """A tonne of dry matter."""
    weed: float | None = None
    """What each per cent of weed in the sward costs a hectare."""
    control: float | None = None
    """[share 0…1] of that which the spray saves."""


@dataclass(frozen=True, slots=True)
class Cost:
    """One active in one paddock."""

    active: str
    spray: float
    """A hectare, pass and active."""
    feed: tuple[float, float] | None
    """A hectare, at the least and the most. None: not priced."""
    total: tuple[float, float]
    """Of the paddock."""
    break_even: tuple[float, float] | None
    """[% of the sward] from which it pays. None: what it needs is not given."""


def cost_of(
    active: str,
    hectares: float,
    lost: tuple[float, float] | None,
    prices: Prices,
) -> Cost | None:
    """What one active costs in a paddock; None where its price is not given.

    Break-even share = cost a hectare ÷ (cost of one per cent of weed × share of it
    saved).

    Parameters
    ----------
    active : str
        Its id.
    hectares : float
        [ha]
    lost : (float, float) or None
        Growth lost, at the least and the most. [kg DM/ha]
    prices : Prices
        The user's own.
    """
    chemical = prices.actives.get(active)
    if prices.spraying is None or chemical is None:
        return None
    spray = prices.spraying + chemical
    feed = None
    if lost is not None and prices.feed is not None:
        least, most = (each * prices.feed / KG_A_TONNE for each in lost)
        feed = (least, most)
    low, high = feed or (0.0, 0.0)
    each_hectare = (spray + low, spray + high)
    return Cost(
        active=active,
        spray=spray,
        feed=feed,
        total=(each_hectare[0] * hectares, each_hectare[1] * hectares),
        break_even=_break_even(each_hectare, prices),
    )


def _break_even(
    each_hectare: tuple[float, float], prices: Prices
) -> tuple[float, float] | None:
    if prices.weed is None or prices.control is None:
        return None
    saved = prices.weed * prices.control
    low, high = (each / saved for each in each_hectare)
    return low, high
