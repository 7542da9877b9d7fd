"""Wind: speed at another height, and which sides of a paddock lie downwind."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from forecaster.domain.weather import Bools, Floats

GRASS_ROUGHNESS: Final = 0.03
"""[m] Roughness length of open flat grass. Source: Davenport's classes as used for wind
statistics (0.03 grass, 0.10 low crops, 0.25 high crops); published, seen in excerpt."""

COMPASS_WORDS: Final = (
    "north",
    "north-north-east",
    "north-east",
    "east-north-east",
    "east",
    "east-south-east",
    "south-east",
    "south-south-east",
    "south",
    "south-south-west",
    "south-west",
    "west-south-west",
    "west",
    "west-north-west",
    "north-west",
    "north-north-west",
)
"""The sixteen points of the compass, clockwise from north."""

UNKNOWN_DIRECTION: Final = "unknown"
"""What is said of a bearing that is not known."""

_TURN: Final = 360
"""[°]"""

_POINT: Final = 22.5
"""[°] between compass points."""


def speed_at_height(
    speed: ArrayLike,
    from_height: float,
    to_height: float,
    roughness: float = GRASS_ROUGHNESS,
    *,
    displacement: float = 0.0,
) -> Floats:
    """Wind speed at another height by the neutral logarithmic law.

    u(z) = u(z₁) · ln((z − d)/z₀) / ln((z₁ − d)/z₀).

    Parameters
    ----------
    speed : array of any shape
        At ``from_height``. [m/s]
    from_height, to_height : float
        Above ground. [m]
    roughness : float
        z₀ [m].
    displacement : float
        d, the height the canopy lifts the profile by. [m]

    Returns
    -------
    array of the same shape
        [m/s] NaN in, NaN out.

    Raises
    ------
    ValueError
        If the roughness is not positive or a height less displacement is not above it.

    Notes
    -----
    Neutral air only: on a still clear night the wind near the ground is weaker than
    this gives. Use it to take wind down, never up to permit more.

    References
    ----------
    The law and the classes of z₀: docs/method/wind.md.

    Examples
    --------
    FAO-56 example 14: 3.2 m/s at 10 m over clipped grass is 2.4 m/s at 2 m.

    >>> grass = {"roughness": 0.123 * 0.12, "displacement": 2 / 3 * 0.12}
    >>> round(float(speed_at_height(3.2, 10.0, 2.0, **grass)), 1)
    2.4
    """
    lowest = min(from_height, to_height) - displacement
    if not 0.0 < roughness < lowest:
        raise ValueError(
            f"heights {from_height} m and {to_height} m less displacement "
            f"{displacement} m must lie above a positive roughness, not {roughness} m"
        )
    factor = math.log((to_height - displacement) / roughness) / math.log(
        (from_height - displacement) / roughness
    )
    return np.asarray(speed, np.float64) * factor


def downwind_bearing(wind_from: ArrayLike) -> Floats:
    """Bearing the wind blows towards.

    Parameters
    ----------
    wind_from : array of any shape
        The side the wind blows from. [°] clockwise from north.

    Returns
    -------
    array of the same shape
        [°] 0 up to but not 360. NaN in, NaN out.
    """
    return np.remainder(np.asarray(wind_from, np.float64) + 180.0, float(_TURN))


def compass_word(bearing: float) -> str:
    """The nearest of the sixteen compass points, in words.

    Parameters
    ----------
    bearing : float
        [°] clockwise from north.

    Returns
    -------
    str
        "unknown" if the bearing is not finite.

    Examples
    --------
    >>> compass_word(350.0)
    'north'
    """
    if not math.isfinite(bearing):
        return UNKNOWN_DIRECTION
    return COMPASS_WORDS[round(bearing % _TURN / _POINT) % len(COMPASS_WORDS)]


def exposed_directions(bearings: ArrayLike, half_angle: float) -> Bools:
    """Wind directions that carry drift towards a sensitive area.

    Parameters
    ----------
    bearings : (m,) array
        From points of the paddock to the sensitive area. [°] clockwise from north.
        None at all means nothing is exposed.
    half_angle : float
        How far the downwind bearing may miss and still count. [°] The edge counts.

    Returns
    -------
    (360,) bool array
        True at index d if wind *from* d degrees is exposed.

    Raises
    ------
    ValueError
        If a bearing is not finite or the angle is not between 0 and 180: a place that
        is not known must not pass as out of the way.
    """
    towards = np.asarray(bearings, np.float64).reshape(-1, 1)
    if not np.all(np.isfinite(towards)):
        raise ValueError("every bearing to a sensitive area must be a finite number")
    if not 0.0 <= half_angle <= _TURN / 2:
        raise ValueError(f"half_angle must lie between 0 and 180°, not {half_angle}")
    downwind = downwind_bearing(np.arange(_TURN))
    miss = np.abs(np.remainder(downwind - towards + 180.0, _TURN) - 180.0)
    exposed: Bools = np.any(miss <= half_angle, axis=0)
    return exposed


def exposure(wind_from: ArrayLike, exposed: Bools) -> Floats:
    """Whether each hour's wind carries drift towards a sensitive area.

    Parameters
    ----------
    wind_from : array of any shape
        [°] The side the wind blows from; 360 is 0.
    exposed : (360,) bool array
        From :func:`exposed_directions`.

    Returns
    -------
    array of the shape of ``wind_from``
        1.0 exposed, 0.0 not, at the nearest whole degree; NaN where the direction is
        missing.
    """
    direction = np.asarray(wind_from, np.float64)
    known = np.isfinite(direction)
    degree = np.rint(np.where(known, direction, 0.0)).astype(np.int64) % _TURN
    return np.where(known, exposed[degree].astype(np.float64), np.nan)
