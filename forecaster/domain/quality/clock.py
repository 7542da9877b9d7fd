"""How far the clock of a table is off, told by its sunshine."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.air.sun import elevation
from forecaster.domain.quality.thresholds import CLOCK_HOURS
from forecaster.domain.weather import HOUR

if TYPE_CHECKING:
    from forecaster.domain.place import Place
    from forecaster.domain.weather import Floats, WeatherFrame

HALF_HOUR = HOUR // 2
SHIFTS = np.arange(-23, 25)
"""[½ h] Every half hour of a day."""


def hours_off(frame: WeatherFrame, place: Place) -> float:
    """Hours to add to the times of ``frame`` so that its sunshine fits the sun.

    Of all half hours of a day the one is taken at which radiation goes best with the
    sine of the sun's elevation. Half an hour either way is within the noise of
    cloud: cloudier afternoons pull it.

    Returns
    -------
    float
        [h] Over −12 and up to 12. NaN with under 240 known hours, or where radiation
        never changes.
    """
    radiation = frame.radiation
    known = ~np.isnan(radiation)
    if known.sum() < CLOCK_HOURS.value or np.ptp(radiation[known]) == 0.0:
        return math.nan
    fits = [
        _correlation(radiation, _height(frame, place, int(shift))) for shift in SHIFTS
    ]
    return float(SHIFTS[int(np.argmax(fits))]) / 2.0


def _height(frame: WeatherFrame, place: Place, shift: int) -> Floats:
    """Sine of the sun's elevation, 0 at night, with the clock moved [½ h]."""
    middle = frame.time + HALF_HOUR + shift * HALF_HOUR
    sun = elevation(middle, place.latitude, place.longitude)
    return np.maximum(np.sin(np.radians(sun)), 0.0)


def _correlation(radiation: Floats, height: Floats) -> float:
    known = ~np.isnan(radiation)
    sun = np.broadcast_to(height, radiation.shape)[known]
    from_mean, sun = radiation[known] - radiation[known].mean(), sun - sun.mean()
    size = math.sqrt(float(np.dot(from_mean, from_mean) * np.dot(sun, sun)))
    return float(np.dot(from_mean, sun)) / size
