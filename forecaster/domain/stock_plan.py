"""What a mob of a given size does to one paddock before stock-off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.outlook import StockView
    from forecaster.domain.planning.mob import Stocking
    from forecaster.domain.planning.stock_off import StockOff
    from forecaster.domain.record.after_spray import AfterSpray
    from forecaster.domain.sourced import Sourced


@dataclass(frozen=True, slots=True)
class FeedPlan:
    """Feed the mob finds, and how long it lasts."""

    on_offer: float
    """[kg DM/ha]"""
    leave: float
    """[kg DM/ha]"""
    growth: float
    """[kg DM/ha/d]"""
    days: float
    """[d] +inf where growth outpaces the mob; NaN unknown."""


@dataclass(frozen=True, slots=True)
class StockPlan:
    """Everything ``forecaster stock`` says."""

    paddock: str
    hectares: float
    weed_name: str
    today: np.datetime64
    off: StockOff
    grazing: StockView | None
    """What the outlook says of stock; None where it says nothing."""
    least: Sourced
    """[DSE/ha]"""
    most: Sourced
    """[DSE/ha]"""
    intake: Sourced
    """[kg DM/DSE/d]"""
    days_left: tuple[int, int] | None
    """[d] to the first and last day of the likely band; None: not known."""
    days_at_rate: int | None
    """[d] up to stock-off at which typed stays stock it within the rate."""
    mob: Stocking | None
    """None: no mob named, and none known to be there."""
    feed: FeedPlan | None
    after: AfterSpray | None = None
    """What stands of a paddock that is sprayed: its stock-off is over."""
