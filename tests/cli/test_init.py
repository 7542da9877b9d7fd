"""``forecaster init``: a farm that runs at once, and nothing half made."""

from __future__ import annotations

import errno
import json
import os
import re
import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from forecaster.cli.main import exit_code
from forecaster.service.new_farm import likely_zone
from forecaster.settings.farm import load_farm
from forecaster.settings.farm_file import FarmFile
from forecaster.settings.shipped import config_folder, demo_folder

if TYPE_CHECKING:
    from pydantic import BaseModel

    from forecaster.domain.outlook import Outlook

MAP = demo_folder() / "paddocks.geojson"


def init(*arguments: object) -> int:
    """Exit code of ``forecaster init``."""
    return exit_code(["init", *map(str, arguments)])


def feature(name: str, west: float, south: float, **more: object) -> dict[str, Any]:
    """A square paddock."""
    east, north = west + 0.004, south + 0.004
    ring = [[west, south], [east, south], [east, north], [west, north], [west, south]]
    shape = {"type": "Polygon", "coordinates": [ring]}
    return {"type": "Feature", "properties": {"name": name, **more}, "geometry": shape}


def map_of(folder: Path, *features: Any) -> Path:
    """A map file."""
    path = folder / "map.geojson"
    whole = {"type": "FeatureCollection", "features": features}
    path.write_text(json.dumps(whole), encoding="utf-8")
    return path


def everything(folder: Path) -> dict[str, bytes]:
    """Every file below ``folder`` and its bytes."""
    return {
        str(path.relative_to(folder)): path.read_bytes() if path.is_file() else b""
        for path in sorted(folder.rglob("*"))
    }


def test_a_farm_without_a_map_runs_at_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two example paddocks, one message, and an outlook that says it is invented."""
    folder = tmp_path / "deep" / "my farm"
    assert init(folder, "--name", 'O\'Brien "Home" $1 \\ 🐑') == 0
    out, err = capsys.readouterr()
    assert f"Made {folder / 'farm.toml'}" in out
    assert err == ""
    assert list(everything(tmp_path)) == [
        "deep", "deep/my farm", "deep/my farm/farm.toml",
    ]  # fmt: skip
    assert load_farm(folder).name == 'O\'Brien "Home" $1 \\ 🐑'
    assert exit_code(["outlook", "--farm", str(folder)]) == 0
    out = capsys.readouterr().out
    assert "INVENTED WEATHER" in out
    assert "Creek paddock, 34 ha" in out


def test_a_farm_with_a_map_runs_at_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Eight paddocks of the demo map, the map beside them byte for byte."""
    folder = tmp_path / "farm"
    assert init(folder, "--paddocks", MAP) == 0
    assert (folder / "paddocks.geojson").read_bytes() == MAP.read_bytes()
    farm = load_farm(folder)
    names = [
        each["properties"]["name"]
        for each in json.loads(MAP.read_text(encoding="utf-8"))["features"]
        if "care_m" not in each["properties"]
    ]
    assert len(names) == 8
    assert [paddock.name for paddock in farm.paddocks] == names
    # The middle of the farm is near the place its own file states.
    assert farm.place.latitude == pytest.approx(-37.595, abs=0.005)
    assert farm.place.longitude == pytest.approx(142.305, abs=0.005)
    capsys.readouterr()
    assert exit_code(["outlook", "--farm", str(folder), "--format", "json"]) == 0
    tree = json.loads(capsys.readouterr().out)
    assert [paddock["name"] for paddock in tree["paddocks"]] == names


def test_until_the_label_is_read_no_hour_is_good(tmp_path: Path) -> None:
    """A new farm never says good: its labels are not confirmed."""
    from forecaster.service.daily import outlook
    from forecaster.service.wiring import farm_day

    assert init(tmp_path / "farm", "--paddocks", MAP) == 0
    day, _ = farm_day(tmp_path / "farm", None, None)
    told: Outlook = outlook(day)
    assert told.paddocks
    for paddock in told.paddocks:
        assert paddock.fault is None
        assert not any(active.blocks for active in paddock.actives)


def test_names_of_the_map_are_written_as_they_are(tmp_path: Path) -> None:
    """Quotes, dollars and other scripts pass through the template and back."""
    names = ['The "Top"', "$zone", "遠い畑 \\ 🐑"]
    features = [feature(name, 142.3 + 0.01 * n, -37.6) for n, name in enumerate(names)]
    assert init(tmp_path / "farm", "--paddocks", map_of(tmp_path, *features)) == 0
    assert [paddock.name for paddock in load_farm(tmp_path / "farm").paddocks] == names
    text = (tmp_path / "farm" / "farm.toml").read_text(encoding="utf-8")
    assert "The map holds none." in text


def test_an_existing_farm_is_left_byte_for_byte(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """73; neither the farm file nor another map in the folder is written over."""
    shutil.copytree(demo_folder(), tmp_path / "farm")
    before = everything(tmp_path)
    assert init(tmp_path / "farm") == 73
    assert "is there already and is left as it is" in capsys.readouterr().err
    (tmp_path / "farm" / "farm.toml").unlink()
    other = map_of(tmp_path, feature("Creek", 142.3, -37.6))
    assert init(tmp_path / "farm", "--paddocks", other) == 73
    out, err = capsys.readouterr()
    assert out == ""
    assert "paddocks.geojson: is there already" in err
    after = everything(tmp_path)
    del before["farm/farm.toml"], after["map.geojson"]
    assert after == before


def test_a_map_may_lie_in_the_folder_already(tmp_path: Path) -> None:
    """``forecaster init . --paddocks paddocks.geojson`` where the map is."""
    shutil.copy(MAP, tmp_path)
    own = tmp_path / "paddocks.geojson"
    assert init(tmp_path, "--paddocks", own) == 0
    assert own.read_bytes() == MAP.read_bytes()
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "farm.toml", "paddocks.geojson",
    ]  # fmt: skip


BAD_MAPS = {
    "no JSON": ("{", "not JSON"),
    "only areas": (
        [feature("Vines", 142.3, -37.6, care_m=250)],
        "holds no paddock; draw one as a Polygon",
    ),
    "a crossed paddock": (
        [{**feature("Hill", 142.3, -37.6), "geometry": None}],
        'feature 1 ("Hill"): has no geometry',
    ),
    # Across the Tasman: the weather zone of the new file cannot be guessed.
    "New Zealand": ([feature("Hill", 172.6, -43.5)], "is not in the zone"),
}


@pytest.mark.parametrize("kind", BAD_MAPS)
def test_a_bad_map_makes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], kind: str
) -> None:
    """65, in words of the map; not even the folder above is made."""
    content, said = BAD_MAPS[kind]
    path = map_of(tmp_path, *(content if isinstance(content, list) else []))
    if isinstance(content, str):
        path.write_text(content, encoding="utf-8")
    assert init(tmp_path / "new" / "farm", "--paddocks", path) == 65
    out, err = capsys.readouterr()
    assert out == ""
    assert f"{path}: " in err
    assert said in err
    assert list(tmp_path.iterdir()) == [path]


def test_a_missing_map_makes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """66 and the path."""
    assert init(tmp_path / "farm", "--paddocks", tmp_path / "none.geojson") == 66
    assert "none.geojson: no such file" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("name", "said"),
    [("", "the name is empty"), ("a\x1bb", "U+001B"), ("a" * 81, "81 characters")],
)
def test_a_name_that_cannot_be_one_makes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, said: str
) -> None:
    """64, and the control character is not sent to the terminal."""
    assert init(tmp_path / "farm", "--name", name) == 64
    err = capsys.readouterr().err
    assert "--name" in err
    assert said in err
    assert "\x1b" not in err
    assert not list(tmp_path.iterdir())


def test_a_folder_that_cannot_be_made(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """73 where a file is in the way or the disk is full; no scraps."""
    (tmp_path / "file").write_text("old", encoding="utf-8")
    assert init(tmp_path / "file") == 73
    assert init(tmp_path / "file" / "farm") == 73
    assert "cannot be made (" in capsys.readouterr().err

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(Path, "replace", full)
    assert init(tmp_path / "farm") == 73
    assert "No space left on device" in capsys.readouterr().err
    monkeypatch.undo()
    assert not (tmp_path / "farm" / "farm.toml").exists()
    left = sorted(path.name for path in tmp_path.iterdir())
    assert [name for name in left if name not in {"farm", "file"}] == []
    assert (tmp_path / "file").read_text(encoding="utf-8") == "old"


@pytest.mark.parametrize(
    ("latitude", "longitude", "zone"),
    [
        # Towns of each zone, by any atlas; from memory, to the nearest degree.
        (-33.7, 117.6, "Australia/Perth"),
        (-34.5, 138.7, "Australia/Adelaide"),
        (-37.6, 142.3, "Australia/Melbourne"),
        (-35.1, 147.4, "Australia/Melbourne"),
        (-42.0, 147.5, "Australia/Hobart"),
        (-27.5, 152.0, "Australia/Brisbane"),
    ],
)
def test_the_zone_to_start_from(latitude: float, longitude: float, zone: str) -> None:
    """The clock of the state the farm lies in."""
    assert likely_zone(latitude, longitude) == zone


NOT_SHOWN = {
    "advice": "a table for those who know the limits: docs/method/limits.md",
    "bound": "of [advice]",
    "hold": "of [advice]",
    "because": "of [advice]",
    "past_years": "of one's own weather: docs/how-to/use-your-own-weather.md",
    "issued": "of one's own weather",
    "moment": "for demonstrations: it stands still",
    "invented": "for demonstrations",
    "key_env": "for a paid key: docs/reference/farm-file.md",
    "open_meteo_url": "for a server of one's own",
    "met_norway_url": "for a server of one's own",
    "silo_url": "for a server of one's own",
    "air_temperature_max_c": "few labels state one",
    "relative_humidity_min_pct": "few labels state one",
    "weights": "for who weighs weeds: docs/reference/farm-file.md",
    "harm": "of [weights]",
    "seed_life": "of [weights]",
    "id": "for who renames paddocks: docs/reference/farm-file.md",
    "private_hosts": "for a server of one's own: docs/how-to/get-alerts.md",
    "heartbeat": "docs/how-to/get-alerts.md",
    "second": "docs/how-to/get-alerts.md",
    "check": "hourly is right where the machine is on",
    "rigs": "for several booms that differ: docs/reference/farm-file.md",
    "number": "for several booms alike",
    "road_kmh": "for several farms",
}
"""Keys a first farm can do without, and why."""


def keys_of(model: type[BaseModel]) -> set[str]:
    """Every key of a model and of the models its tables hold."""
    from forecaster.settings import (
        alerts_file,
        choice_file,
        farm_file,
        feed_file,
        rig_file,
        stock_file,
    )

    homes = {
        "farm_file": farm_file,
        "stock_file": stock_file,
        "alerts_file": alerts_file,
        "rig_file": rig_file,
        "choice_file": choice_file,
        "feed_file": feed_file,
    }
    found = {field.alias or name for name, field in model.model_fields.items()}
    for field in model.model_fields.values():
        for home, name in re.findall(r"(\w+_file)\.(\w+)", str(field.annotation)):
            found |= keys_of(getattr(homes[home], name))
    return found


def test_the_template_shows_every_key_of_the_farm_file(tmp_path: Path) -> None:
    """A key that can be typed is in the new file or in the short list above."""
    assert init(tmp_path / "farm") == 0
    shown = (tmp_path / "farm" / "farm.toml").read_text(encoding="utf-8")
    keys = keys_of(FarmFile)
    assert len(keys) > 40
    missing = {
        key
        for key in keys
        if not re.search(rf"\b{key} = |(?m:^#? *\[\[?(\w+\.)?{key}\b)", shown)
    }
    assert sorted(missing - set(NOT_SHOWN)) == []


def test_no_key_of_the_template_is_unknown() -> None:
    """Every ``key =`` behind a # is one the farm file knows."""
    template = (config_folder() / "templates" / "farm.toml").read_text(encoding="utf-8")
    offered = set(re.findall(r"(?m)^#\s+(\w+) = ", template))
    assert len(offered) > 8
    assert offered <= keys_of(FarmFile)
