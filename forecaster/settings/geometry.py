"""Areas, distances and bearings on the earth, by pyproj and shapely.

Bearings are taken in an azimuthal equidistant plane centred on the paddock, where
directions and distances near the centre are true.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from forecaster.domain.air.wind import exposed_directions

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from forecaster.domain.weather import Bools, Floats

HALF_ANGLE = 60.0
"""[°] either side of straight downwind that counts as exposed: 45° of spread plus
15° of error in the forecast direction. Assumed; no published angle was found."""
SPACING = 20.0
"""[m] between the points of a paddock that are tested."""
TOUCHING = 1.0
"""[m] within which two outlines touch: no farm map is drawn finer, so a direction
across it means nothing. Assumed."""


@dataclass(frozen=True, slots=True)
class Near:
    """A sensitive area as seen from one paddock.

    ``distance`` [m] and ``bearing`` [°] are of the shortest line to it; where the two
    touch, the bearing is from the middle of the paddock, and NaN where that lies in
    the area itself. ``exposed`` (360,) are the wind-from directions that carry drift
    towards it.
    """

    name: str
    kind: str
    care: float
    distance: float
    bearing: float
    exposed: Bools = field(repr=False)


def hectares(shape: BaseGeometry) -> float:
    """Geodesic area on the WGS 84 ellipsoid [ha]; holes are taken off.

    pyproj signs an area by the turn of its ring, so the rings are turned first: maps
    in use do not all keep the right-hand rule of RFC 7946, section 3.1.6.
    """
    from pyproj import Geod
    from shapely.geometry.polygon import orient

    geod = Geod(ellps="WGS84")
    parts = getattr(shape, "geoms", [shape])
    areas = (geod.geometry_area_perimeter(orient(part))[0] for part in parts)
    return float(sum(areas)) / 10_000


def middle(shape: BaseGeometry) -> tuple[float, float]:
    """Latitude and longitude of the centre of a shape [°]."""
    centre = shape.centroid
    return float(centre.y), float(centre.x)


def near(
    paddock: BaseGeometry, area: BaseGeometry, *, name: str, kind: str, care: float
) -> Near | None:
    """``area`` as seen from ``paddock``, or None beyond ``care`` metres.

    Every point of the paddock within the care distance counts, by the bearing from
    it to the nearest point of the area. Points that touch the area have no bearing
    to it; a paddock that lies in the area is exposed to every wind.
    """
    import shapely

    plane, here = _seen_from(paddock)
    there = plane(area)
    distance = float(shapely.distance(here, there))
    if distance > care:
        return None
    start = here if distance > TOUCHING else here.centroid
    shortest = shapely.shortest_line(start, there)
    apart = shapely.length(shortest) > TOUCHING
    bearing = float(_bearings(shortest)[0]) if apart else math.nan
    return Near(
        name, kind, care, distance, bearing, _exposed(here, there, care, bearing)
    )


def _exposed(
    here: BaseGeometry, there: BaseGeometry, care: float, bearing: float
) -> Bools:
    """Wind-from directions that carry drift from any point of ``here`` to ``there``.

    ``bearing`` stands in where no point tested lies between touching and ``care``.
    """
    import shapely

    lines = shapely.shortest_line(_points(here), there)
    length = shapely.length(lines)
    bearings = _bearings(lines[(length > TOUCHING) & (length <= care)])
    if bearings.size == 0 and math.isnan(bearing):
        return np.ones(360, dtype=np.bool_)
    return exposed_directions(bearings if bearings.size else [bearing], HALF_ANGLE)


def typed_near(
    bearing: float, distance: float, *, name: str, kind: str, care: float
) -> Near | None:
    """A sensitive area given as "vineyard, east, 70 m" rather than drawn."""
    if distance > care:
        return None
    exposed = exposed_directions(np.array([bearing]), HALF_ANGLE)
    return Near(name, kind, care, distance, bearing, exposed)


@lru_cache(maxsize=1)
def _seen_from(paddock: BaseGeometry) -> tuple[Any, BaseGeometry]:
    """The plane around a paddock, and it there; all its areas are asked in a row."""
    plane = _plane(paddock)
    return plane, plane(paddock)


def _plane(centre: BaseGeometry) -> Any:
    """A function from longitude and latitude to metres around ``centre``."""
    import shapely
    from pyproj import Proj

    middle = centre.centroid
    projection = Proj(proj="aeqd", lat_0=middle.y, lon_0=middle.x, ellps="WGS84")

    def project(shape: BaseGeometry) -> BaseGeometry:
        return shapely.transform(
            shape, lambda xy: np.column_stack(projection(xy[:, 0], xy[:, 1]))
        )

    return project


def _points(shape: BaseGeometry) -> Any:
    """Corners, edge points and a grid inside, none further apart than SPACING."""
    import shapely

    edge = shapely.get_coordinates(shapely.segmentize(shape, SPACING))
    left, low, right, high = shape.bounds
    grid = np.stack(
        np.meshgrid(np.arange(left, right, SPACING), np.arange(low, high, SPACING)),
        axis=-1,
    ).reshape(-1, 2)
    shapely.prepare(shape)
    inner = grid[shapely.contains_xy(shape, grid[:, 0], grid[:, 1])]
    return shapely.points(np.concatenate((edge, inner)))


def _bearings(lines: Any) -> Floats:
    """Bearing of each line [°], from its start to its end."""
    import shapely

    ends = shapely.get_coordinates(lines).reshape(-1, 2, 2)
    step = ends[:, 1] - ends[:, 0]
    bearing: Floats = np.degrees(np.arctan2(step[:, 0], step[:, 1])) % 360
    return bearing
