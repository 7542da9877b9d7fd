"""A new farm folder from the shipped template, and from a map where there is one."""

from __future__ import annotations

import json
import shutil
import tempfile
from pathlib import Path
from string import Template

from forecaster.errors import DataError, OutputError, SettingsError, UsageError
from forecaster.settings.farm import FARM_FILE, load_farm
from forecaster.settings.geometry import hectares
from forecaster.settings.map_file import FarmMap, read_map
from forecaster.settings.names import name_fault
from forecaster.settings.shipped import config_folder

MAP_FILE = "paddocks.geojson"
EXAMPLE_PLACE = (-37.595, 142.305)
"""Latitude and longitude of the demo farm, to be replaced."""

EXAMPLE_PADDOCKS = """[[paddock]]
name = "Creek paddock"
hectares = 34
weeds = { barley_grass = 30, silver_grass = 10 }

[[paddock]]
name = "Hill paddock"
hectares = 26
weeds = { annual_ryegrass = 35 }
nothing_near = true
"""
EXAMPLE_SENSITIVE = """[[sensitive]]
name = "Neighbour's vineyard"
kind = "vineyard"
paddock = "Creek paddock"
side = "east"        # north, north-east, east, south-east, south, …
distance_m = 70
care_m = 250
"""


def make(folder: Path, map_path: Path | None, name: str) -> Path:
    """Make ``folder`` with a commented farm file; all of it or nothing.

    Returns
    -------
    Path
        The farm file.

    Raises
    ------
    OutputError
        If the folder holds a farm already or cannot be written.
    DataError, InputMissingError
        If the map cannot be used.
    UsageError
        If the name cannot be a name.
    """
    fault = name_fault(name)
    if fault:
        raise UsageError(f"--name {name!r}: {fault}")
    drawn = None if map_path is None else _read_map(map_path)
    _check_free(folder, map_path)
    text = farm_text(name, drawn)
    _prove(text, map_path)
    try:
        _write(folder, text, map_path)
    except OSError as error:
        raise OutputError(
            f"{folder}: cannot be made ({error.strerror}); name another folder"
        ) from None
    return folder / FARM_FILE


def _read_map(path: Path) -> FarmMap:
    drawn = read_map(path)
    if not drawn.paddocks:
        raise DataError(f"{path}: holds no paddock; draw one as a Polygon")
    return drawn


def _check_free(folder: Path, map_path: Path | None) -> None:
    """Nothing of the user's is written over; a map may be in its folder already."""
    taken = [folder / FARM_FILE]
    if map_path is not None and map_path.resolve() != (folder / MAP_FILE).resolve():
        taken.append(folder / MAP_FILE)
    for path in taken:
        if path.exists():
            raise OutputError(
                f"{path}: is there already and is left as it is; name another folder"
            )


def _prove(text: str, map_path: Path | None) -> None:
    """Load the new farm out of the way; what is wrong can only come from the map.

    Raises
    ------
    DataError
        In words of the map, for the farm file is not there to be corrected yet.
    """
    with tempfile.TemporaryDirectory() as scratch:
        _fill(Path(scratch), text, map_path)
        try:
            load_farm(Path(scratch))
        except SettingsError as error:
            messages = [f"{map_path}: {fault.message}" for fault in error.faults]
            raise DataError("\n".join(messages)) from None


def _write(folder: Path, text: str, map_path: Path | None) -> None:
    """Fill a neighbour folder, then move its files into place."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder.parent) as scratch:
        _fill(Path(scratch), text, map_path)
        folder.mkdir(exist_ok=True)
        for made in sorted(Path(scratch).iterdir(), reverse=True):
            made.replace(folder / made.name)


def _fill(folder: Path, text: str, map_path: Path | None) -> None:
    (folder / FARM_FILE).write_text(text, encoding="utf-8", newline="\n")
    if map_path is not None:
        shutil.copyfile(map_path, folder / MAP_FILE)


def farm_text(name: str, drawn: FarmMap | None) -> str:
    """The farm file, with the map's paddocks where there is a map."""
    template = Template(
        (config_folder() / "templates" / FARM_FILE).read_text(encoding="utf-8")
    )
    latitude, longitude = EXAMPLE_PLACE if drawn is None else _middle(drawn)
    return template.substitute(
        name=quoted(name),
        zone=likely_zone(latitude, longitude),
        latitude=f"{latitude:.3f}",
        longitude=f"{longitude:.3f}",
        map_line=f'map = "{MAP_FILE}"'
        if drawn
        else '# map = "paddocks.geojson"  # a GeoJSON map, if you have one',
        paddocks=EXAMPLE_PADDOCKS if drawn is None else _paddocks(drawn),
        sensitive=EXAMPLE_SENSITIVE if drawn is None else _sensitive(drawn),
    )


def _middle(drawn: FarmMap) -> tuple[float, float]:
    points = [shape.geometry.centroid for shape in drawn.paddocks.values()]
    return (
        sum(point.y for point in points) / len(points),
        sum(point.x for point in points) / len(points),
    )


def likely_zone(latitude: float, longitude: float) -> str:
    """A zone to start from, by rough state lines; the user checks it."""
    if longitude < 129.0:  # noqa: PLR2004 - the border of Western Australia
        return "Australia/Perth"
    if longitude < 141.0:  # noqa: PLR2004 - the eastern border of South Australia
        return "Australia/Adelaide"
    if latitude < -39.5:  # noqa: PLR2004 - Bass Strait
        return "Australia/Hobart"
    if latitude > -29.0:  # noqa: PLR2004 - the southern border of Queensland
        return "Australia/Brisbane"
    return "Australia/Melbourne"


def _paddocks(drawn: FarmMap) -> str:
    return "\n".join(
        f"[[paddock]]  # {hectares(shape.geometry):.1f} ha on the map\n"
        f"name = {quoted(shape.name)}\n"
        "weeds = { barley_grass = 20 }  # type what grows here\n"
        for shape in drawn.paddocks.values()
    )


def _sensitive(drawn: FarmMap) -> str:
    if not drawn.sensitive:
        return (
            "# The map holds none. Until you add one here or there, or write\n"
            "# nothing_near = true in a paddock, its hours are unknown.\n"
        )
    names = [f"#   {area.name}: {area.care:g} m" for area in drawn.sensitive]
    return "\n".join(["# On the map already:", *names, ""])


def quoted(text: str) -> str:
    """``text`` as a TOML string; JSON's escapes are TOML's."""
    return json.dumps(text, ensure_ascii=False)
