"""How far a forecast is out, by quantity and age.

What a farm's own hindcast measured counts; where it measured nothing, the error that
stands with each limit does, growing with age as assumed here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from forecaster.domain.air.wind import speed_at_height
from forecaster.domain.spraying.limits import Quantity
from forecaster.domain.spraying.quantities import LOW_WIND_HEIGHT

if TYPE_CHECKING:
    from collections.abc import Mapping

    from forecaster.domain.spraying.limits import Limit
    from forecaster.domain.weather import Floats

LEAD_DAYS = (1.0, 3.0, 5.0, 7.0)
ERROR_GROWTH = (1.0, 1.2, 1.5, 1.8)
"""Error of a forecast at each of :data:`LEAD_DAYS`, over that of day 1.

Assumed: the wind errors we work with until our own are measured are 5, 6, 7.5 and
9 km/h. No published errors by lead were found for hourly wind in southern Australia.
"""


@dataclass(frozen=True, slots=True)
class Measured:
    """Root-mean-square errors of one quantity, in its unit, bias and all.

    ``lead_days`` rise; ``size`` and ``hours`` are as long.
    """

    lead_days: tuple[float, ...]
    size: tuple[float, ...]
    hours: tuple[int, ...]
    source: str
    """What was held against what, and when."""


Errors: TypeAlias = "Mapping[Quantity, Measured]"

ASSUMED: Errors = {}
"""Nothing was measured."""

_READ_OFF = {Quantity.WIND_2M: Quantity.WIND_10M}
"""Quantities that are another one brought to another height."""


def measured_of(quantity: Quantity, errors: Errors) -> Measured | None:
    """What was measured of ``quantity`` or of what it is read off; None if nothing."""
    return errors.get(_READ_OFF.get(quantity, quantity))


def error_of(limit: Limit, lead_days: Floats, errors: Errors = ASSUMED) -> Floats:
    """Error of the quantity of ``limit`` at each age, in its unit.

    Between measured ages the error over the assumed growth is drawn straight, and held
    beyond them: at a measured age it is what was measured, past the last it grows on.

    Parameters
    ----------
    lead_days : array
        [d] NaN stays NaN.
    """
    growth: Floats = np.interp(lead_days, LEAD_DAYS, ERROR_GROWTH)
    found = measured_of(limit.quantity, errors)
    if found is None:
        return limit.error * growth
    days = np.array(found.lead_days)
    over = np.array(found.size) / np.interp(days, LEAD_DAYS, ERROR_GROWTH)
    held: Floats = np.interp(lead_days, days, over)
    return _height(limit.quantity) * held * growth


def _height(quantity: Quantity) -> float:
    """What turns an error at 10 m into one of ``quantity``."""
    if quantity is Quantity.WIND_2M:
        return float(speed_at_height(1.0, 10.0, LOW_WIND_HEIGHT))
    return 1.0
