"""Paddocks and sensitive areas from a GeoJSON file (RFC 7946).

A feature's ``name`` property names it. A feature with a ``care_m`` property is a
sensitive area, kept clear of drift by that many metres; any other polygon is a
paddock. Coordinates are longitude, latitude in degrees on WGS 84.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from forecaster.errors import DataError, SettingsError
from forecaster.settings.document import read_text
from forecaster.settings.names import name_fault, plain, same_name, text_fault

if TYPE_CHECKING:
    from pathlib import Path

    from shapely.geometry.base import BaseGeometry

POLE = 90.0
DATE_LINE = 180.0
SMALLEST_PADDOCK = 0.01
"""[ha] anything smaller is a slip in the coordinates."""
LARGEST_PADDOCK = 20_000.0
"""[ha] anything larger is a slip in the coordinates."""
FURTHEST_CARE = 10_000.0
"""[m] the largest care distance accepted."""


@dataclass(frozen=True, slots=True)
class Shape:
    """One named feature; ``care`` [m] is set for sensitive areas only."""

    name: str
    geometry: BaseGeometry
    kind: str = "paddock"
    care: float | None = None


@dataclass(frozen=True, slots=True)
class FarmMap:
    """Everything drawn on the map."""

    path: Path
    paddocks: dict[str, Shape]
    """By :func:`same_name` of the name."""
    sensitive: tuple[Shape, ...]


def read_map(path: Path) -> FarmMap:
    """Read and check a map; every faulty feature is named in one error.

    Raises
    ------
    InputMissingError
        If there is no such file.
    DataError
        If it is not GeoJSON or a feature cannot be used.
    """
    features = _features(path)
    paddocks: dict[str, Shape] = {}
    first: dict[str, int] = {}
    sensitive: list[Shape] = []
    faults: list[str] = []
    for number, feature in enumerate(features, start=1):
        try:
            shape = _shape(feature)
        except ValueError as error:
            faults.append(f"{path}: feature {number}{_called(feature)}: {error}")
            continue
        if shape.care is not None:
            sensitive.append(shape)
        elif same_name(shape.name) in paddocks:
            faults.append(
                f"{path}: feature {number}: a second paddock called {shape.name!r} "
                f"(the first is feature {first[same_name(shape.name)]}); rename one"
            )
        else:
            paddocks[same_name(shape.name)] = shape
            first[same_name(shape.name)] = number
    if faults:
        raise DataError("\n".join(faults))
    return FarmMap(path, paddocks, tuple(sensitive))


def _features(path: Path) -> list[Any]:
    try:
        data = json.loads(read_text(path))
    except SettingsError as error:
        raise DataError("\n".join(map(str, error.faults))) from None
    except (ValueError, RecursionError) as error:  # also a number too long to read
        raise DataError(
            f"{path}: not JSON ({error}); export the map as GeoJSON"
        ) from None
    kind = data.get("type") if isinstance(data, dict) else None
    if kind == "Feature":
        return [data]
    if kind != "FeatureCollection" or not isinstance(data.get("features"), list):
        found = plain(str(kind)) if kind else "missing"
        raise DataError(
            f"{path}: type is {found}; allowed is a GeoJSON FeatureCollection with a "
            "list of features"
        )
    if not data["features"]:
        raise DataError(f"{path}: holds no features; draw at least one paddock")
    features: list[Any] = data["features"]
    return features


def _called(feature: object) -> str:
    name = _properties(feature).get("name")
    return f" ({plain(name)})" if isinstance(name, str) else ""


def _properties(feature: object) -> dict[str, Any]:
    found = feature.get("properties") if isinstance(feature, dict) else None
    return found if isinstance(found, dict) else {}


def _shape(feature: object) -> Shape:
    if not isinstance(feature, dict) or feature.get("type") != "Feature":
        raise ValueError("is not a GeoJSON Feature")
    properties = _properties(feature)
    name = properties.get("name")
    if not isinstance(name, str):
        raise ValueError('has no name; give it a property "name"')
    fault = name_fault(name)
    if fault:
        raise ValueError(fault)
    geometry = _geometry(feature.get("geometry"))
    care = properties.get("care_m")
    if care is None:
        return Shape(name, _paddock(geometry))
    return Shape(name, geometry, _kind(properties), _care(care))


def _kind(properties: dict[str, Any]) -> str:
    kind = properties.get("kind") or "sensitive area"
    fault = text_fault(kind) if isinstance(kind, str) else "allowed is a word or two"
    if fault:
        raise ValueError(f"kind is {plain(str(kind))}: {fault}")
    return str(kind)


def _care(care: object) -> float:
    if isinstance(care, bool) or not isinstance(care, int | float):
        raise ValueError(
            f"care_m is {plain(json.dumps(care))[1:-1]}; allowed is a number of metres"
        )
    if not 0 < care <= FURTHEST_CARE:
        found = plain(str(care))[1:-1]
        raise ValueError(f"care_m is {found}; allowed is above 0 to 10,000 m")
    return float(care)


def _geometry(raw: object) -> BaseGeometry:
    import shapely
    from shapely.geometry import shape as from_mapping

    if not isinstance(raw, dict):
        raise ValueError("has no geometry; draw it")
    try:
        geometry = from_mapping(raw)
    except Exception as error:  # noqa: BLE001 - shapely raises many kinds here
        raise ValueError(f"geometry cannot be read ({error})") from None
    if geometry.is_empty:
        raise ValueError("geometry is empty; draw it")
    xy = shapely.get_coordinates(geometry)
    _check_degrees(xy)
    if not geometry.is_valid:
        reason = shapely.is_valid_reason(geometry)
        raise ValueError(
            f"the outline crosses itself or is broken ({reason}); redraw it so that "
            "no two edges cross"
        )
    return geometry


def _check_degrees(xy: Any) -> None:
    longitude, latitude = xy[:, 0], xy[:, 1]
    off = ~((abs(latitude) <= POLE) & (abs(longitude) <= DATE_LINE))
    if not off.any():
        return
    swapped = bool(
        (abs(longitude) <= POLE).all() and (abs(latitude) <= DATE_LINE).all()
    )
    hint = (
        "swapped? GeoJSON wants longitude first"
        if swapped
        else "coordinates must be degrees on WGS 84, not metres of a map grid"
    )
    east, north = xy[off][0]
    raise ValueError(
        f"longitude {east:g}, latitude {north:g} is not on the earth; {hint}"
    )


def _paddock(geometry: BaseGeometry) -> BaseGeometry:
    from forecaster.settings.geometry import hectares

    if geometry.geom_type not in {"Polygon", "MultiPolygon"}:
        raise ValueError(
            f"is a {geometry.geom_type} without care_m; a paddock is a Polygon, and a "
            'sensitive area needs a property "care_m" in metres'
        )
    area = hectares(geometry)
    if not SMALLEST_PADDOCK <= area <= LARGEST_PADDOCK:
        raise ValueError(
            f"measures {area:,.3f} ha; allowed is 0.01 to 20,000 ha; check the "
            "coordinates"
        )
    return geometry
