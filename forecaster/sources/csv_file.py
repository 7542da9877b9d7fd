"""Any foreign CSV of weather, read as a small mapping file says.

The steps stand in :func:`read_csv` in the order they are done. Nothing is guessed:
what the mapping does not say is refused or stays missing, and every value that is
changed is counted in the report.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.place import Place
from forecaster.domain.weather import (
    QUANTITIES,
    Origin,
    Provenance,
    WeatherFrame,
    empty_columns,
)
from forecaster.errors import DataError, SettingsError
from forecaster.settings.document import Document, read_document, validate
from forecaster.sources import derived
from forecaster.sources.csv_cells import numbers, read_cells
from forecaster.sources.csv_checks import refuse_wrong_units
from forecaster.sources.csv_hours import Hours, on_hours, without_doubles
from forecaster.sources.csv_mapping import Mapping
from forecaster.sources.csv_time import check_span, utc_times
from forecaster.sources.hours_table import LONGEST_SPAN
from forecaster.sources.import_report import ImportedWeather, ImportReport
from forecaster.sources.quality import held_to_rules
from forecaster.sources.reports import Reports
from forecaster.sources.units import COMPASS, Unit, unit_of

if TYPE_CHECKING:
    from pathlib import Path


def read_csv(mapping: Path) -> ImportedWeather:
    """The weather of the table that a mapping file describes.

    Raises
    ------
    InputMissingError
        If the mapping file or the table does not exist.
    SettingsError
        If the mapping file is wrong; all its faults at once.
    DataError
        If the table is not what the mapping says.
    """
    document = read_document(mapping)
    settings = validate(document, Mapping)
    units = _units(document, settings)
    path = mapping.parent / settings.table.file
    reports = _reports(path, settings, units)
    rows = len(reports)
    if not settings.table.units_checked:
        refuse_wrong_units(path, reports, settings.columns.mapped())
    reports = without_doubles(path, reports)
    reports = _checked(reports, settings)
    hours = on_hours(path, reports, settings.table.label)
    frame = _frame(path, hours, settings)
    return ImportedWeather(
        frame, _place(settings), _report(path, rows, reports, hours, frame)
    )


def _units(document: Document, settings: Mapping) -> dict[str, Unit | None]:
    """The unit of each mapped quantity; None for compass letters."""
    units: dict[str, Unit | None] = {}
    faults = []
    for name, column in settings.columns.mapped().items():
        if name == "wind_from" and column.unit == COMPASS:
            units[name] = None
            continue
        try:
            units[name] = unit_of(column.unit, name)
        except ValueError as error:
            faults.append(
                document.fault(
                    ("columns", name, "unit"),
                    f'columns.{name}.unit = "{column.unit}": {error}',
                )
            )
    if faults:
        raise SettingsError(faults)
    return units


def _reports(path: Path, settings: Mapping, units: dict[str, Unit | None]) -> Reports:
    """The rows of the file: UTC times and values in our units."""
    columns = {name: each.column for name, each in settings.columns.mapped().items()}
    table = settings.table
    cells = read_cells(path, table, [*settings.time.columns, *columns.values()])
    cells, time, findings = utc_times(path, cells, settings.time, table.typical_year)
    if not time.size:
        raise DataError(
            f"{path}: no row is left: {findings[0]}; give the file more rows"
        )
    check_span(path, cells.line, time, LONGEST_SPAN)
    values = {}
    for name, unit in units.items():
        column = numbers(path, cells, columns[name], table, compass=unit is None)
        values[name] = column if unit is None else unit.convert(column, name)
    return Reports(cells, time, values, columns, findings)


def _checked(reports: Reports, settings: Mapping) -> Reports:
    """Converted to the site and to 10 m, bad values removed, humidity worked out."""
    elevation = settings.place.elevation_m
    reports = derived.wind_from_components(reports)
    reports = derived.station_pressure(reports, settings.columns, elevation)
    reports = derived.wind_at_ten_metres(reports, settings.table.wind_height_m)
    return derived.humidity(held_to_rules(reports))


def _frame(path: Path, hours: Hours, settings: Mapping) -> WeatherFrame:
    columns = empty_columns(hours.time.size)
    columns |= {name: hours.values[name] for name in QUANTITIES if name in hours.values}
    there = np.any([~np.isnan(values) for values in columns.values()], axis=0)
    newest = hours.time[np.flatnonzero(there)[-1]] if there.any() else hours.time[-1]
    return WeatherFrame(
        time=hours.time,
        **columns,
        origin=np.where(there, Origin.OBSERVED, Origin.MISSING).astype(np.uint8),
        provenance=Provenance(
            source=settings.origin.publisher,
            licence=settings.origin.licence,
            issued=newest,
            notes=(f"read from {path.name}", *_conversions(settings)),
        ),
        marks={name: hours.marks[name] for name in QUANTITIES if name in hours.marks},
    )


def _conversions(settings: Mapping) -> list[str]:
    """What a reader of the numbers must know about them."""
    notes = []
    pressure = settings.columns.pressure
    if pressure is not None and pressure.at == "sea level":
        notes.append(
            "pressure brought from sea level to "
            f"{settings.place.elevation_m:g} m by the standard atmosphere"
        )
    if settings.table.wind_height_m != derived.OUR_HEIGHT:
        notes.append(
            f"wind measured at {settings.table.wind_height_m:g} m, "
            "given at 10 m by the log profile"
        )
    if settings.table.typical_year is not None:
        notes.append(
            f"a typical year put together from several; shown as "
            f"{settings.table.typical_year}"
        )
    return notes


def _place(settings: Mapping) -> Place:
    place = settings.place
    return Place(place.latitude, place.longitude, place.elevation_m, place.zone)


def _report(
    path: Path, rows: int, reports: Reports, hours: Hours, frame: WeatherFrame
) -> ImportReport:
    gaps = tuple(
        (name, int(np.isnan(getattr(frame, name)).sum()))
        for name in QUANTITIES
        if name in hours.values
    )
    return ImportReport(
        file=path.name,
        rows=rows,
        hours=len(frame),
        hours_missing=int((frame.origin == Origin.MISSING).sum()),
        gaps=gaps,
        findings=tuple(reports.findings),
        notes=hours.notes,
    )
