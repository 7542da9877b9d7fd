"""How fast a boom covers ground, and the hours a paddock needs with filling and moving.

The field capacity is that of ASABE EP496 and D497, *Agricultural Machinery Management*:
speed × width × field efficiency. Fills and the move to the paddock are added as they
fall, so the efficiency here stands for turns and overlap alone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

METRES = 10_000.0
"""[m²/ha]"""
SECONDS = 3_600.0
"""[s/h]"""
SLACK = 1e-9
"""[tanks] a paddock of just so many tanks needs no other."""


@dataclass(frozen=True, slots=True)
class Rig:
    """One boom, as typed by the farm."""

    name: str
    width: float
    """[m]"""
    speed: float
    """[m/s] while spraying."""
    efficiency: float
    """[share] of the time in work that is not turns or overlap."""
    tank: float
    """[L]"""
    volume: float
    """[L/ha] of water, read from the label by the user."""
    fill: float
    """[h] a fill, with the drive to the water."""
    move: float
    """[h] to one paddock from another on the same farm."""
    road: float = 40.0 / 3.6
    """[m/s] between farms. The default is assumed."""
    number: int = 1
    """Alike, each with its own driver."""


def capacity(rig: Rig) -> float:
    """Ground covered while spraying, v·w·e [ha/h]."""
    return rig.speed * SECONDS * rig.width * rig.efficiency / METRES


def fills(rig: Rig, hectares: float) -> int:
    """Tanks needed for ``hectares``, the first among them."""
    return math.ceil(hectares * rig.volume / rig.tank - SLACK)


def hours_needed(rig: Rig, hectares: float) -> float:
    """Hours to spray ``hectares``, filling and one move included [h].

    A/(v·w·e) + tanks × fill + move. NaN where the area is not known.
    """
    if math.isnan(hectares):
        return math.nan
    return hectares / capacity(rig) + fills(rig, hectares) * rig.fill + rig.move


def parts_of(hectares: float, largest: float) -> tuple[int, float]:
    """A paddock in equal parts of at most ``largest`` ha: how many, and their size.

    Without a limit (0) it stays whole.
    """
    if largest <= 0 or math.isnan(hectares):
        return 1, hectares
    count = max(1, math.ceil(hectares / largest - SLACK))
    return count, hectares / count
