"""The chance that an hour keeps within the label.

With one forecast, each limit's margin is set against an error that grows with its age.
With an ensemble, each member is given an error too, and the chance is the mean over
the members. Advice has no part in it: a chance is about the label.

Members alone are too sure of themselves: they differ by less than forecasts err. So
each is dressed with a normal error of the variance they lack, and no more: that of one
forecast of the same age, less the members' own variance. (Dressing without counting an
error twice: Roulston and Smith 2003, Tellus 55A, 16-30. Variance that the dressed
members lack: Wang and Bishop 2005, Q. J. R. Meteorol. Soc. 131, 965-986. Mark of both:
published, seen in excerpt.)
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.heads import normal_share
from forecaster.domain.spraying.forecast_error import ASSUMED, error_of
from forecaster.domain.spraying.hours import Why
from forecaster.domain.spraying.limits import Quantity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.domain.spraying.forecast_error import Errors
    from forecaster.domain.spraying.hours import Judgement
    from forecaster.domain.spraying.limits import Limit
    from forecaster.domain.weather import Bools, Floats

SMALLEST_MEMBERS = 5
"""Fewer known members than this tell no chance. Assumed."""

_SAME_AIR = {
    Quantity.WIND_2M: Quantity.WIND_10M,
    Quantity.RAIN_CHANCE_AHEAD: Quantity.RAIN_FREE_HOURS,
}
"""Quantities that are two readings of one thing."""
_TIMING = frozenset({Quantity.RAIN_FREE_HOURS, Quantity.RAIN_CHANCE_AHEAD})
"""Quantities whose error is when rain begins: dry members are days apart in dry hours,
which says nothing of how well any of them times its rain."""


def of_label(limits: Sequence[Limit]) -> tuple[Limit, ...]:
    """The limits the chance is about: law or label, confirmed."""
    return tuple(each for each in limits if each.of_label)


def members_holding(judgement: Judgement) -> tuple[Bools, Bools]:
    """Where each member keeps within the label, and where that is known.

    Both (members, hours). A member that breaks one limit is known, whatever the rest.
    """
    ours = np.array([limit.of_label for limit in judgement.limits])
    why = judgement.why[..., ours, :]
    holds: Bools = (why == Why.INSIDE).all(axis=-2)
    broken: Bools = (why == Why.OUTSIDE).any(axis=-2)
    return holds, holds | broken


def chance_of(
    judgement: Judgement, lead_days: Floats, errors: Errors = ASSUMED
) -> Floats:
    """Chance (hours,) of one forecast or of members, whichever was judged."""
    if judgement.verdict.ndim == 1:
        return chance_by_error(judgement, lead_days, errors)
    return mean_of_members(chance_of_members(judgement, lead_days, errors))


def chance_by_error(
    judgement: Judgement, lead_days: Floats, errors: Errors = ASSUMED
) -> Floats:
    """Chance of one forecast (limits, hours) to keep within the label.

    Each limit fails with Φ(−margin / error); limits on one quantity add their
    failures, and the worst quantity gives the hour's chance.

    Parameters
    ----------
    judgement : Judgement
        Of a single forecast.
    lead_days : (hours,) array
        Age of the forecast at each hour. [d]
    errors : mapping
        What was measured of them; without it those of the limits.

    Returns
    -------
    (hours,) array
        [share 0…1]; NaN where a label limit cannot be told.
    """
    failing = _failing(
        judgement, [error_of(limit, lead_days, errors) for limit in judgement.limits]
    )
    if not failing:
        return np.full(judgement.time.shape, np.nan)
    worst: Floats = np.max(np.stack(list(failing.values())), axis=0)
    chance = np.where(_yes_no(judgement, Why.MISSING), np.nan, 1.0 - worst)
    return np.where(_yes_no(judgement, Why.OUTSIDE), 0.0, np.clip(chance, 0.0, 1.0))


def chance_of_members(
    judgement: Judgement, lead_days: Floats, errors: Errors = ASSUMED
) -> Floats:
    """Chance of each dressed member (members, limits, hours) to keep within the label.

    Limits on one quantity add their failures. What two quantities have in common the
    members show themselves, so within a member their errors are independent and the
    chances multiply. A member barred by a yes-or-no limit has none.

    Parameters
    ----------
    judgement : Judgement
        Of the members.
    lead_days, errors
        As :func:`chance_by_error`.

    Returns
    -------
    (members, hours) array
        [share 0…1]; NaN where a member is not known. One that breaks a limit, and of
        which another is not known, has 0.
    """
    holds, known = members_holding(judgement)
    failing = _failing(judgement, dressing(judgement, lead_days, errors))
    if not failing:
        return np.full(holds.shape, np.nan)
    chance = np.ones(holds.shape)
    for fails in failing.values():
        chance *= 1.0 - np.minimum(fails, 1.0)
    chance = np.where(_yes_no(judgement, Why.OUTSIDE), 0.0, chance)
    chance = np.where(holds, chance, np.nan_to_num(chance))
    return np.where(known, chance, np.nan)


def mean_of_members(chance: Floats) -> Floats:
    """Mean (hours,) over the known ones of ``chance`` (members, hours).

    Returns
    -------
    (hours,) array
        [share 0…1]; NaN where fewer than five members are known.
    """
    known = ~np.isnan(chance)
    count = known.sum(axis=0)
    total = np.where(known, chance, 0.0).sum(axis=0)
    return np.where(count >= SMALLEST_MEMBERS, total / np.maximum(count, 1), np.nan)


def dressing(
    judgement: Judgement, lead_days: Floats, errors: Errors = ASSUMED
) -> list[Floats]:
    """Error (hours,) that members lack, limit by limit, each in its unit.

    √(σ² − (1 + 1/K) s²) of the error σ of one forecast and the standard deviation s of
    K members, 0 where they differ by enough; that of dry hours is σ itself.
    """
    found = []
    for number, limit in enumerate(judgement.limits):
        error = error_of(limit, lead_days, errors)
        if limit.quantity not in _TIMING:
            own = _own_variance(judgement.values[..., number, :])
            error = np.sqrt(np.maximum(error**2 - own, 0.0))
        found.append(error)
    return found


def _own_variance(values: Floats) -> Floats:
    """(1 + 1/K) s² of K known members: about what their mean should be out by."""
    known = ~np.isnan(values)
    count = np.maximum(known.sum(axis=0), 1)
    mean = np.where(known, values, 0.0).sum(axis=0) / count
    square = np.where(known, (values - mean) ** 2, 0.0).sum(axis=0)
    own: Floats = (1.0 + 1.0 / count) * square / np.maximum(count - 1, 1)
    return own


def _failing(judgement: Judgement, errors: Sequence[Floats]) -> dict[Quantity, Floats]:
    """Chance that each quantity fails the label, of the shape of the verdicts."""
    failing: dict[Quantity, Floats] = {}
    for number, limit in enumerate(judgement.limits):
        if not limit.of_label or _yes_or_no(limit):
            continue
        margin, error = judgement.margins[..., number, :], errors[number]
        some = np.where(error == 0.0, 1.0, error)
        outside = (judgement.why[..., number, :] == Why.OUTSIDE) * 1.0
        fails = np.where(error == 0.0, outside, normal_share(-margin / some))
        fails = np.where(np.isnan(margin), np.nan, fails)
        if limit.on_missing == limit.on_pass:
            fails = np.where(np.isnan(margin), 0.0, fails)
        key = _SAME_AIR.get(limit.quantity, limit.quantity)
        failing[key] = failing.get(key, 0.0) + fails
    return failing


def _yes_or_no(limit: Limit) -> bool:
    """Levels and sides have no error to spread a margin by."""
    return limit.quantity in {Quantity.INVERSION_RISK, Quantity.WIND_SIDE}


def _yes_no(judgement: Judgement, why: Why) -> Bools:
    """Where any yes-or-no label limit stands so."""
    found = np.zeros(judgement.verdict.shape, dtype=np.bool_)
    for number, limit in enumerate(judgement.limits):
        if limit.of_label and _yes_or_no(limit):
            found |= judgement.why[..., number, :] == why
    return found
