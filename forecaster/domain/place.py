"""A place: where the air is, and which clock its people read."""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, cos, radians, sin, sqrt

EARTH_KM = 6371.0
"""Mean radius."""


@dataclass(frozen=True, slots=True)
class Place:
    """Latitude and longitude in degrees (south and west negative), elevation in m.

    ``zone`` is an Area/City name of the time-zone database, used for printing only.
    """

    latitude: float
    longitude: float
    elevation: float
    zone: str

    def kilometres_to(self, latitude: float, longitude: float) -> float:
        """Great-circle distance by the haversine formula; NaN for NaN."""
        here, there = radians(self.latitude), radians(latitude)
        half_north = sin((there - here) / 2)
        half_east = sin(radians(longitude - self.longitude) / 2)
        chord = half_north**2 + cos(here) * cos(there) * half_east**2
        return 2 * EARTH_KM * asin(sqrt(min(chord, 1.0)))
