"""Faults that only show when the parts of a farm are held together."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from forecaster.domain.sourced import Mark, Sourced
from forecaster.domain.spraying.limits import Limit, Rank
from forecaster.settings import feed_file, paddock_choice, rig_file, stock_checks
from forecaster.settings.geometry import hectares
from forecaster.settings.names import same_name, unknown
from forecaster.settings.quantity_units import inside, sensible
from forecaster.settings.repeats import repeated

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.errors import Fault
    from forecaster.settings.document import Document
    from forecaster.settings.farm_file import (
        AdviceEntry,
        FarmFile,
        LabelTyped,
        PaddockEntry,
    )
    from forecaster.settings.library import Library
    from forecaster.settings.map_file import FarmMap
    from forecaster.settings.toml_positions import Path

AREA_SLACK = 0.10
"""Share by which a typed area may differ from the drawn one."""


def faults(
    document: Document,
    file: FarmFile,
    library: Library,
    drawn: FarmMap | None,
) -> list[Fault]:
    """Every fault that crosses tables, in the order of the file."""
    found = [
        *_place(document, file),
        *_weather(document, file),
        *_labels(document, file, library),
        *_advice(document, file, library),
        *_paddocks(document, file, library),
        *_areas(document, file, drawn),
        *_sensitive(document, file),
        *stock_checks.faults(document, file, library),
        *rig_file.faults(document, file),
        *paddock_choice.faults(document, file, library),
        *feed_file.faults(document, file, library),
    ]
    return sorted(found, key=lambda fault: (fault.line, fault.column))


def own_choices(
    limits: tuple[Limit, ...], advice: dict[str, AdviceEntry]
) -> tuple[Limit, ...]:
    """The limits with the farm's own bounds and holds put in."""
    return tuple(
        _own_choice(limit, advice[limit.id]) if limit.id in advice else limit
        for limit in limits
    )


def _own_choice(limit: Limit, entry: AdviceEntry) -> Limit:
    if entry.bound is None:
        return replace(limit, holds=entry.hold)
    unit = limit.stated.unit
    stated = Sourced(
        entry.bound,
        unit,
        min(entry.bound, limit.stated.low),
        max(entry.bound, limit.stated.high),
        f"the farm's own choice: {entry.because} (default {limit.stated.value:g} "
        f"{unit}, {limit.stated.source})",
        "farm file",
        Mark.USER,
    )
    bound = inside(limit.quantity, entry.bound, unit)
    return replace(limit, bound=bound, stated=stated, holds=entry.hold)


def _place(document: Document, file: FarmFile) -> Iterator[Fault]:
    farm = file.farm
    if farm.latitude == 0 and farm.longitude == 0:
        yield document.fault(
            ("farm", "latitude"),
            "latitude 0, longitude 0 lies in the Atlantic; type the farm's own",
        )
    elif farm.zone.startswith("Australia/") and not (
        -45 < farm.latitude < -9 and 110 < farm.longitude < 160  # noqa: PLR2004 - Australia's box
    ):
        line, column = document.position(("farm", "zone"))
        yield document.fault(
            ("farm", "latitude"),
            f"latitude {farm.latitude:g}, longitude {farm.longitude:g} is not in the "
            f"zone {farm.zone} of line {line}:{column}; southern latitudes are "
            "negative, and latitude comes first",
        )


_SERVICES = (
    "station", "contact", "years", "ensemble", "silo", "key_env", "open_meteo_url",
    "met_norway_url", "silo_url", "keep_forecasts",
)  # fmt: skip
_UNUSED = {
    "demo": (
        "file", "past_years", "errors", "issued", "moment", "invented", *_SERVICES,
    ),
    "csv": ("issued", "invented", *_SERVICES),
    "hours": _SERVICES,
    "open": ("file", "past_years", "issued", "moment", "invented"),
}  # fmt: skip
"""Keys of ``[weather]`` that a kind has no use for."""


def _weather(document: Document, file: FarmFile) -> Iterator[Fault]:
    weather = file.weather
    for key in _UNUSED[weather.kind]:
        if key in weather.model_fields_set:
            yield document.fault(
                ("weather", key),
                f'weather.{key} has no use with kind = "{weather.kind}"; remove it',
            )
    if weather.kind in {"hours", "csv"} and weather.file is None:
        yield document.fault(
            ("weather",),
            f'weather.file is missing; kind = "{weather.kind}" needs a file name',
        )


def _labels(
    document: Document,
    file: FarmFile,
    library: Library,
) -> Iterator[Fault]:
    for name, label in file.labels.items():
        if name not in library.actives:
            yield document.fault(
                ("labels", name), unknown("active", name, library.actives)
            )
        for number, weed in enumerate(label.weeds):
            if weed not in library.weeds:
                yield document.fault(
                    ("labels", name, "weeds", number),
                    unknown("weed", weed, library.weeds),
                )
        yield from _typed_label(document, ("labels", name), label)


def _typed_label(document: Document, here: Path, label: LabelTyped) -> Iterator[Fault]:
    if label.confirmed and not (label.confirmed_by.strip() and label.read_on):
        yield document.fault(
            (*here, "confirmed"),
            "confirmed = true needs confirmed_by (who read the label) and read_on "
            "(the day they read it)",
        )
    if (label.product_per_hectare is None) != (label.product_unit is None):
        yield document.fault(
            here, "product_per_hectare and product_unit go together; type both"
        )
    low, high = label.wind_min_kmh, label.wind_max_kmh
    if isinstance(low, float) and isinstance(high, float) and low >= high:
        line, _ = document.position((*here, "wind_max_kmh"))
        yield document.fault(
            (*here, "wind_min_kmh"),
            f"wind_min_kmh = {low:g} must be below wind_max_kmh = {high:g} of line "
            f"{line}",
        )


def _advice(document: Document, file: FarmFile, library: Library) -> Iterator[Fault]:
    known = {each.id: each for found in library.limits.values() for each in found}
    for name, entry in file.advice.items():
        if name not in known:
            yield document.fault(("advice", name), unknown("limit", name, known))
        elif known[name].rank is not Rank.ADVICE:
            yield document.fault(
                ("advice", name),
                f"{name} is {known[name].rank}, not advice; it cannot be changed here",
            )
        elif entry.bound is None and not entry.hold:
            yield document.fault(
                ("advice", name),
                f"{name} changes nothing; type bound = … or hold = true, or remove it",
            )
        elif entry.bound is not None:
            limit = known[name]
            allowed = sensible(limit.quantity, entry.bound, limit.stated.unit)
            if allowed:
                yield document.fault(
                    ("advice", name, "bound"), f"bound = {entry.bound:g}: {allowed}"
                )


def _paddocks(
    document: Document,
    file: FarmFile,
    library: Library,
) -> Iterator[Fault]:
    yield from repeated(document, "paddock", (each.name for each in file.paddock))
    yield from _ids(document, file)
    for number, paddock in enumerate(file.paddock):
        here = ("paddock", number)
        yield from _weeds(document, here, paddock, library)
        for place, active in enumerate(paddock.actives or []):
            if active not in library.actives:
                yield document.fault(
                    (*here, "actives", place),
                    unknown("active", active, library.actives),
                )
        yield from _past(document, here, paddock, library)


def _past(
    document: Document, here: Path, paddock: PaddockEntry, library: Library
) -> Iterator[Fault]:
    for place, each in enumerate(paddock.past):
        if each.active not in library.actives:
            yield document.fault(
                (*here, "past", place, "active"),
                unknown("active", each.active, library.actives),
            )
        elif each in paddock.past[:place]:
            yield document.fault(
                (*here, "past", place),
                f"{each.active} in {each.year} stands here twice; keep one",
            )


def _ids(document: Document, file: FarmFile) -> Iterator[Fault]:
    first: dict[str, int] = {}
    for number, paddock in enumerate(file.paddock):
        if paddock.id is None:
            continue
        earlier = first.setdefault(paddock.id, number)
        if earlier != number:
            line, _ = document.position(("paddock", earlier, "id"))
            yield document.fault(
                ("paddock", number, "id"),
                f"a second paddock with the id {paddock.id!r} (the first is on line "
                f"{line}); give it another",
            )


def _weeds(
    document: Document, here: Path, paddock: PaddockEntry, library: Library
) -> Iterator[Fault]:
    for weed in paddock.weeds:
        if weed not in library.weeds:
            yield document.fault(
                (*here, "weeds", weed), unknown("weed", weed, library.weeds)
            )
    if paddock.target is not None and paddock.target not in paddock.weeds:
        yield document.fault(
            (*here, "target"),
            f"target {paddock.target!r} is not among this paddock's weeds: "
            f"{', '.join(map(repr, paddock.weeds))}",
        )
    total = sum(paddock.weeds.values())
    if total > 100:  # noqa: PLR2004 - per cent of the sward
        yield document.fault(
            (*here, "weeds"),
            f"the weeds add up to {total:g} % of the sward; allowed is up to 100",
        )


def _areas(
    document: Document, file: FarmFile, drawn: FarmMap | None
) -> Iterator[Fault]:
    for number, paddock in enumerate(file.paddock):
        here = ("paddock", number)
        shape = drawn.paddocks.get(same_name(paddock.name)) if drawn else None
        if shape is None and paddock.hectares is None:
            where = f" and it is not on the map {drawn.path}" if drawn else ""
            yield document.fault(
                here,
                f"paddock {paddock.name!r} has no hectares{where}; type hectares = …",
            )
        elif shape is not None and paddock.hectares is not None:
            area = hectares(shape.geometry)
            if abs(area - paddock.hectares) > AREA_SLACK * area:
                yield document.fault(
                    (*here, "hectares"),
                    f"hectares = {paddock.hectares:g} but the map measures {area:.1f} "
                    "ha; correct one (they may differ by a tenth)",
                )


def _sensitive(document: Document, file: FarmFile) -> Iterator[Fault]:
    names = {same_name(each.name): each.name for each in file.paddock}
    for number, area in enumerate(file.sensitive):
        if same_name(area.paddock) not in names:
            yield document.fault(
                ("sensitive", number, "paddock"),
                unknown("paddock", area.paddock, list(names.values())),
            )
