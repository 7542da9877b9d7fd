"""A sound farm folder, read into what the daily line needs."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

import pytest

from forecaster.domain.sourced import Mark
from forecaster.settings.farm import load_farm
from forecaster.settings.shipped import config_folder, demo_folder

if TYPE_CHECKING:
    from pathlib import Path


def test_the_demo_farm_loads() -> None:
    """Eight paddocks, two labels, and the farm's own two choices of advice."""
    farm = load_farm(demo_folder())
    assert farm.name == "Thornbill Rise"
    assert len(farm.paddocks) == 8
    assert set(farm.labels) == {"glyphosate", "paraquat"}
    limits = {limit.id: limit for limit in farm.limits["contact"]}
    top = limits["wind_top_advice"]
    assert top.bound == pytest.approx(20 / 3.6)
    assert top.stated.mark is Mark.USER
    assert "very coarse droplets" in top.stated.source
    assert "default 15 km/h" in top.stated.source
    assert limits["delta_t_stop"].holds
    assert limits["delta_t_stop"].stated.value == 10
    assert not top.holds


def test_the_file_itself_may_be_named(tmp_path: Path, farm_text: str) -> None:
    """A farm file under another name, and the folder it lies in."""
    path = tmp_path / "other.toml"
    path.write_text(farm_text, encoding="utf-8")
    farm = load_farm(path)
    assert farm.folder == tmp_path
    assert farm.name == "Test farm"


def test_what_is_left_out_takes_its_default(spoil: Any) -> None:
    """Largest share, every active, nothing near unless someone looked."""
    creek, hill = load_farm(spoil()).paddocks
    assert creek.target == "barley_grass"
    assert creek.actives == ("glyphosate", "paraquat")
    assert creek.hectares == 34
    assert not creek.surveyed
    assert hill.surveyed
    assert not hill.near
    assert not creek.exposure.exposed.any()


def test_what_is_typed_is_kept(spoil: Any) -> None:
    """Target, actives, dates and a hollow of one paddock."""
    folder = spoil(
        "nothing_near = true",
        'target = "annual_ryegrass"\nactives = ["paraquat"]\nhollow = true\n'
        'autumn_break = 2026-05-10\nsprayed = 2026-09-30\nnote = "Länd 🐑"',
    )
    _, hill = load_farm(folder).paddocks
    assert hill.target == "annual_ryegrass"
    assert hill.actives == ("paraquat",)
    assert hill.autumn_break == dt.date(2026, 5, 10)
    assert hill.sprayed == dt.date(2026, 9, 30)
    assert hill.hollow
    assert hill.exposure.hollow
    assert hill.note == "Länd 🐑"


def test_a_label_is_read_as_typed(spoil: Any) -> None:
    """Numbers, "not on label", a restraint and its absence."""
    folder = spoil(
        "wind_max_kmh = 20",
        'wind_max_kmh = 20\nrain_free_hours = "not on label"\n'
        "inversion_restraint = true\n"
        '[labels.paraquat]\ninversion_restraint = "not on label"',
    )
    labels = load_farm(folder).labels
    assert labels["glyphosate"].numbers == {
        "wind_min_kmh": 3.0,
        "wind_max_kmh": 20.0,
        "rain_free_hours": None,
        "inversion_restraint": 2.0,
    }
    assert labels["paraquat"].numbers == {"inversion_restraint": None}
    assert not labels["paraquat"].confirmed
    assert labels["glyphosate"].read_on == dt.date(2026, 9, 1)


def test_a_restraint_the_label_lacks(spoil: Any) -> None:
    """``false`` says the label has none, as "not on label" does."""
    folder = spoil("wind_max_kmh = 20", "inversion_restraint = false")
    assert load_farm(folder).labels["glyphosate"].numbers == {
        "wind_min_kmh": 3.0,
        "inversion_restraint": None,
    }


def test_a_typed_neighbour_bars_its_side(spoil: Any) -> None:
    """One to the east of Creek (named in capitals), one beyond its care."""
    entry = (
        '[[sensitive]]\nname = "{}"\npaddock = "CREEK"\nside = "east"\n'
        "distance_m = {}\ncare_m = 250\n"
    )
    folder = spoil("", entry.format("Vines", 70) + entry.format("House", 300))
    creek, hill = load_farm(folder).paddocks
    assert [each.name for each in creek.near] == ["Vines"]
    assert creek.near[0].bearing == 90
    assert creek.exposure.exposed[270]
    assert not creek.exposure.exposed[90]
    assert creek.surveyed
    assert not hill.near


def test_a_map_gives_areas_and_neighbours(
    spoil: Any, write_map: Any, feature: Any
) -> None:
    """A drawn paddock needs no hectares; one off the map keeps its own."""
    vines = {"type": "Point", "coordinates": [142.305, -37.598]}
    write_map(feature("CREEK"), feature("Vines", vines, care_m=200))
    folder = spoil("hectares = 34\n", "")
    path = folder / "farm.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace("elevation_m = 200", 'map = "map.geojson"'), encoding="utf-8"
    )
    creek, hill = load_farm(folder).paddocks
    assert 15 < creek.hectares < 16  # 0.004° squared at 37.6° S: 444 m by 353 m
    assert [each.name for each in creek.near] == ["Vines"]
    assert creek.surveyed
    assert hill.hectares == 26


def test_a_map_without_sensitive_areas_is_no_survey(
    spoil: Any, write_map: Any, feature: Any
) -> None:
    """Paddocks alone do not say that nothing lies near them."""
    write_map(feature("Creek"))
    folder = spoil("hectares = 34\n", "")
    path = folder / "farm.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace("elevation_m = 200", 'map = "map.geojson"'), encoding="utf-8"
    )
    assert not load_farm(folder).paddocks[0].surveyed


def test_a_farm_as_it_was_before_it_was_sprayed(spoil: Any) -> None:
    """Standing on an earlier day, a later spraying has not happened yet."""
    farm = load_farm(spoil("nothing_near = true", "sprayed = 2026-10-14"))
    latest = dt.date(2026, 11, 1)
    before = farm.on(dt.date(2026, 10, 13), latest).paddocks[1]
    after = farm.on(dt.date(2026, 10, 14), latest).paddocks[1]
    assert before.sprayed is None
    assert after.sprayed == dt.date(2026, 10, 14)


def test_shipped_files_are_found_in_a_wheel_and_in_a_checkout(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """``config/`` inside the package wins; beside it is where a checkout has it."""
    from forecaster.settings import shipped

    package = tmp_path / "forecaster"
    (package).mkdir()
    monkeypatch.setattr(shipped, "_PACKAGE", package)
    assert config_folder() == tmp_path / "config"
    (package / "config").mkdir()
    assert config_folder() == package / "config"
