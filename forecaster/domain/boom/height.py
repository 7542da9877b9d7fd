"""How high a boom must stand above the heads for its fans to overlap twice.

A flat fan throws more in its middle than at its edges. Where each fan is as wide as
two spacings, every point is met by two of them (100 %, or double, overlap: T. Wolf,
*Broadcast boom nozzle spacing*, seen in excerpt). Plain geometry: fan angles are
taken as stamped, and nozzles as pointing straight down.
"""

from __future__ import annotations

import math

DOUBLE = 2.0
"""Width of a fan at the heads in spacings, for double overlap."""


def height_for(spacing: float, angle: float, overlap: float = DOUBLE) -> float:
    """Height of the nozzles above the heads. Same unit as ``spacing``.

    Half a fan's width over the tangent of half its angle: with double overlap,
    spacing / tan(angle / 2).

    Parameters
    ----------
    spacing : float
        Between nozzles.
    angle : float
        Of the fan. [°] Between 0 and 180, both excluded.
    overlap : float
        Width of a fan at the heads, in spacings.
    """
    return overlap * spacing / 2.0 / math.tan(math.radians(angle) / 2.0)


def overlap_at(height: float, spacing: float, angle: float) -> float:
    """Width of a fan at the heads, in spacings; below 1 there are gaps between."""
    return 2.0 * height * math.tan(math.radians(angle) / 2.0) / spacing
