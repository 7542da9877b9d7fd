"""Roads between farms, and how far apart paddocks lie."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.domain.place import Place
    from forecaster.domain.rig.problem import Ints
    from forecaster.domain.rig.work_rate import Rig
    from forecaster.domain.weather import Floats

DETOUR = 1.3
"""Road over the straight line between two farms. Assumed."""
NEAR = 1_000.0
"""[m] Farms nearer than this are one place: their moves are in the paddock's own.
Assumed."""


def metres(points: Sequence[tuple[float, float] | None]) -> Floats:
    """Straight lines (n, n) between latitudes and longitudes; NaN where unknown."""
    from pyproj import Geod

    many = len(points)
    found = np.full((many, many), np.nan)
    known = [number for number, point in enumerate(points) if point is not None]
    place = np.array([points[number] for number in known], float).reshape(-1, 2)
    here, there = np.meshgrid(np.arange(len(known)), np.arange(len(known)))
    _, _, far = Geod(ellps="WGS84").inv(
        place[here.ravel(), 1], place[here.ravel(), 0],
        place[there.ravel(), 1], place[there.ravel(), 0],
    )  # fmt: skip
    found[np.ix_(known, known)] = np.asarray(far).reshape(here.shape)
    return found


def travel(places: Sequence[Place], rigs: Sequence[Rig], slot_hours: float) -> Ints:
    """Slots on the road (farms, farms) with the slowest rig, whole ones."""
    far = metres([(each.latitude, each.longitude) for each in places])
    hours = far * DETOUR / min(rig.road for rig in rigs) / 3600.0
    slots = np.ceil(hours / slot_hours - 1e-9).astype(np.int64)
    return np.where(far < NEAR, 0, slots)
