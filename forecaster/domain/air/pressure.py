"""Pressure of the standard atmosphere, for places where none is measured."""

from __future__ import annotations

from typing import Final

SEA_LEVEL: Final = 1013.25
"""[hPa] Standard atmosphere at sea level."""
LAPSE: Final = 2.25577e-5
"""[1/m] Coefficient of height."""
EXPONENT: Final = 5.2559


def standard_pressure(elevation: float) -> float:
    """Pressure of the standard atmosphere at an elevation.

    p = 1013.25 (1 − 2.25577·10⁻⁵ z)^5.2559.

    Parameters
    ----------
    elevation : float
        Above sea level. [m] −5,000 to 11,000.

    Returns
    -------
    float
        [hPa]

    Raises
    ------
    ValueError
        Outside the range the formula is stated for.

    Notes
    -----
    The day's weather moves pressure some 20 hPa either way, which moves Delta T by
    less than 0.1 K.

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, chapter 1, equation 3 (published, seen in
    excerpt: the documentation of PsychroLib).

    Examples
    --------
    >>> round(standard_pressure(500.0), 2)
    954.61
    """
    if not -5_000 <= elevation <= 11_000:  # noqa: PLR2004 - range of the equation
        raise ValueError(f"elevation {elevation} m is not between -5,000 and 11,000 m")
    return float(SEA_LEVEL * (1.0 - LAPSE * elevation) ** EXPONENT)
