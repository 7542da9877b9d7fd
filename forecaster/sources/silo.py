"""SILO point data: daily weather of Australia from 1889 to about yesterday, CSV.

============  =====  ====  =======================================================
theirs        ours   unit  valid under the date d
============  =====  ====  =======================================================
max_temp      tmax   °C    24 h **from** 9 am on d, so the afternoon of d
min_temp      tmin   °C    24 h **to** 9 am on d, so mostly the early morning of d
daily_rain    rain   mm    24 h **to** 9 am on d, so most of it fell on d − 1
*_source      –      code  75 is the long-term average: no weather, left out
============  =====  ====  =======================================================

Dates are kept as the service gives them. The 9 am days are those of the Bureau of
Meteorology, whose observations SILO is made from (published, seen in excerpt: Bureau
of Meteorology, "About the Climate Extremes Tables"; SILO, frequently asked questions:
the Bureau moves the maximum to the day before its reading, and SILO uses it so).

Against our days, which begin at solar midnight, maximum and minimum dated d are those
of day d: the afternoon's and the morning's. Only a minimum of the evening, of a cold
change after 9 am, is dated a day late. Rain dated d fell for 15 of its 24 hours on
d − 1, and :func:`on_solar_days` puts it there.

Shape: SILO, "File formats and samples" (published), and answers recorded in the tests
of the R package weatherOz (published).
"""

from __future__ import annotations

import csv
import re
from dataclasses import replace
from typing import TYPE_CHECKING, Final
from urllib.parse import parse_qs, urlsplit

import numpy as np

from forecaster.domain.place import Place
from forecaster.errors import RefusedError, UnusableError
from forecaster.sources.canonical_url import canonical_url
from forecaster.sources.contact import mail
from forecaster.sources.days_table import DAY_RAIN, DayOrigin, Days, DaysTable
from forecaster.sources.ranges import RANGES
from forecaster.sources.redact import Redactor
from forecaster.sources.request import Parsed, Request
from forecaster.sources.service_values import Doubts, near
from forecaster.sources.strict_json import LARGEST, quoted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.domain.weather import Floats
    from forecaster.sources.ranges import Range

SOURCE: Final = "silo"
NAME: Final = "SILO"
LICENCE: Final = (
    "SILO climate data, State of Queensland "
    "(https://www.longpaddock.qld.gov.au/silo/), CC BY 4.0"
)
HOST: Final = "https://www.longpaddock.qld.gov.au"
PATH: Final = "/cgi-bin/silo/DataDrillDataset.php"
WEEK: Final = np.timedelta64(7, "D")
FRESH_FOR: Final = 7 * 86_400
"""[s] Assumed: days change for months, and the service watches how much is asked."""
FIRST_DAY: Final = np.datetime64("1889-01-01")
LATEST: Final = 2
"""[d] before now, UTC: the last day that is surely there, Queensland being ahead."""
COMMENT: Final = "RXN"
"""Rain, maximum, minimum."""
WEST, EAST, SOUTH, NORTH = 112.0, 154.0, -44.0, -10.0
"""[°] of the grid (published: SILO, frequently asked questions)."""
PER_DEGREE: Final = 20
"""Grid points (published, the same page)."""

COLUMNS: Final[tuple[tuple[str, str, Range], ...]] = (
    ("max_temp", "tmax", RANGES["air_temperature"]),
    ("min_temp", "tmin", RANGES["air_temperature"]),
    ("daily_rain", "rain", DAY_RAIN),
)
LONG_TERM_AVERAGE: Final = "75"
CODES: Final = frozenset({"0", "15", "25", "26", "35", "42"})
"""Observed, de-accumulated, interpolated, synthetic, anomaly; 42 only seen recorded."""
HEADER: Final = (
    "latitude", "longitude", "YYYY-MM-DD",
    *(name + end for name in ("daily_rain", "max_temp", "min_temp")
      for end in ("", "_source")),
    "metadata",
)  # fmt: skip

_DATE = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
_NUMBER = re.compile(r"-?\d{1,6}(\.\d{1,6})?", re.ASCII)
_EXCUSES = ("Sorry", "Request Rejected")
_WHOLE = ("elevation=", "reference=", "extracted=", "dataset=")


def request(
    place: Place,
    made: np.datetime64,
    *,
    first_day: np.datetime64,
    last_day: np.datetime64,
    contact: str,
    base_url: str = HOST,
) -> Request:
    """The request for the days from ``first_day`` to ``last_day``, both included.

    The end is moved back to two days before ``made``. The e-mail address and the
    service's fixed word travel as secrets.

    Raises
    ------
    RefusedError
        If there is no e-mail address, no day in the span, or no grid at the place.
    """
    end = min(last_day, made.astype("datetime64[D]") - np.timedelta64(LATEST, "D"))
    if not FIRST_DAY <= first_day <= end:
        raise RefusedError(
            f"{NAME}: no days from {first_day} to {end}; it has them from {FIRST_DAY} "
            f"to {LATEST} days ago"
        )
    if not covers(place):
        raise RefusedError(
            f"{NAME}: {place.latitude:g}, {place.longitude:g} is outside Australia"
        )
    return Request(
        source=SOURCE,
        product="days",
        url=canonical_url(
            base_url + PATH,
            {
                "comment": COMMENT,
                "finish": str(end).replace("-", ""),
                "format": "csv",
                "latitude": _on_grid(place.latitude),
                "longitude": _on_grid(place.longitude),
                "start": str(first_day).replace("-", ""),
            },
        ),
        place=place,
        made=made,
        fresh_for=FRESH_FOR,
        secrets={"username": mail(contact, NAME), "password": "api_request"},
    )


def covers(place: Place) -> bool:
    """Whether the place lies within the grid's bounds, sea and all."""
    return WEST <= place.longitude <= EAST and SOUTH <= place.latitude <= NORTH


def newest_week(made: np.datetime64) -> np.datetime64:
    """The last day of the newest whole week that is surely there.

    Weeks are counted from 1 January 1970. A span that ends with one is asked for once
    a week.
    """
    sure = made.astype("datetime64[D]") - np.timedelta64(LATEST, "D")
    since = sure - np.datetime64("1970-01-01", "D")
    newest: np.datetime64 = sure - since % WEEK
    return newest


def on_solar_days(dated: DaysTable) -> DaysTable:
    """The service's days on ours: extremes as dated, rain a day earlier."""
    rain = np.append(dated.rain[1:], np.nan)
    return replace(dated, rain=rain)


def _on_grid(degrees: float) -> str:
    """The nearest point of the 0.05 degree grid, which is what is answered."""
    return f"{round(degrees * PER_DEGREE) / PER_DEGREE:.2f}"


def parse(body: bytes, request: Request) -> Parsed:
    """The days an answer holds, every day asked for; long-term averages are NaN.

    Raises
    ------
    UnusableError
        If it is an excuse, cut off, for another place or span, or a cell is wrong. The
        e-mail address is in no message, whatever the service repeats.
    """
    try:
        return _parse(body, request)
    except UnusableError as error:
        raise UnusableError(Redactor.of(request).text(str(error))) from None


def _parse(body: bytes, request: Request) -> Parsed:
    rows = _rows(_text(body))
    data = [row for row in rows if row["YYYY-MM-DD"]]
    _refuse_other_place(rows, request.place)
    height = _metadata(rows)
    day = _days(data, *_span(request))
    doubts = Doubts(NAME)
    columns = {
        ours: _column(data, theirs, allowed, doubts)
        for theirs, ours, allowed in COLUMNS
    }
    wrong = columns["tmin"] > columns["tmax"]
    doubts.add("minimum above the maximum, both dropped", wrong)
    for name in ("tmin", "tmax"):
        columns[name] = np.where(wrong, np.nan, columns[name])
    cell = Place(
        float(data[0]["latitude"]),
        float(data[0]["longitude"]),
        height,
        request.place.zone,
    )
    days = DaysTable(day, columns["tmax"], columns["tmin"], columns["rain"])
    days = days.said_to_be_from(DayOrigin.SILO)
    return Parsed(days=days, cell=cell, warnings=doubts.lines())


def _span(request: Request) -> tuple[np.datetime64, np.datetime64]:
    """The first and last day a request names."""
    query = parse_qs(urlsplit(request.url).query)
    first, last = (
        np.datetime64(f"{day[:4]}-{day[4:6]}-{day[6:]}", "D")
        for day in (query["start"][0], query["finish"][0])
    )
    return first, last


def _refuse_other_place(rows: Sequence[dict[str, str]], place: Place) -> None:
    """Look at every row: one of another place would be weather of another place."""
    seen = {(row["latitude"], row["longitude"]): row for row in rows}
    for row in seen.values():
        near(_number(row, "latitude"), _number(row, "longitude"), place, NAME)


def _text(body: bytes) -> str:
    if len(body) > LARGEST:
        raise UnusableError(f"{NAME}: the answer has {len(body):,} bytes")
    try:
        text = body.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise UnusableError(f"{NAME}: byte {error.start} is not UTF-8") from None
    if text.lstrip().startswith("<") or any(each in text for each in _EXCUSES):
        raise UnusableError(f"{NAME}: a page instead of data: {quoted(text)}")
    if not text.endswith("\n"):
        raise UnusableError(
            f"{NAME}: the answer is {'cut off in a line' if text else 'empty'}"
        )
    return text


def _rows(text: str) -> list[dict[str, str]]:
    try:
        lines = list(csv.reader(text.splitlines(), strict=True))
    except csv.Error as error:
        raise UnusableError(f"{NAME}: not CSV: {quoted(str(error))}") from None
    if not lines or tuple(cell.strip() for cell in lines[0]) != HEADER:
        raise UnusableError(
            f"{NAME}: the columns are {quoted(','.join(lines[0]) if lines else '')}; "
            f"asked for {','.join(HEADER)}"
        )
    for number, line in enumerate(lines[1:], start=2):
        if len(line) != len(HEADER):
            raise UnusableError(
                f"{NAME}: line {number} has {len(line)} cells, not {len(HEADER)}"
            )
    return [dict(zip(HEADER, map(str.strip, line), strict=True)) for line in lines[1:]]


def _number(row: dict[str, str], name: str) -> float:
    cell = row[name]
    if not _NUMBER.fullmatch(cell):
        raise UnusableError(
            f"{NAME}: {name} of {row['YYYY-MM-DD']!r:.14} is {cell!r:.40}, not a number"
        )
    return float(cell)


def _metadata(rows: Sequence[dict[str, str]]) -> float:
    """The elevation [m], if the notes beside the data are all there.

    They end in one line of free text, which tells a whole short answer from a cut one.
    """
    notes = [row["metadata"] for row in rows if row["metadata"]]
    missing = [key for key in _WHOLE if not any(note.startswith(key) for note in notes)]
    if missing or notes[-1].startswith(_WHOLE):
        raise UnusableError(
            f"{NAME}: cut off, notes missing: {', '.join(missing) or 'the last one'}"
        )
    note = next(note for note in notes if note.startswith(_WHOLE[0]))
    metres = note.removeprefix(_WHOLE[0]).removesuffix("m").strip()
    return float(metres) if _NUMBER.fullmatch(metres) else np.nan


def _days(
    data: Sequence[dict[str, str]], first: np.datetime64, last: np.datetime64
) -> Days:
    """The dates, which must be every day asked for, in order."""
    expected: Days = np.arange(first, last + np.timedelta64(1, "D"))
    dates = [row["YYYY-MM-DD"] for row in data]
    if dates != np.datetime_as_string(expected, unit="D").tolist():
        span = f"{dates[0]!r:.40} to {dates[-1]!r:.40}" if dates else "none"
        raise UnusableError(
            f"{NAME}: {len(dates)} days, {span}; asked for each from {first} to {last}"
        )
    return expected


def _column(
    data: Sequence[dict[str, str]], name: str, allowed: Range, doubts: Doubts
) -> Floats:
    """One quantity, NaN where it is empty, averaged, of unknown origin or absurd."""
    values = np.array([_number(row, name) if row[name] else np.nan for row in data])
    codes = np.array([row[f"{name}_source"] for row in data])
    average = codes == LONG_TERM_AVERAGE
    unknown = ~average & ~np.isin(codes, list(CODES)) & ~np.isnan(values)
    outside = ~average & ~unknown & allowed.outside(values)
    doubts.add(f"{name} left out, only the long-term average", average)
    doubts.add(f"{name} left out, its source code is not known", unknown)
    doubts.add(f"{name} outside {allowed} dropped", outside)
    return np.where(average | unknown | outside, np.nan, values + 0.0)
