"""Areas, distances and bearings, against formulas and figures from elsewhere."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box

from forecaster.settings.farm import Farm, load_farm
from forecaster.settings.geometry import hectares, near, typed_near
from forecaster.settings.map_file import read_map
from forecaster.settings.shipped import demo_folder

# WGS 84 (NGA.STND.0036, table 3.1): semi-major axis and flattening.
A = 6_378_137.0
F = 1 / 298.257223563
E2 = F * (2 - F)
E = math.sqrt(E2)


def band_area(south: float, north: float, width: float) -> float:
    """Area [m²] between two parallels and two meridians ``width`` apart. [°].

    Snyder (1987), Map projections: a working manual, USGS Professional Paper 1395,
    p. 16, equation 3-12 (q), of which the band is a² (q₂ - q₁) / 2 per radian.
    """

    def q(latitude: float) -> float:
        s = math.sin(math.radians(latitude))
        return (1 - E2) * (
            s / (1 - E2 * s * s) - math.log((1 - E * s) / (1 + E * s)) / (2 * E)
        )

    return math.radians(width) * A * A * (q(north) - q(south)) / 2


def metres(latitude: float) -> tuple[float, float]:
    """Metres in a degree of longitude and of latitude.

    Radii of curvature of the prime vertical and the meridian: Snyder (1987), p. 24,
    equations 4-20 and 4-18.
    """
    s = math.sin(math.radians(latitude))
    prime = A / math.sqrt(1 - E2 * s * s)
    meridian = A * (1 - E2) / (1 - E2 * s * s) ** 1.5
    one = math.radians(1)
    return prime * math.cos(math.radians(latitude)) * one, meridian * one


def test_area_of_a_degree_square_at_the_equator() -> None:
    """12308778361.469452 m²: printed example of geographiclib-rs, struct PolygonArea.

    An implementation of Karney (2013), J. Geodesy 87, other than the one used here.
    """
    assert hectares(box(0, 0, 1, 1)) == pytest.approx(1_230_877.8361469452, rel=1e-9)


@pytest.mark.parametrize("south", [-45.0, -37.6, -10.0])
def test_area_of_a_square_against_the_closed_form(south: float) -> None:
    """A 0.01° square: its parallels bulge from the geodesics by under 1 in 10⁶."""
    expected = band_area(south, south + 0.01, 0.01) / 10_000
    square = box(142.3, south, 142.31, south + 0.01)
    assert hectares(square) == pytest.approx(expected, rel=1e-6)
    assert hectares(square.reverse()) == pytest.approx(expected, rel=1e-6)


def test_holes_and_parts_are_counted() -> None:
    """A hole is taken off, a second part put on."""
    outer, inner = (
        box(142.30, -37.60, 142.31, -37.59),
        box(142.302, -37.598, 142.304, -37.596),
    )
    ring = Polygon(outer.exterior.coords, [inner.exterior.coords])
    assert hectares(ring) == pytest.approx(hectares(outer) - hectares(inner))
    two = MultiPolygon([outer, box(142.32, -37.60, 142.33, -37.59)])
    assert hectares(two) == pytest.approx(2 * hectares(outer), rel=1e-9)


def test_demo_paddocks_have_the_area_their_farm_states() -> None:
    """Within 0.2 ha of the hectares of the farm's description."""
    stated = {
        "creek flat": 34, "woolshed": 26, "top dam": 48, "lone gum": 62,
        "stony rise": 41, "vine boundary": 29, "house": 18, "back road": 55,
    }  # fmt: skip
    drawn = read_map(demo_folder() / "paddocks.geojson").paddocks
    assert set(drawn) == set(stated)
    for name, expected in stated.items():
        assert hectares(drawn[name].geometry) == pytest.approx(expected, abs=0.2)


@pytest.fixture(scope="module")
def demo() -> Farm:
    """The demo farm."""
    return load_farm(demo_folder())


@pytest.mark.parametrize(
    ("paddock", "area", "distance", "bearing"),
    [
        ("Vine Boundary", "Vineyard", 70, 90),
        ("Stony Rise", "Vineyard", 180, 90),
        ("Back Road", "Neighbour's canola", 90, 180),
        ("Creek Flat", "Neighbour's canola", 245, 168),
        ("Creek Flat", "The creek", 22, 181),
        ("Back Road", "The creek", 35, 265),
        ("Stony Rise", "Hives", 113, 45),
        ("Top Dam", "Neighbour's house", 310, 270),
        ("Lone Gum", "Neighbour's house", 453, 223),
        ("House", "Neighbour's house", 483, 320),
    ],
)
def test_demo_neighbours_are_where_the_description_says(
    demo: Farm, paddock: str, area: str, distance: float, bearing: float
) -> None:
    """Nearest distance and bearing of the farm's written description, ±2 m and ±2°."""
    here = next(each for each in demo.paddocks if each.name == paddock)
    there = next(each for each in here.near if each.name == area)
    assert there.distance == pytest.approx(distance, abs=2)
    assert there.bearing == pytest.approx(bearing, abs=2)


def test_no_other_neighbour_is_near(demo: Farm) -> None:
    """Ten pairs of the description and no eleventh; nearest first."""
    pairs = [(each.name, len(each.near)) for each in demo.paddocks if each.near]
    assert sum(count for _, count in pairs) == 10
    for paddock in demo.paddocks:
        distances = [each.distance for each in paddock.near]
        assert distances == sorted(distances)


@pytest.mark.parametrize(
    ("wind_from", "barred"),
    [
        (22, {"Creek Flat", "Back Road"}),  # NNE
        (0, {"Creek Flat", "Back Road", "Stony Rise"}),
        (225, {"Vine Boundary", "Stony Rise"}),
        (135, {"Stony Rise", "Back Road"}),
        (157, {"Stony Rise", "Vine Boundary"}),  # SSE
        (90, {"Back Road"}),
    ],
)
def test_which_wind_bars_which_demo_paddock(
    demo: Farm, wind_from: int, barred: set[str]
) -> None:
    """The sides the farm's description gives for its five spray-week paddocks."""
    asked = {"Creek Flat", "Woolshed", "Stony Rise", "Vine Boundary", "Back Road"}
    found = {
        each.name
        for each in demo.paddocks
        if each.name in asked and each.exposure.exposed[wind_from]
    }
    assert found == barred


SQUARE = box(142.300, -37.605, 142.310, -37.600)


@pytest.mark.parametrize(
    ("east", "north"), [(0.002, 0.0), (0.0, 0.001), (-0.003, 0.0), (0.0, -0.002)]
)
def test_distance_along_an_axis_against_radii_of_curvature(
    east: float, north: float
) -> None:
    """Straight out from the middle of a side: degrees times the metres in one."""
    x = 142.305 if not east else (142.310 if east > 0 else 142.300) + east
    y = -37.6025 if not north else (-37.600 if north > 0 else -37.605) + north
    per_longitude, per_latitude = metres(y)
    found = near(SQUARE, Point(x, y), name="a", kind="b", care=1000)
    assert found is not None
    expected = math.hypot(east * per_longitude, north * per_latitude)
    assert found.distance == pytest.approx(expected, rel=1e-3)
    bearing = math.degrees(math.atan2(east, north)) % 360
    assert math.cos(math.radians(found.bearing - bearing)) > math.cos(math.radians(0.5))


@given(
    latitude=st.floats(-44, -28),
    bearing=st.floats(0, 359.99),
    distance=st.floats(50, 5000),
)
def test_a_point_against_the_geodesic_inverse(
    latitude: float, bearing: float, distance: float
) -> None:
    """Distance within 0.1 % and bearing within 0.1° of pyproj's Geod (Karney 2013).

    The paddock is a sliver two metres wide, so that it is nearly a point.
    """
    from pyproj import Geod

    geod = Geod(ellps="WGS84")
    x, y, _ = geod.fwd(142.3, latitude, bearing, distance)
    sliver = Point(142.3, latitude).buffer(1e-5)
    found = near(sliver, Point(x, y), name="a", kind="b", care=10_000)
    assert found is not None
    assert found.distance == pytest.approx(distance, abs=1.2 + distance / 1000)
    assert math.cos(math.radians(found.bearing - bearing)) > math.cos(math.radians(2))


def test_beyond_its_care_an_area_is_not_near() -> None:
    """A point 0.002° east, about 177 m: seen with 180 m of care, not with 170 m."""
    per_longitude, _ = metres(-37.6025)
    assert 176 < 0.002 * per_longitude < 178
    point = Point(142.312, -37.6025)
    assert near(SQUARE, point, name="a", kind="b", care=180) is not None
    assert near(SQUARE, point, name="a", kind="b", care=170) is None
    assert typed_near(90, 70, name="a", kind="b", care=69) is None


def test_a_typed_side_bars_the_winds_that_blow_there() -> None:
    """A vineyard to the east is exposed to winds from 210 to 330°: west ± 60°."""
    found = typed_near(90, 70, name="Vines", kind="vineyard", care=250)
    assert found is not None
    expected = np.zeros(360, dtype=bool)
    expected[210:331] = True
    np.testing.assert_array_equal(found.exposed, expected)
    assert (found.distance, found.bearing) == (70, 90)


def test_a_crop_over_the_fence_bars_only_its_own_side() -> None:
    """A shared edge has no bearing across it; the rest of the paddock has: due east.

    From the middle of the paddock the crop is east; no wind from east to west-about
    reaches it, whatever points lie on the fence itself.
    """
    crop = box(142.310, -37.605, 142.320, -37.600)
    found = near(SQUARE, crop, name="Crop", kind="canola", care=300)
    assert found is not None
    assert found.distance == pytest.approx(0, abs=0.5)
    assert found.bearing == pytest.approx(90, abs=1)
    assert found.exposed[270]
    assert not found.exposed[90]
    assert not found.exposed[[45, 60, 120, 135]].any()


def test_a_creek_through_a_paddock_bars_the_winds_across_it() -> None:
    """An east-west creek through the middle: from north and from south, not along."""
    creek = LineString([(142.295, -37.6025), (142.315, -37.6025)])
    found = near(SQUARE, creek, name="Creek", kind="creek", care=200)
    assert found is not None
    assert found.distance == 0
    assert found.exposed[[0, 180]].all()
    assert not found.exposed[[90, 270]].any()


def test_a_paddock_inside_an_area_is_exposed_to_every_wind() -> None:
    """No bearing to it can be told, so none is made up."""
    shire = box(142.2, -37.7, 142.4, -37.5)
    found = near(SQUARE, shire, name="Shire", kind="reserve", care=10)
    assert found is not None
    assert found.exposed.all()
    assert math.isnan(found.bearing)


def test_a_care_distance_shorter_than_the_test_points() -> None:
    """Five metres of care over a shared fence: the side from the middle counts."""
    crop = box(142.310, -37.605, 142.320, -37.600)
    found = near(SQUARE, crop, name="Crop", kind="canola", care=5)
    assert found is not None
    assert found.exposed[270]
    assert not found.exposed[90]
