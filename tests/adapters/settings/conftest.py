"""A sound farm file to spoil, and the one way to read what is said of it."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, Protocol

import pytest

from forecaster.cli.main import exit_code

if TYPE_CHECKING:
    from pathlib import Path

FARM = """\
[farm]
name = "Test farm"
zone = "Australia/Melbourne"
latitude = -37.5
longitude = 142.3
elevation_m = 200

[season]
autumn_break = 2026-05-03

[weather]
kind = "demo"

[labels.glyphosate]
label = "a label"
confirmed = true
confirmed_by = "A. Grazier"
read_on = 2026-09-01
weeds = ["barley_grass"]
wind_min_kmh = 3
wind_max_kmh = 20

[[paddock]]
name = "Creek"
hectares = 34
weeds = { barley_grass = 30, silver_grass = 10 }

[[paddock]]
name = "Hill"
hectares = 26
weeds = { annual_ryegrass = 35 }
nothing_near = true
"""


class Spoil(Protocol):
    """Writes the farm with its first ``old`` changed to ``new``; gives the folder."""

    def __call__(self, old: str = "", new: str = "") -> Path: ...


class Refused(Protocol):
    """Runs ``forecaster outlook`` on a folder that must be refused with ``code``."""

    def __call__(self, folder: Path, code: int = 78) -> str: ...


class WriteMap(Protocol):
    """Writes features as a GeoJSON file and gives its path."""

    def __call__(self, *features: Any) -> Path: ...


@pytest.fixture
def farm_text() -> str:
    """The sound farm file."""
    return FARM


@pytest.fixture
def spoil(tmp_path: Path) -> Spoil:
    """A folder with the farm, spoilt in one place."""

    def write(old: str = "", new: str = "") -> Path:
        assert old in FARM
        text = FARM.replace(old, new, 1) if old else FARM + new
        (tmp_path / "farm.toml").write_text(text, encoding="utf-8", newline="")
        return tmp_path

    return write


@pytest.fixture
def refused(capsys: pytest.CaptureFixture[str]) -> Refused:
    """What standard error says; nothing is printed, written or left as a traceback."""

    def run(folder: Path, code: int = 78) -> str:
        before = sorted(folder.rglob("*"))
        assert exit_code(["outlook", "--farm", str(folder)]) == code
        out, err = capsys.readouterr()
        assert out == ""
        assert err.startswith("forecaster: ")
        assert "Traceback" not in err
        assert err.replace("\n", "").isprintable()
        assert sorted(folder.rglob("*")) == before
        return err

    return run


def square(west: float = 142.3, south: float = -37.6, side: float = 0.004) -> list[Any]:
    """Coordinates of a square, closed, counter-clockwise."""
    east, north = west + side, south + side
    return [[[west, south], [east, south], [east, north], [west, north], [west, south]]]


def feature(name: object = "Creek", geometry: Any = None, **more: object) -> Any:
    """A GeoJSON feature; a square polygon unless told otherwise."""
    shape = geometry or {"type": "Polygon", "coordinates": square()}
    properties = {"name": name, **more}
    return {"type": "Feature", "properties": properties, "geometry": shape}


@pytest.fixture
def write_map(tmp_path: Path) -> WriteMap:
    """A function that writes ``map.geojson``."""

    def write(*features: Any) -> Path:
        path = tmp_path / "map.geojson"
        whole = {"type": "FeatureCollection", "features": list(features)}
        path.write_text(json.dumps(whole), encoding="utf-8")
        return path

    return write


@pytest.fixture(name="feature")
def feature_maker() -> Any:
    """The function :func:`feature`."""
    return feature


@pytest.fixture(name="square")
def square_maker() -> Any:
    """The function :func:`square`."""
    return square
