"""What a mob of a given size does to a paddock before stock-off.

DSE: dry sheep equivalent, the feed one dry sheep needs. DM: dry matter.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from forecaster.domain.planning.stock_off import Band, Stay
    from forecaster.domain.weather import Floats

DAY = np.timedelta64(1, "D")


class Rates(NamedTuple):
    """The stocking that evens heads out, in DSE/ha."""

    least: float
    most: float


class Fit(StrEnum):
    """How a mob's stocking compares with the rate that evens heads out."""

    FEW = "too few for the whole paddock"
    WITHIN = "within the rate"
    MANY = "more than the rate needs"


@dataclass(frozen=True, slots=True)
class Stocking:
    """A mob on a whole paddock."""

    dse: float
    hectares: float
    rate: float
    """[DSE/ha]"""
    fit: Fit
    holds: tuple[float, float]
    """[ha] the mob stocks at the most and at the least of the rate."""
    share: tuple[float, float]
    """[share] of the days for each hectare if it is moved around the paddock."""


def stocking(dse: float, hectares: float, rates: Rates) -> Stocking:
    """How a mob stocks a paddock.

    Parameters
    ----------
    dse : float
        Size of the mob, above 0. [DSE]
    hectares : float
        Area of the paddock, above 0. [ha]
    rates : Rates
        The stocking that evens heads out. [DSE/ha]
    """
    rate = dse / hectares
    if rate < rates.least:
        fit, share = Fit.FEW, (rate / rates.most, rate / rates.least)
    else:
        fit = Fit.MANY if rate > rates.most else Fit.WITHIN
        share = (1.0, 1.0)
    holds = (dse / rates.most, dse / rates.least)
    return Stocking(dse, hectares, rate, fit, holds, share)


def days_before(band: Band, today: np.datetime64) -> tuple[int, int]:
    """Days from ``today`` to the first and to the last day of a band, 0 if past."""
    first, last = (max(int((edge - today) / DAY), 0) for edge in band)
    return first, last


def days_of_feed(
    feed: npt.ArrayLike,
    leave: npt.ArrayLike,
    growth: npt.ArrayLike,
    rate: npt.ArrayLike,
    intake: npt.ArrayLike,
) -> Floats:
    """Days until a mob has eaten a paddock down: (feed − leave) / (eaten − grown).

    Parameters
    ----------
    feed, leave : array
        Feed on offer now and to be left. [kg DM/ha]
    growth : array
        What grows meanwhile. [kg DM/ha/d]
    rate : array
        Stocking. [DSE/ha]
    intake : array
        What one eats. [kg DM/DSE/d]

    Returns
    -------
    array
        [d] Never negative; 0 where less is there than is to be left; +inf where growth
        outpaces the mob; NaN where any input is.
    """
    there, left, grown, stocked, eaten = (
        np.asarray(each, dtype=np.float64)
        for each in (feed, leave, growth, rate, intake)
    )
    spare, loss = there - left, stocked * eaten - grown
    unknown = np.isnan(spare) | np.isnan(loss)
    outpaced = loss <= 0
    days = np.where(outpaced, math.inf, spare / np.where(outpaced, 1.0, loss))
    days = np.where(spare < 0, 0.0, days)
    return np.where(unknown, math.nan, days)


def days_at_rate(
    stays: tuple[Stay, ...], hectares: float, last: np.datetime64, rates: Rates
) -> int:
    """Days up to ``last`` on which the mobs together stock a paddock within the rate.

    Parameters
    ----------
    stays : tuple of Stay
        Of mobs in this paddock, past and planned; mobs there together add up.
    hectares : float
        Its area. [ha]
    last : datetime64[D]
        Last day that counts.
    rates : Rates
        The stocking that evens heads out. [DSE/ha]
    """
    if not stays:
        return 0
    begun = min(stay.start for stay in stays)
    days = np.arange(begun, last + DAY) if begun <= last else np.empty(0, begun.dtype)
    dse = np.zeros(days.size)
    for stay in stays:
        dse += np.where((stay.start <= days) & (days <= stay.end), stay.dse, 0.0)
    rate = dse / hectares
    return int(((rate >= rates.least) & (rate <= rates.most)).sum())
