"""The published tables of stability classes, as data.

Classes are numbers so that they can be compared: 1 A (very unstable) to 4 D (neutral),
5 E, 6 F and 7 G (ever more stable); a half is a class between two, such as A–B.
"""

from __future__ import annotations

from enum import IntEnum
from typing import Final

import numpy as np

NEUTRAL: Final = 4.0
"""Class D."""

A, AB, B, BC, C, CD, D, E, F, G = 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, NEUTRAL, 5.0, 6.0, 7.0


class Sky(IntEnum):
    """Columns of the Pasquill table: daytime heating, or cloud at night."""

    STRONG_SUN = 0
    MODERATE_SUN = 1
    SLIGHT_SUN = 2
    NIGHT_CLOUDY = 3
    """Thin overcast, or more than 4/8 low cloud."""
    NIGHT_CLEAR = 4
    """4/8 cloud or less."""


class Ceiling(IntEnum):
    """Height of the cloud base, as Turner's method asks for it."""

    LOW = 0
    """Below 7,000 ft (2,134 m)."""
    MIDDLE = 1
    """7,000 to 16,000 ft (4,877 m)."""
    HIGH = 2
    """Above that, or no ceiling."""


PASQUILL_SPEEDS: Final = np.array([2.0, 3.0, 5.0, np.nextafter(6.0, 7.0)])
"""[m/s] at 10 m, lower edges of the rows after the first; the last row is above 6."""

PASQUILL: Final = np.array(
    [
        [A, AB, B, E, F],
        [AB, B, C, E, F],
        [B, BC, C, D, E],
        [C, CD, D, D, D],
        [C, D, D, D, D],
    ]
)
"""Rows by wind, columns by :class:`Sky`. Source: Pasquill (1961), Meteorological
Magazine 90, 33-49, as given by NOAA's Air Resources Laboratory; published, seen in
excerpt."""

TURNER_SPEEDS: Final = np.array([0.8, 1.9, 2.9, 3.4, 3.9, 4.9, 5.5, 6.0])
"""[m/s] at 10 m, lower edges of the rows after the first. The table is printed in whole
knots; a speed between two printed rows takes the weaker wind."""

TURNER: Final = np.array(
    [
        [1, 1, 2, 3, 4, 6, 7],
        [1, 2, 2, 3, 4, 6, 7],
        [1, 2, 3, 4, 4, 5, 6],
        [2, 2, 3, 4, 4, 5, 6],
        [2, 2, 3, 4, 4, 4, 5],
        [2, 3, 3, 4, 4, 4, 5],
        [3, 3, 4, 4, 4, 4, 5],
        [3, 3, 4, 4, 4, 4, 4],
        [3, 4, 4, 4, 4, 4, 4],
    ],
    dtype=np.float64,
)
"""Rows by wind, columns by net radiation index 4, 3, 2, 1, 0, −1, −2. Source:
EPA-454/R-99-005 (2000) table 6-4; published, seen in excerpt."""

INSOLATION_ELEVATIONS: Final = (15.0, 35.0, 60.0)
"""[°] Upper edges of insolation classes 1, 2 and 3. Source: EPA-454/R-99-005 table
6-5; published, seen in excerpt."""

CLEAR_NIGHT: Final = 0.4
"""[share] Total cloud up to which Turner's night is clear. Source: EPA-454/R-99-005
section 6.4.1; published, seen in excerpt."""

HALF_COVER: Final = 0.5
"""[share] Total cloud up to which it takes nothing from the sun. Source: as above."""

SRDT_SPEEDS: Final = np.array([2.0, 3.0, 5.0, 6.0])
"""[m/s] at 10 m, lower edges of the daytime rows after the first."""

SRDT_RADIATION: Final = np.array([175.0, 675.0, 925.0])
"""[W/m²] lower edges of the daytime columns after the first."""

SRDT_DAY: Final = np.array(
    [[D, B, A, A], [D, C, B, A], [D, C, B, B], [D, D, C, C], [D, D, D, C]]
)
"""Rows by wind, columns by rising radiation. Source: EPA-454/R-99-005 table 6-7;
published, seen in excerpt."""

SRDT_NIGHT_SPEEDS: Final = np.array([2.0, 2.5])
"""[m/s] at 10 m, lower edges of the night rows after the first."""

SRDT_NIGHT: Final = np.array([[E, F], [D, E], [D, D]])
"""Rows by wind, columns: temperature falling with height, or not. Source: as above."""
