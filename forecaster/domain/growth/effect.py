"""Expected effect of a spray: control by class of head, over the heads there are.

On each day, in each outcome (a trace with an error of the weed's numbers),

    share of live seed prevented = Σ over classes (share of heads × control)

The low end takes the low control of every class and the outcome that one in ten falls
below, the high end the high control and the outcome that one in ten exceeds.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from forecaster.domain.growth import heads
from forecaster.domain.growth.quantiles import spread_of
from forecaster.domain.growth.stage import Stage

if TYPE_CHECKING:
    import numpy.typing as npt

    from forecaster.domain.growth.season import Projection
    from forecaster.domain.weather import Floats

NOON = 0.5


class Prevented(NamedTuple):
    """Share of live seed prevented. [share 0…1] NaN: unknown."""

    low: Floats
    likely: Floats
    high: Floats


class Best(NamedTuple):
    """The day of the season with the highest likely effect, and that effect."""

    day: Floats
    """Days from the projection's first day; NaN where it cannot be told."""
    prevented: Prevented


def prevented_on(
    projection: Projection, levels: Floats, days: npt.ArrayLike
) -> Prevented:
    """What a spray on each day would prevent.

    Parameters
    ----------
    projection : Projection
        The season of the weed.
    levels : (3, 1 + stages) array
        Low, middle and high control of heads not out yet and at each stage.
        [share 0…1]
    days : (n,) array
        Days from the projection's first day, fractions allowed.

    Returns
    -------
    Prevented of (n, ...) arrays
        Leading axis the days, then those of the projection's break dates. NaN where
        an outcome is unknown on that day.
    """
    low, likely, high = outcomes(projection, levels, days)
    return Prevented(
        spread_of(low).early, spread_of(likely).likely, spread_of(high).late
    )


def outcomes(projection: Projection, levels: Floats, days: npt.ArrayLike) -> Floats:
    """The same for every outcome: (3, n, ..., traces, nodes) [share 0…1].

    Parameters are those of :func:`prevented_on`. Of a sum over classes only the steps
    from class to class remain: Σ share × control = c₀ + Σ past stage k × (cₖ − cₖ₋₁).
    """
    now = projection.thermal_time(days)[..., None]
    steps = np.diff(levels, axis=1)
    past: Floats = np.ones(())
    total = levels[:, 0].reshape(3, *(1,) * now.ndim)
    for number, stage in enumerate(heads.STAGES):
        reached = heads.share_past(
            projection.weed,
            stage,
            now,
            shift=projection.shift(stage),
            spread_factor=projection.spread_factor,
        )
        # A stage known better than the one before it must not overtake it.
        past = np.minimum(past, reached)
        total = total + steps[:, number].reshape(3, *(1,) * past.ndim) * past
    total = np.clip(total, 0.0, 1.0)  # the steps cancel to within rounding
    return total.reshape(*total.shape[:2], *projection.shape, *total.shape[3:])


def heading_season(projection: Projection) -> Floats:
    """Noons of the days on which heads are out and not yet all hard.

    From the early day of heading to the late day of hard dough, of all paddocks of the
    projection; to the end of the weather where that comes first.

    Returns
    -------
    (n,) array
        Days from the first day. Empty where a date is unknown, or the weather ends
        before the likely day of hard dough: the best day may then lie beyond it.
    """
    dates = projection.stage_dates((Stage.HEADING, Stage.HARD_DOUGH))
    first, last = dates.early[..., 0].min(), dates.late[..., 1].max()
    if not np.isfinite(dates.likely[..., 1]).all() or np.isnan(last):
        return np.empty(0)
    end = min(float(last), projection.clock.days - NOON)
    return np.arange(np.floor(first) + NOON, end)


def best_of(days: Floats, prevented: Prevented) -> Best:
    """The day with the highest likely effect; the first one where several are equal.

    Parameters
    ----------
    days : (n,) array
        Days from the first day; not empty.
    prevented : Prevented of (n, ...) arrays
        The effect on each.

    Returns
    -------
    Best of (...) arrays
        NaN where any day is unknown.
    """
    place = np.argmax(prevented.likely, axis=0)
    unknown = np.isnan(prevented.likely).any(axis=0)
    low, likely, high = (
        np.where(unknown, np.nan, np.take_along_axis(each, place[None, ...], axis=0)[0])
        for each in prevented
    )
    return Best(np.where(unknown, np.nan, days[place]), Prevented(low, likely, high))
