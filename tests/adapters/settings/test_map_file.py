"""Maps by RFC 7946: what is taken, and what is said of the rest."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest

from forecaster.cli.main import exit_code
from forecaster.errors import DataError, InputMissingError
from forecaster.settings.map_file import read_map

if TYPE_CHECKING:
    from pathlib import Path

POINT = {"type": "Point", "coordinates": [142.3, -37.6]}


def refusal(path: Path) -> str:
    """What is said of a map that must be refused."""
    with pytest.raises(DataError) as caught:
        read_map(path)
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "not JSON"),
        ("paddocks", "not JSON"),
        ('{"type": "FeatureCollection"', "not JSON"),
        ("[" * 100_000, "not JSON"),
        ('{"type": ' + "9" * 5000 + "}", "not JSON"),
        ("[]", "type is missing; allowed is a GeoJSON FeatureCollection"),
        ("{}", "type is missing"),
        ("null", "type is missing"),
        ('{"type": "Topology"}', 'type is "Topology"; allowed is a GeoJSON Feature'),
        ('{"type": "\\u001b[2J"}', 'type is "\\u001b[2J"'),
        ('{"type": "FeatureCollection"}', "with a list of features"),
        ('{"type": "FeatureCollection", "features": {}}', "with a list of features"),
        ('{"type": "FeatureCollection", "features": []}', "holds no features; draw"),
    ],
)
def test_a_file_that_is_no_map(tmp_path: Path, text: str, said: str) -> None:
    """Not JSON, not GeoJSON, or nothing drawn: the path and what to do."""
    path = tmp_path / "a.geojson"
    path.write_text(text, encoding="utf-8")
    told = refusal(path)
    assert told.startswith(f"{path}: ")
    assert said in told


def test_another_encoding_is_a_fault_of_the_map(tmp_path: Path) -> None:
    """Latin-1 and UTF-16 are told with the byte; a missing map is missing."""
    path = tmp_path / "a.geojson"
    path.write_bytes('{"name": "é"}'.encode("latin-1"))
    assert f"{path}:1:11: byte 10 (0xe9) is not UTF-8" in refusal(path)
    path.write_bytes("{}".encode("utf-16"))
    assert "looks like UTF-16" in refusal(path)
    with pytest.raises(InputMissingError, match="no such file"):
        read_map(tmp_path / "none.geojson")


def polygon(*ring: tuple[float, float]) -> dict[str, object]:
    """A polygon of one ring."""
    return {"type": "Polygon", "coordinates": [[list(point) for point in ring]]}


BOW_TIE = polygon(
    (142.30, -37.60), (142.31, -37.59), (142.31, -37.60), (142.30, -37.59),
    (142.30, -37.60),
)  # fmt: skip
SWAPPED = polygon(
    (-37.60, 142.30), (-37.60, 142.31), (-37.59, 142.31), (-37.60, 142.30)
)
METRES = polygon(
    (614_000, 5_837_000), (615_000, 5_837_000), (615_000, 5_838_000),
    (614_000, 5_837_000),
)  # fmt: skip
LINE = polygon((142.30, -37.60), (142.31, -37.60), (142.30, -37.60), (142.30, -37.60))
TINY = polygon(
    (142.3, -37.6), (142.30001, -37.6), (142.30001, -37.59999), (142.3, -37.6)
)
STATE = polygon((141, -38), (149, -38), (149, -36), (141, -36), (141, -38))


@pytest.mark.parametrize(
    ("geometry", "said"),
    [
        (BOW_TIE, "crosses itself or is broken (Self-intersection"),
        (SWAPPED, "longitude -37.6, latitude 142.3 is not on the earth; swapped?"),
        (METRES, "degrees on WGS 84, not metres of a map grid"),
        (LINE, "crosses itself or is broken"),
        (TINY, "allowed is 0.01 to 20,000 ha; check the coordinates"),
        (STATE, "allowed is 0.01 to 20,000 ha"),
        (POINT, "is a Point without care_m"),
        ({"type": "LineString", "coordinates": [[1, 2], [3, 4]]}, "without care_m"),
        ({"type": "Circle", "coordinates": [1, 2]}, "geometry cannot be read"),
        ({"type": "Polygon"}, "geometry cannot be read"),
        ({"type": "Polygon", "coordinates": [[[1, 2]]]}, "geometry cannot be read"),
        ({"type": "Polygon", "coordinates": [[["a", "b"]]]}, "geometry cannot be"),
        ({"type": "Polygon", "coordinates": []}, "geometry is empty; draw it"),
        ({"type": "Point", "coordinates": [float("nan"), 0]}, "earth"),
        ("a drawing", "has no geometry; draw it"),
    ],
)
def test_a_paddock_that_cannot_be(
    write_map: Any, feature: Any, geometry: Any, said: str
) -> None:
    """Broken, elsewhere, too small, too large, or no area: named and told why."""
    told = refusal(write_map(feature("Hill", geometry)))
    assert 'feature 1 ("Hill"): ' in told
    assert said in told


def test_a_ring_that_is_off_the_earth_in_one_corner(
    write_map: Any, feature: Any
) -> None:
    """The corner that is wrong is the one shown."""
    shape = polygon((142.3, -37.6), (142.31, -37.6), (142.31, -337.6), (142.3, -37.6))
    told = refusal(write_map(feature("Hill", shape)))
    assert "longitude 142.31, latitude -337.6 is not on the earth" in told


@pytest.mark.parametrize(
    ("care", "said"),
    [
        ("250 m", 'care_m is "250 m"; allowed is a number of metres'),
        (True, "care_m is true; allowed is a number of metres"),
        ([250], "care_m is [250]; allowed is a number of metres"),
        (-1, "care_m is -1; allowed is above 0 to 10,000 m"),
        (0, "care_m is 0; allowed is above 0"),
        (10_001, "care_m is 10001; allowed"),
        (10**400, "allowed is above 0"),
        (float("nan"), "care_m is nan"),
    ],
)
def test_a_care_distance_that_is_none(
    write_map: Any, feature: Any, care: object, said: str
) -> None:
    """Words, true, a list, or a distance no drift goes."""
    assert said in refusal(write_map(feature("Vines", POINT, care_m=care)))


@pytest.mark.parametrize(
    ("properties", "said"),
    [
        ({}, "has no name"),
        (None, "has no name"),
        ([1], "has no name"),
        ({"name": 5}, "has no name"),
        ({"name": ""}, "the name is empty"),
        ({"name": "a\u202eb"}, "U+202E"),
        ({"name": "Vines", "care_m": 9, "kind": "a\x1bb"}, "U+001B"),
        ({"name": "Vines", "care_m": 9, "kind": 7}, 'kind is "7"'),
    ],
)
def test_a_feature_nobody_can_call_by_its_name(
    write_map: Any, feature: Any, properties: object, said: str
) -> None:
    """No name, a hidden character, or properties that are no table."""
    told = refusal(write_map({**feature(), "properties": properties}))
    assert "feature 1" in told
    assert said in told
    assert "\x1b" not in told


def test_all_faulty_features_in_one_error(
    write_map: Any, feature: Any, square: Any
) -> None:
    """Three wrong, one right: three lines, each with the number of its feature."""
    other = {"type": "Polygon", "coordinates": square(west=142.32)}
    told = refusal(
        write_map(
            feature("Creek"),
            feature("creek ", other),
            feature("Hill", BOW_TIE),
            "nothing",
            {"type": "Polygon", "coordinates": square()},
        )
    ).splitlines()
    assert [line.split(": ")[1].split(" (")[0] for line in told] == [
        "feature 2", "feature 3", "feature 4", "feature 5",
    ]  # fmt: skip
    assert "a second paddock called 'creek ' (the first is feature 1)" in told[0]
    assert all("is not a GeoJSON Feature" in line for line in told[2:])


def test_a_map_is_taken(
    tmp_path: Path, write_map: Any, feature: Any, square: Any
) -> None:
    """Polygons, multipolygons with heights, and any shape with care_m."""
    two = {"type": "MultiPolygon", "coordinates": [square(), square(west=142.32)]}
    high = [[[*point, 300.0] for point in square(south=-37.7)[0]]]
    drawn = read_map(
        write_map(
            feature("Creek", two),
            feature("Hill", {"type": "Polygon", "coordinates": high}),
            feature("Hives", POINT, care_m=500, kind="40 hives"),
            feature("Vines", POINT, care_m=2.5, kind=None),
        )
    )
    assert list(drawn.paddocks) == ["creek", "hill"]
    assert drawn.paddocks["creek"].geometry.geom_type == "MultiPolygon"
    assert [(each.name, each.kind, each.care) for each in drawn.sensitive] == [
        ("Hives", "40 hives", 500.0),
        ("Vines", "sensitive area", 2.5),
    ]
    path = tmp_path / "one.geojson"
    path.write_text("\ufeff" + json.dumps(feature("Only")), encoding="utf-8")
    assert list(read_map(path).paddocks) == ["only"]


def test_a_wrong_map_stops_the_program_cleanly(
    spoil: Any, refused: Any, write_map: Any, feature: Any
) -> None:
    """Exit 65, one message, nothing written."""
    write_map(feature("Hill", BOW_TIE))
    folder = spoil("elevation_m = 200", 'map = "map.geojson"')
    assert 'map.geojson: feature 1 ("Hill"): ' in refused(folder, 65)


def test_an_area_that_is_not_that_of_the_map(
    spoil: Any, refused: Any, write_map: Any, feature: Any, square: Any
) -> None:
    """Creek is drawn but typed too large; Hill is typed and drawn nowhere."""
    write_map(feature("Creek", {"type": "Polygon", "coordinates": square(side=0.005)}))
    folder = spoil("elevation_m = 200", 'map = "map.geojson"')
    told = refused(folder)
    # 0.005° square: 555.0 m high and 441.5 m wide at 37.6° S (WGS 84 radii of
    # curvature, worked by hand in test_geometry.py) = 24.5 ha, and 34 was typed.
    assert "farm.toml:25:1: hectares = 34 but the map measures 24.5 ha" in told
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    text = text.replace("hectares = 34\n", "").replace("hectares = 26\n", "")
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    told = refused(folder)
    assert "'Hill' has no hectares and it is not on the map" in told
    assert "map.geojson" in told
    text = text.replace("nothing_near = true", "hectares = 26")
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    assert exit_code(["outlook", "--farm", str(folder)]) == 0
