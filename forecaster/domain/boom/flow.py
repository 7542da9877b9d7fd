"""Litres a hectare, litres a minute and speed: any one from the other two.

In an hour a nozzle passes over speed × spacing; 600 is 10,000 m² a hectare × 60 min ÷
1,000 m a kilometre (University of Missouri Extension G1270A has the same in gallons,
miles and inches, with 5940).
"""

from __future__ import annotations

UNITS = 600.0


def flow_of(volume: float, speed: float, width: float) -> float:
    """What one nozzle must give, in L/min.

    Parameters
    ----------
    volume : float
        Sprayed. [L/ha]
    speed : float
        [km/h]
    width : float
        Sprayed by one nozzle: the spacing; of a whole boom for all of them. [m]
    """
    return volume * speed * width / UNITS


def volume_of(flow: float, speed: float, width: float) -> float:
    """What is sprayed, in L/ha: the way back of :func:`flow_of`."""
    return UNITS * flow / (speed * width)


def speed_of(flow: float, volume: float, width: float) -> float:
    """How fast to drive, in km/h."""
    return UNITS * flow / (volume * width)


def timed_speed(metres: float, seconds: float) -> float:
    """Speed from a measured distance, in km/h."""
    return 3.6 * metres / seconds
