"""A place: where the air is, and which clock its people read."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Place:
    """Latitude and longitude in degrees (south and west negative), elevation in m.

    ``zone`` is an Area/City name of the time-zone database, used for printing only.
    """

    latitude: float
    longitude: float
    elevation: float
    zone: str
