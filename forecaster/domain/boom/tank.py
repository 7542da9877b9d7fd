"""Tanks of a paddock, and what goes into each."""

from __future__ import annotations

import math
from dataclasses import dataclass

ROUNDING = 1e-9
"""[tanks] A job that fills a tank to within this needs no other."""


@dataclass(frozen=True, slots=True)
class Tanks:
    """Tanks a paddock needs."""

    water: float
    """[L] in all."""
    count: int
    last: float
    """[L] in the last one; 0 where there is none."""
    hectares: float
    """[ha] that a full one covers."""


def tanks(hectares: float, volume: float, tank: float) -> Tanks:
    """How many tanks, and what the last one holds.

    Parameters
    ----------
    hectares : float
        To be sprayed. [ha]
    volume : float
        [L/ha]
    tank : float
        [L] that one holds.
    """
    water = hectares * volume
    count = max(math.ceil(water / tank - ROUNDING), 0)
    last = water - (count - 1) * tank if count else 0.0
    return Tanks(water, count, last, tank / volume)


def product_in(water: float, volume: float, rate: float) -> float:
    """Product for some spray, in the unit of ``rate`` without its hectare.

    Parameters
    ----------
    water : float
        Spray. [L]
    volume : float
        [L/ha]
    rate : float
        Product a hectare, read off the user's own label.
    """
    return water / volume * rate
