"""Moisture of the air over liquid water: vapour pressure, humidity, dew point."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from forecaster.domain.weather import Floats

AIR_TEMPERATURE_RANGE: Final = (-40.0, 60.0)
"""[°C] Outside it the wet bulb is NaN. Source: own choice, wider than any farm;
assumed."""

VAPOUR_PRESSURE_RANGE: Final = (-60.0, 200.0)
"""[°C] The formula is published for 0 to 200 °C over water; below 0 °C it is carried
on over supercooled water. Source: ASHRAE 2017 ch. 1 for the upper end; assumed for
the lower."""

OVERSHOOT: Final = 1.0
"""[% relative humidity] Forecast grids overshoot 100 % by rounding; up to this much
counts as 100, more is NaN. Source: own choice; assumed."""

KELVIN: Final = 273.15
"""[K] 0 °C."""

HYLAND_WEXLER: Final = (
    -5.8002206e3,
    1.3914993,
    -4.8640239e-2,
    4.1764768e-5,
    -1.4452093e-8,
    6.5459673,
)
"""Coefficients C8 to C13 of ASHRAE 2017 ch. 1 eq. 6, pressure in Pa, temperature in K,
over water. As read in PsychroLib 2.5.0, which names that source."""

MAGNUS_FACTOR: Final = 17.625
"""[1] Source: Alduchov, Eskridge (1996), J. Appl. Meteorol. 35, 601-609; from memory.
It only steers the first steps and cannot move a result."""

MAGNUS_OFFSET: Final = 243.04
"""[K] As above."""


def saturation(temperature: Floats) -> tuple[Floats, Floats]:
    """Saturation vapour pressure [hPa] and its slope [hPa/K], unchecked."""
    c8, c9, c10, c11, c12, c13 = HYLAND_WEXLER
    kelvin = temperature + KELVIN
    inverse = 1.0 / kelvin
    logarithm = c8 * inverse + c13 * np.log(kelvin) + c9
    pressure = 0.01 * np.exp(logarithm + kelvin * (c10 + kelvin * (c11 + kelvin * c12)))
    relative_slope = (c13 - c8 * inverse) * inverse + (
        c10 + kelvin * (2.0 * c11 + kelvin * 3.0 * c12)
    )
    return pressure, pressure * relative_slope


def within(values: Floats, bounds: tuple[float, float]) -> Floats:
    """A copy with NaN for every value outside the bounds."""
    low, high = bounds
    return np.where((values >= low) & (values <= high), values, np.nan)


def usable_humidity(relative_humidity: Floats) -> Floats:
    """Relative humidity [%] as used: 0 to 100, a small overshoot cut, the rest NaN."""
    return np.minimum(within(relative_humidity, (0.0, 100.0 + OVERSHOOT)), 100.0)


def saturation_vapour_pressure(temperature: ArrayLike) -> Floats:
    """Saturation vapour pressure over liquid water (Hyland and Wexler).

    Parameters
    ----------
    temperature : array of any shape
        [°C] Valid −60 to 200; below 0 it is over supercooled water.

    Returns
    -------
    array of the same shape
        [hPa] NaN outside the range and where the input is NaN.

    References
    ----------
    Hyland, Wexler (1983), ASHRAE Transactions 89(2A), 500-519, as given in ASHRAE
    Handbook Fundamentals (2017) ch. 1 eq. 6. Mark: published, seen in excerpt.

    Examples
    --------
    ASHRAE (2017) ch. 1 table 3 gives 31.697 hPa at 25 °C; the formula is said to be
    good to 0.03 %.

    >>> round(float(saturation_vapour_pressure(25.0)), 1)
    31.7
    """
    checked = within(np.asarray(temperature, np.float64), VAPOUR_PRESSURE_RANGE)
    return saturation(checked)[0]


def relative_humidity(air_temperature: ArrayLike, dew_point: ArrayLike) -> Floats:
    """Relative humidity from temperature and dew point, both over water.

    Parameters
    ----------
    air_temperature, dew_point : arrays that broadcast together
        [°C]

    Returns
    -------
    array
        [%] Above 100 where the dew point is above the air temperature. NaN in, NaN
        out.
    """
    moist = saturation_vapour_pressure(dew_point)
    return 100.0 * moist / saturation_vapour_pressure(air_temperature)


def dew_point(air_temperature: ArrayLike, relative_humidity: ArrayLike) -> Floats:
    """Dew point: the temperature at which this air would be saturated over water.

    The Magnus form gives a start within 0.3 K; two Newton steps on the logarithm of
    the saturation pressure make it the exact inverse of that curve.

    Parameters
    ----------
    air_temperature : array
        [°C] −40 to 60.
    relative_humidity : array that broadcasts with it
        [%] above 0 and up to 100, with an overshoot of 1 counted as 100.

    Returns
    -------
    array
        [°C] NaN where an input is NaN or out of range, at 0 %, where there is no dew
        point, and where it would be below −60.

    References
    ----------
    Start: Alduchov, Eskridge (1996), J. Appl. Meteorol. 35, 601-609. Mark: from memory;
    the start cannot move the result.
    """
    temperature = within(np.asarray(air_temperature, np.float64), AIR_TEMPERATURE_RANGE)
    humidity = usable_humidity(np.asarray(relative_humidity, np.float64))
    share = np.where(humidity > 0.0, humidity, np.nan) / 100.0
    vapour = saturation(temperature)[0] * share
    magnus = np.log(vapour / 6.1094)
    guess = MAGNUS_OFFSET * magnus / (MAGNUS_FACTOR - magnus)
    for _ in range(2):
        pressure, slope = saturation(guess)
        guess = guess - np.log(pressure / vapour) * pressure / slope
    return within(guess, VAPOUR_PRESSURE_RANGE)
