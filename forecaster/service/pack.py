"""A whole farm as one file: its own files as they are, and what its alerts told."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import PurePath
from typing import TYPE_CHECKING

from forecaster.errors import DataError, InputMissingError
from forecaster.service.alerts.farm_check import FOLDER as STATE_FOLDER
from forecaster.service.pack_tables import HISTORY, csv_rows, history_bytes, views
from forecaster.settings.farm import FARM_FILE, load_farm
from forecaster.settings.names import plain
from forecaster.store import pack_names
from forecaster.store.database import FILE as STATE_FILE
from forecaster.store.pack_zip import LARGEST_FILE, packed
from forecaster.store.reader import Reader

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from forecaster.service.pack_tables import Row
    from forecaster.settings.farm import Farm


@dataclass(frozen=True, slots=True)
class Packed:
    """A pack, and what it holds and does not."""

    content: bytes
    names: tuple[str, ...]
    left_out: tuple[str, ...]
    """In words, why too."""


def pack(folder: Path) -> Packed:
    """The farm of a folder as one zip; the same farm gives the same bytes.

    Raises
    ------
    SettingsError, InputMissingError
        If the farm cannot be read.
    DataError
        If it holds what cannot be packed.
    StateError
        If what the alerts keep cannot be read.
    """
    farm = load_farm(folder)
    files: dict[str, bytes] = {}
    left_out: list[str] = []
    for name, needed in _named(farm):
        _take(folder, name, files, left_out, needed=needed)
    for name, content in _history(folder).items():
        files[f"{pack_names.HISTORY}/{name}.csv"] = content
    for name, content in views(folder).items():
        files[f"{pack_names.VIEWS}/{name}"] = content
    twice = pack_names.clash(files)
    if twice is not None:
        raise DataError(
            f"{folder}: {plain(twice)} and another file have one name but for "
            "capitals; rename one"
        )
    return Packed(packed(files), tuple(sorted(files)), tuple(left_out))


def _named(farm: Farm) -> Iterator[tuple[str, bool]]:
    """Files of the farm, and whether it is none without them."""
    yield FARM_FILE, True
    if farm.map_file:
        yield farm.map_file, True
    weather = farm.weather
    for name in (weather.past_years, weather.errors):
        if name:
            yield name, False
    mapping = weather.file if weather.kind == "csv" else weather.station
    if weather.file:
        yield weather.file, False
    if weather.station:
        yield weather.station, False
    if mapping:
        yield from _table_of(farm.folder, mapping)
    for log in sorted(farm.folder.glob("*.jsonl")):
        if not log.name.startswith("."):
            yield log.name, False


def _table_of(folder: Path, mapping: str) -> Iterator[tuple[str, bool]]:
    """The table a mapping file names, where it says so in sound TOML."""
    path = folder / mapping
    try:
        tree = tomllib.loads(path.read_text(encoding="utf-8"))
        table = tree["table"]["file"]
    except (OSError, ValueError, KeyError, TypeError):
        return
    if isinstance(table, str) and table:
        above, _, _ = mapping.rpartition("/")
        yield f"{above}/{table}" if above else table, False


def _take(
    folder: Path,
    name: str,
    files: dict[str, bytes],
    left_out: list[str],
    *,
    needed: bool,
) -> None:
    """Add one file as it is, or say why not."""
    name = PurePath(name).as_posix()
    entry = f"{pack_names.FARM}/{name}"
    fault = pack_names.name_fault(name) or pack_names.entry_fault(entry)
    path = folder / name
    if not fault:
        fault = _place_fault(folder, path)
    if fault and needed:
        raise DataError(
            f"{folder}: {plain(name)} cannot be packed: {fault}. Put it into the "
            "farm's folder under a plain name, and name that in the farm file"
        )
    if fault:
        left_out.append(f"{plain(name)}: {fault}")
        return
    try:
        files[entry] = path.read_bytes()
    except OSError as error:
        raise InputMissingError(f"{path}: cannot be read ({error.strerror})") from None


def _place_fault(folder: Path, path: Path) -> str | None:
    """What keeps a file from being read into a pack; links may lead anywhere."""
    if not path.is_file():
        return "it is not there"
    if path.resolve() != folder.resolve() / path.relative_to(folder):
        return "it is a link, or lies behind one"
    if path.stat().st_size > LARGEST_FILE:
        return f"it has more than {LARGEST_FILE:,} bytes"
    return None


def _history(folder: Path) -> dict[str, bytes]:
    """Tables of what was told: rows of the state, and of an earlier unpacking."""
    state = _state_rows(folder)
    found: dict[str, bytes] = {}
    for name, columns in HISTORY.items():
        rows = state.get(name, [])
        earlier = folder / pack_names.HISTORY / f"{name}.csv"
        if earlier.is_file() and _place_fault(folder, earlier) is None:
            rows += csv_rows(str(earlier), earlier.read_bytes(), columns)
        if rows:
            found[name] = history_bytes(name, rows)
    return found


def _state_rows(folder: Path) -> dict[str, list[Row]]:
    state = folder / STATE_FOLDER
    if not (state / STATE_FILE).is_file():
        return {}
    with Reader.of(state) as reader:
        return {name: reader.every(name) for name in HISTORY}
