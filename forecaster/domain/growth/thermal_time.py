"""Thermal time: how far a day's warmth moves a plant on."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from forecaster.domain.weather import Floats

HOURS = 24
LEAST_KNOWN_HOURS = 20
"""Of a day's 24; with fewer the day is unknown. Assumed: our own choice."""


class Lags(NamedTuple):
    """Shape of the day in :func:`hourly_from_extremes`."""

    maximum: float
    """[h] after solar noon at which the day is warmest."""
    minimum: float
    """[h] after sunrise at which it is coldest; negative is before."""
    decay: float
    """Rate of the fall through the night."""


DENVER_150CM = Lags(maximum=1.86, minimum=-0.17, decay=2.20)
"""Air at 150 cm, Denver: Parton & Logan 1981, Agricultural Meteorology 23:205–216.

Published, seen in excerpt (documentation of the R package TrenchR, which prints the
minimum's and the decay's numbers under each other's names; used that way round a
night reads several degrees too warm).
"""


def response(temperature: Floats, base: float, ceiling: float) -> Floats:
    """Rate of development at a temperature: min(max(T − base, 0), ceiling − base).

    A line from ``base`` that goes flat at ``ceiling``. It does not fall again in
    heat: a falling branch would put off ripeness in hot weather, the unsafe side.

    Parameters
    ----------
    temperature : array
        Air temperature. [°C]
    base, ceiling : float
        Ends of the line. [°C]

    Returns
    -------
    array
        [°C d per day], NaN where the temperature is.

    Raises
    ------
    ValueError
        If ``ceiling`` is not above ``base``.

    Notes
    -----
    The shape of WOFOST's ``DTSMTB`` and of method 2 in McMaster & Wilhelm 1997,
    Agricultural and Forest Meteorology 87:291–300 (published, seen in excerpt).
    """
    if not ceiling > base:
        raise ValueError(f"ceiling {ceiling} °C must lie above base {base} °C")
    return np.clip(temperature, base, ceiling) - base


def daily_thermal_time(hourly: Floats, base: float, ceiling: float) -> Floats:
    """Thermal time of each day: the mean response over its hours.

    The response is taken hour by hour and only then averaged, so a cold night does
    not hide a warm afternoon.

    Parameters
    ----------
    hourly : (..., days, 24) or (..., 24 × days) array
        Air temperature, local solar days. [°C] With two or more axes and a last
        axis of exactly 24, that axis is read as the hours of a day.
    base, ceiling : float
        See :func:`response`. [°C]

    Returns
    -------
    (..., days) array
        [°C d]; NaN for a day with fewer than 20 known hours. Up to four missing
        hours take the mean response of the known ones.

    Raises
    ------
    ValueError
        If the hours do not make whole days.
    """
    hours = np.asarray(hourly, dtype=np.float64)
    if hours.ndim < 2 or hours.shape[-1] != HOURS:  # noqa: PLR2004 — axes
        if hours.ndim == 0 or hours.shape[-1] % HOURS:
            raise ValueError(f"hours of shape {hours.shape} do not make whole days")
        hours = hours.reshape(*hours.shape[:-1], -1, HOURS)
    rate = response(hours, base, ceiling)
    mean: Floats = rate.mean(axis=-1)
    holed = np.isnan(mean)
    if holed.any():
        mean[holed] = _mean_of_known(rate[holed])
    return mean


def _mean_of_known(rate: Floats) -> Floats:
    known = np.isfinite(rate)
    count = known.sum(axis=-1)
    total = np.where(known, rate, 0.0).sum(axis=-1)
    enough = count >= LEAST_KNOWN_HOURS
    return np.where(enough, total / np.where(enough, count, 1), np.nan)


def hourly_from_extremes(
    maximum: Floats,
    minimum: Floats,
    *,
    sunrise: Floats,
    sunset: Floats,
    lags: Lags = DENVER_150CM,
) -> Floats:
    """Hourly temperature through days of which only the extremes are known.

    By day a sine from the minimum, soon after sunrise, through the maximum to
    sunset; by night an exponential fall from sunset's temperature towards the
    coming minimum. After sunset the coming minimum is the next day's; before the
    minimum the fall began at the previous day's sunset. The first day's early hours
    and the last day's evening use their own day in place of the neighbour not given.

    Parameters
    ----------
    maximum, minimum : (..., days) array
        Extremes of each day. [°C]
    sunrise, sunset : (..., days) array
        Local solar time. [h]
    lags : Lags
        Shape of the day.

    Returns
    -------
    (..., days, 24) array
        Temperature at 0, 1 … 23 h local solar time. [°C] NaN where an extreme that
        the hour rests on is NaN.

    References
    ----------
    Parton & Logan 1981, Agricultural Meteorology 23:205–216, in the form
    given by the R package TrenchR after Wann et al. 1985, which puts the maximum
    ``lags.maximum`` hours after noon (published, seen in excerpt).
    """
    high, low, rise, fall = (
        np.asarray(each, dtype=np.float64)[..., None]
        for each in np.broadcast_arrays(maximum, minimum, sunrise, sunset)
    )
    hour = np.arange(HOURS, dtype=np.float64)
    coldest = rise + lags.minimum
    at_sunset = low + (high - low) * _sine(fall, rise, fall, lags)
    night = HOURS - (fall - coldest)
    day = low + (high - low) * _sine(hour, rise, fall, lags)
    evening = _fall(at_sunset, _shift(low, -1), (hour - fall) / night, lags)
    last_sunset, last_fall = _shift(at_sunset, 1), _shift(fall, 1)
    morning = _fall(last_sunset, low, (hour + HOURS - last_fall) / night, lags)
    return np.where(hour <= coldest, morning, np.where(hour < fall, day, evening))


def daily_thermal_time_from_extremes(
    maximum: Floats,
    minimum: Floats,
    base: float,
    ceiling: float,
    *,
    sunrise: Floats,
    sunset: Floats,
) -> Floats:
    """Thermal time of days of which only the extremes are known.

    :func:`daily_thermal_time` of :func:`hourly_from_extremes`; same parameters.

    Returns
    -------
    (..., days) array
        [°C d] NaN where a day's own extremes are NaN, and on the day before or
        after it where more than four hours rest on them.
    """
    hours = hourly_from_extremes(maximum, minimum, sunrise=sunrise, sunset=sunset)
    return daily_thermal_time(hours, base, ceiling)


def _sine(hour: Floats, rise: Floats, fall: Floats, lags: Lags) -> Floats:
    period = fall - rise + 2 * (lags.maximum - lags.minimum)
    return np.sin(np.pi * (hour - rise - lags.minimum) / period)


def _fall(start: Floats, end: Floats, part: Floats, lags: Lags) -> Floats:
    # Far outside the night the exponent is meaningless and might overflow; those
    # hours are never chosen.
    return end + (start - end) * np.exp(-lags.decay * np.clip(part, 0.0, 1.0))


def _shift(values: Floats, days: int) -> Floats:
    """Each day's neighbour: the day before (1) or after (−1); ends repeat."""
    moved = np.roll(values, days, axis=-2)
    edge = 0 if days > 0 else -1
    moved[..., edge, :] = values[..., edge, :]
    return moved
