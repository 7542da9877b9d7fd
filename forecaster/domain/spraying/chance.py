"""The chance that an hour keeps within the label.

Two ways. With an ensemble it is the share of members in which every confirmed label
limit holds. Without one, each limit's margin is set against an error that grows with
lead time. Advice has no part in it: a chance is about the label.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.heads import normal_share
from forecaster.domain.spraying.hours import Why
from forecaster.domain.spraying.limits import Quantity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.domain.spraying.hours import Judgement
    from forecaster.domain.spraying.limits import Limit
    from forecaster.domain.weather import Bools, Floats

LEAD_DAYS = (1.0, 3.0, 5.0, 7.0)
ERROR_GROWTH = (1.0, 1.2, 1.5, 1.8)
"""Error of a forecast at each of :data:`LEAD_DAYS`, over that of day 1.

Assumed: the wind errors we work with until our own are measured are 5, 6, 7.5 and
9 km/h. No published errors by lead were found for hourly wind in southern Australia.
"""
SMALLEST_MEMBERS = 5
"""Fewer known members than this tell no chance. Assumed."""

_SAME_AIR = {
    Quantity.WIND_2M: Quantity.WIND_10M,
    Quantity.RAIN_CHANCE_AHEAD: Quantity.RAIN_FREE_HOURS,
}
"""Quantities that are two readings of one thing."""


def of_label(limits: Sequence[Limit]) -> tuple[Limit, ...]:
    """The limits the chance is about: law or label, confirmed."""
    return tuple(each for each in limits if each.of_label)


def share_of_members(judgement: Judgement) -> Floats:
    """Share of members (members, …, hours) in which every label limit holds.

    Returns
    -------
    (hours,) array
        [share 0…1]; NaN where fewer than five members are known.
    """
    holds, known = members_holding(judgement)
    count = known.sum(axis=0)
    enough = count >= SMALLEST_MEMBERS
    return np.where(enough, (holds & known).sum(axis=0) / np.maximum(count, 1), np.nan)


def members_holding(judgement: Judgement) -> tuple[Bools, Bools]:
    """Where each member keeps within the label, and where that is known.

    Both (members, hours). A member that breaks one limit is known, whatever the rest.
    """
    ours = np.array([limit.of_label for limit in judgement.limits])
    why = judgement.why[..., ours, :]
    holds: Bools = (why == Why.INSIDE).all(axis=-2)
    broken: Bools = (why == Why.OUTSIDE).any(axis=-2)
    return holds, holds | broken


def chance_by_error(judgement: Judgement, lead_days: Floats) -> Floats:
    """Chance of one forecast (limits, hours) to keep within the label.

    Each limit fails with Φ(−margin / error); limits on one quantity add their
    failures, and the worst quantity gives the hour's chance.

    Parameters
    ----------
    judgement : Judgement
        Of a single forecast.
    lead_days : (hours,) array
        Age of the forecast at each hour. [d]

    Returns
    -------
    (hours,) array
        [share 0…1]; NaN where a label limit cannot be told.
    """
    growth = np.interp(lead_days, LEAD_DAYS, ERROR_GROWTH)
    failing: dict[Quantity, Floats] = {}
    for number, limit in enumerate(judgement.limits):
        if not limit.of_label or _yes_or_no(limit):
            continue
        fails = normal_share(-judgement.margins[number] / (limit.error * growth))
        if limit.on_missing == limit.on_pass:
            fails = np.nan_to_num(fails)
        key = _SAME_AIR.get(limit.quantity, limit.quantity)
        failing[key] = failing.get(key, 0.0) + fails
    if not failing:
        return np.full(judgement.time.shape, np.nan)
    worst: Floats = np.max(np.stack(list(failing.values())), axis=0)
    barred = _barred(judgement)
    return np.where(barred, 0.0, np.clip(1.0 - worst, 0.0, 1.0))


def _yes_or_no(limit: Limit) -> bool:
    """Levels and sides have no error to spread a margin by."""
    return limit.quantity in {Quantity.INVERSION_RISK, Quantity.WIND_SIDE}


def _barred(judgement: Judgement) -> Bools:
    """Hours a yes-or-no label limit holds outright."""
    held = np.zeros(judgement.time.shape, dtype=np.bool_)
    for number, limit in enumerate(judgement.limits):
        if limit.of_label and _yes_or_no(limit):
            held |= judgement.why[number] == Why.OUTSIDE
    return held
