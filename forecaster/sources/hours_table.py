"""The program's own table of hours: ``time_utc`` and the columns of the frame.

One row an hour, oldest first, UTC; see ``docs/reference/weather-files.md``.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.sourced import Mark
from forecaster.domain.weather import (
    QUANTITIES,
    Codes,
    Floats,
    Origin,
    Provenance,
    WeatherFrame,
    spread,
)
from forecaster.sources.own_table import (
    OwnTable,
    cell_of,
    in_order,
    read_table,
    write_rows,
)
from forecaster.sources.ranges import RANGES, Range

if TYPE_CHECKING:
    from pathlib import Path

TIME = "time_utc"
ORIGIN = "origin"
HEADER: tuple[str, ...] = (TIME, *QUANTITIES, ORIGIN)

LONGEST_SPAN = 876_600
"""Hours, a century; a longer span is a mistyped year."""

_ALLOWED = {
    **RANGES,
    "relative_humidity": Range(0.0, 100.0, "%", "a share of full", Mark.DERIVED),
}
_ISO = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(?::\d\d)?Z")
_WORDS = {each.name.lower(): each for each in Origin}
_HOUR_S = 3600


def read_hours(path: Path, *, provenance: Provenance) -> WeatherFrame:
    """The frame a table of hours holds; hours left out become missing rows.

    Raises
    ------
    InputMissingError
        If there is no such file.
    DataError
        If a cell, the order or the step is wrong; each fault with its place.
    """
    table = read_table(path, HEADER, needed=(TIME,), words=(TIME, ORIGIN))
    seconds = _seconds(table)
    columns = {name: table.numbers(name, _ALLOWED[name]) for name in QUANTITIES}
    origin = _origins(table, columns)
    table.refuse_faults()
    hours = seconds // _HOUR_S
    longest = (LONGEST_SPAN, "a century")
    keep = in_order(table, TIME, hours, [*columns.values(), origin], longest=longest)
    table.refuse_faults()
    hours = hours[keep]
    span = int(hours[-1] - hours[0]) + 1
    at = hours - hours[0]
    codes = np.full(span, Origin.MISSING, dtype=np.uint8)
    codes[at] = origin[keep]
    first = np.datetime64(int(hours[0]) * _HOUR_S, "s")
    return WeatherFrame(
        time=first + np.arange(span) * np.timedelta64(_HOUR_S, "s"),
        **{name: spread(values[keep], at, span) for name, values in columns.items()},
        origin=codes,
        provenance=provenance,
        marks={},
    )


def write_hours(frame: WeatherFrame, path: Path) -> None:
    """Write ``frame`` so that :func:`read_hours` gives it back exactly.

    Raises
    ------
    OutputError
        If the file cannot be written; an older file is then still whole.
    """
    times = np.datetime_as_string(frame.time, unit="m").tolist()
    columns = [[cell_of(x) for x in getattr(frame, q).tolist()] for q in QUANTITIES]
    words = [Origin(code).name.lower() for code in frame.origin.tolist()]
    rows = zip(times, *columns, words, strict=True)
    write_rows(path, HEADER, (f"{time}Z,{','.join(cells)}\n" for time, *cells in rows))


def _seconds(table: OwnTable) -> np.typing.NDArray[np.int64]:
    """Seconds since 1970 of each row; 0 where the time is at fault."""
    cells = table.text(TIME)
    texts = [cell[:-1] if _ISO.fullmatch(cell) else "NaT" for cell in cells]
    try:
        times = np.array(texts, dtype="datetime64[s]")
    except ValueError:
        times = np.array([_time(text) for text in texts], dtype="datetime64[s]")
    for row in np.flatnonzero(np.isnat(times)).tolist():
        table.fault(
            row, TIME, "is not a UTC time; write it like 2026-10-12T07:00Z, with the Z"
        )
    seconds = np.where(np.isnat(times), 0, times.astype(np.int64))
    for row in np.flatnonzero(seconds % _HOUR_S != 0).tolist():
        table.fault(row, TIME, "is not a whole UTC hour; minutes must be 00")
    return seconds


def _time(text: str) -> np.datetime64:
    try:
        return np.datetime64(text, "s")
    except ValueError:
        return np.datetime64("NaT", "s")


def _origins(table: OwnTable, columns: dict[str, Floats]) -> Codes:
    """Origin of each row; without the column, rows holding a value are observed."""
    empty = np.all([np.isnan(values) for values in columns.values()], axis=0)
    default = np.where(empty, Origin.MISSING, Origin.OBSERVED).astype(np.uint8)
    if ORIGIN not in table.header:
        return default
    codes = default.copy()
    for row, word in enumerate(table.text(ORIGIN)):
        if word in _WORDS:
            codes[row] = _WORDS[word]
        elif word:
            table.fault(
                row, ORIGIN, f"is not an origin; write one of {', '.join(_WORDS)}"
            )
    return codes
