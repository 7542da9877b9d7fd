"""Stability of the air near the ground: classes by table, and the Richardson number.

Classes run from 1 (A) to 7 (G), see class_tables. Every function gives NaN where an
input is NaN, below its table or not a column of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from forecaster.domain.air.class_tables import (
    CLEAR_NIGHT,
    HALF_COVER,
    INSOLATION_ELEVATIONS,
    PASQUILL,
    PASQUILL_SPEEDS,
    SRDT_DAY,
    SRDT_NIGHT,
    SRDT_NIGHT_SPEEDS,
    SRDT_RADIATION,
    SRDT_SPEEDS,
    TURNER,
    TURNER_SPEEDS,
    Ceiling,
)

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from forecaster.domain.weather import Bools, Floats

GRAVITY: Final = 9.80665
"""[m/s²] Standard gravity."""

DRY_ADIABAT: Final = 0.0098
"""[K/m] Cooling of rising dry air."""


def _row(edges: Floats, values: ArrayLike) -> tuple[NDArray[np.intp], Bools]:
    """Row numbers of a table, and where the value is known and not negative."""
    given = np.asarray(values, np.float64)
    return np.searchsorted(edges, given, side="right"), given >= 0.0


def _pick(
    table: Floats, row: NDArray[np.intp], column: ArrayLike, known: Bools
) -> Floats:
    """Table cells, NaN where not known or not a column."""
    wanted = np.asarray(column, np.float64)
    inside = known & (wanted >= 0.0) & (wanted < table.shape[1])
    place = np.where(inside, wanted, 0.0).astype(np.intp)
    return np.where(inside, table[row, place], np.nan)


def pasquill_class(wind_speed: ArrayLike, sky: ArrayLike) -> Floats:
    """Pasquill's class from wind at 10 m and the sky.

    Parameters
    ----------
    wind_speed : array
        [m/s] at 10 m. A speed on an edge takes the row of stronger wind, 6 excepted.
    sky : array that broadcasts with it
        :class:`Sky`. Night is from 1 h before sunset to 1 h after sunrise.

    Returns
    -------
    array
        Class 1 to 6, halves between two classes.
    """
    row, known = _row(PASQUILL_SPEEDS, wind_speed)
    return _pick(PASQUILL, row, sky, known)


def insolation_class(elevation: ArrayLike) -> Floats:
    """Turner's insolation class from the sun's elevation, for daytime.

    Parameters
    ----------
    elevation : array
        [°] of the sun.

    Returns
    -------
    array
        4 above 60°, 3 above 35°, 2 above 15°, else 1. NaN in, NaN out.
    """
    angle = np.asarray(elevation, np.float64)
    grade = 1.0 + np.searchsorted(INSOLATION_ELEVATIONS, angle, side="left")
    return np.where(np.isnan(angle), np.nan, grade)


def net_radiation_index(
    insolation: ArrayLike, cloud: ArrayLike, ceiling: ArrayLike, *, night: ArrayLike
) -> Floats:
    """Turner's net radiation index from sun, cloud and cloud base.

    Overcast (10/10) below 7,000 ft is 0 by day and night. At night it is −2 up to 4/10
    cloud and −1 above. By day it is the insolation class, less 2 for more than 5/10
    cloud below 7,000 ft, less 1 for such cloud at 7,000 to 16,000 ft, less 1 for
    overcast above 7,000 ft; never below 1.

    Parameters
    ----------
    insolation : array
        :func:`insolation_class`; not read at night.
    cloud : array
        Total cloud. [share 0…1] Only a share of exactly 1 is overcast.
    ceiling : array
        :class:`Ceiling`.
    night : array of bool
        From 1 h before sunset to 1 h after sunrise.

    Returns
    -------
    array of the broadcast shape
        −2 to 4. NaN where an input that is read is NaN.

    References
    ----------
    EPA-454/R-99-005 (2000) section 6.4.1 and table 6-5. Mark: published, seen in
    excerpt. Overcast above 16,000 ft is from memory; accounts differ.
    """
    share = np.asarray(cloud, np.float64)
    base = np.asarray(ceiling, np.float64)
    overcast = share >= 1.0
    low = base == Ceiling.LOW
    cut = np.where(low, 2.0, np.where(base == Ceiling.MIDDLE, 1.0, 0.0))
    by_day = (
        np.asarray(insolation, np.float64)
        - cut * (share > HALF_COVER)
        - overcast * ~low
    )
    after_dark = np.where(share > CLEAR_NIGHT, -1.0, -2.0)
    index = np.where(night, after_dark, np.maximum(by_day, 1.0))
    index = np.where(overcast & low, 0.0, index)
    return np.where(np.isnan(share) | np.isnan(base), np.nan, index)


def turner_class(wind_speed: ArrayLike, net_radiation_index: ArrayLike) -> Floats:
    """Turner's class from wind at 10 m and the net radiation index.

    Parameters
    ----------
    wind_speed : array
        [m/s] at 10 m.
    net_radiation_index : array that broadcasts with it
        −2 to 4.

    Returns
    -------
    array
        Class 1 to 7.
    """
    row, known = _row(TURNER_SPEEDS, wind_speed)
    return _pick(TURNER, row, 4.0 - np.asarray(net_radiation_index, np.float64), known)


def srdt_class_day(wind_speed: ArrayLike, radiation: ArrayLike) -> Floats:
    """Daytime class from wind and solar radiation (SRDT method).

    Parameters
    ----------
    wind_speed : array
        [m/s] at 10 m.
    radiation : array that broadcasts with it
        Global short-wave. [W/m²]

    Returns
    -------
    array
        Class 1 to 4.
    """
    row, known = _row(SRDT_SPEEDS, wind_speed)
    column, lit = _row(SRDT_RADIATION, radiation)
    return _pick(SRDT_DAY, row, column, known & lit)


def srdt_class_night(wind_speed: ArrayLike, gradient: ArrayLike) -> Floats:
    """Night class from wind and the sign of the temperature gradient (SRDT method).

    Parameters
    ----------
    wind_speed : array
        [m/s] at 10 m.
    gradient : array that broadcasts with it
        Temperature change with height, any unit; published for 2 to 10 m.

    Returns
    -------
    array
        Class 4 to 6.
    """
    row, known = _row(SRDT_NIGHT_SPEEDS, wind_speed)
    slope = np.asarray(gradient, np.float64)
    column = np.where(slope < 0.0, 0.0, 1.0)
    return _pick(SRDT_NIGHT, row, column, known & ~np.isnan(slope))


def bulk_richardson(
    temperatures: tuple[ArrayLike, ArrayLike],
    wind_speeds: tuple[ArrayLike, ArrayLike],
    heights: tuple[float, float] = (2.0, 80.0),
) -> Floats:
    """Bulk Richardson number of a layer: buoyancy over shear.

    (g/θ) Δθ Δz / Δu², with θ = T + 0.0098 z.

    Parameters
    ----------
    temperatures, wind_speeds : pairs of arrays that broadcast together
        At the lower and the upper height. [°C], [m/s]
    heights : pair of float
        [m]

    Returns
    -------
    array
        [1] Below 0 unstable, about 0 neutral, from 0.25 stable. NaN where an input is
        NaN and where the wind does not change with height.

    References
    ----------
    Gradient form and 0.25: MetPy 1.7.1, gradient_richardson_number; published, seen in
    excerpt. The bulk form over 78 m is assumed.
    """
    low, high = (
        np.asarray(temperature, np.float64) + DRY_ADIABAT * height + 273.15
        for temperature, height in zip(temperatures, heights, strict=True)
    )
    below, above = (np.asarray(speed, np.float64) for speed in wind_speeds)
    shear = np.where(above == below, np.nan, above - below)
    buoyancy = GRAVITY * (high - low) / (0.5 * (high + low)) * (heights[1] - heights[0])
    number: Floats = buoyancy / shear**2
    return number
