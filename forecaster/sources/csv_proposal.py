"""A mapping file proposed from a table's header, for a person to check and confirm.

What the header shows is filled in; what it cannot show (clock, end of the hour, height
of the wind sensor, place, terms) stays a question mark. The proposal is not read as a
mapping before every question is answered and ``confirmed = true``.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING

from forecaster.errors import DataError
from forecaster.sources.text_file import screen, split_lines

if TYPE_CHECKING:
    from pathlib import Path

SAMPLE = 60
"""Lines looked at."""
SEPARATORS = (",", ";", "\t", "|")
MOST_TITLES = 5
"""Lines a header may have above it."""

_NUMBER = re.compile(r"[-+]?\d+([.,]\d+)?")
_TIME = re.compile(r"date|time|stamp|hour|day", re.IGNORECASE)
_WORDS: tuple[tuple[str, str], ...] = (
    ("dew_point", r"dew"),
    ("air_temperature", r"temp|\bt(air|2m|_?a)?\b|dry.?bulb"),
    ("relative_humidity", r"hum|\brh\b"),
    ("wind_gust", r"gust|wind.*max"),
    ("wind_from", r"wind.*dir|\bdir|bearing|wdir|\bwd\b"),
    ("wind_speed", r"wind|\bws\b|speed"),
    ("rain", r"rain|precip|\bmm\b"),
    ("pressure", r"press|baro|\bmslp\b|\bqnh\b"),
    ("radiation", r"solar|radiation|\bghi\b|shortwave"),
    ("cloud", r"cloud"),
)
_SKIPPED = re.compile(r"soil|leaf|batt|indoor|inside|wet.?bulb", re.IGNORECASE)
_UNITS: dict[str, tuple[tuple[str, str], ...]] = {
    "air_temperature": (
        (r"°?\s*f\b|fahr|degf", "degF"),
        (r"°?\s*c\b|cels|degc", "degC"),
    ),
    "relative_humidity": ((r"%|pct|percent", "percent"),),
    "wind_speed": (
        (r"km/?h|kph|kmh", "km/h"),
        (r"m/?s\b|ms-1|mps", "m/s"),
        (r"mph", "mile / hour"),
        (r"kn|kt", "knot"),
    ),
    "wind_from": ((r"°|deg", "degree"),),
    "rain": ((r"\bmm\b|\(mm", "mm"), (r"\bin\b|inch", "inch")),
    "pressure": ((r"hpa|mbar|\bmb\b", "hPa"), (r"kpa", "kPa"), (r"inhg", "inHg")),
    "radiation": ((r"w/?m", "W/m^2"),),
    "cloud": ((r"%", "percent"),),
}
_LIKE = {"dew_point": "air_temperature", "wind_gust": "wind_speed"}
_FORMATS = (
    (r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", "%Y-%m-%dT%H:%M:%SZ"),
    (r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d", "%Y-%m-%dT%H:%M:%S"),
    (r"\d{4}-\d\d-\d\dT\d\d:\d\d", "%Y-%m-%dT%H:%M"),
    (r"\d{4}-\d\d-\d\d \d\d?:\d\d:\d\d", "%Y-%m-%d %H:%M:%S"),
    (r"\d{4}-\d\d-\d\d \d\d?:\d\d", "%Y-%m-%d %H:%M"),
)
_SLASHED = re.compile(r"(\d\d?)/(\d\d?)/\d{4} \d\d?:\d\d(:\d\d)?( [AP]M)?")


@dataclass(frozen=True, slots=True)
class _Sample:
    """The beginning of a table."""

    separator: str
    titles: int
    names: list[str]
    rows: list[list[str]]


def propose(path: Path) -> str:
    """The text of a mapping file for ``path``, with question marks.

    Raises
    ------
    InputMissingError
        If there is no such file.
    DataError
        If no header with a time and a weather column can be seen.
    """
    screened = screen(path)
    with screened.open() as file:
        lines = [line.rstrip("\r\n") for line in islice(file, SAMPLE)]
    sample = _sample(path, lines)
    time = [name for name in sample.names if _TIME.search(name)][:2]
    columns = _columns(sample, set(time))
    if not time or not columns:
        raise DataError(
            f"{path}: the header {', '.join(sample.names[:8])} shows no "
            f"{'time' if not time else 'weather'} column; write the mapping by hand "
            "(docs/reference/weather-files.md)"
        )
    return _text(path, sample, time, columns)


def _sample(path: Path, lines: list[str]) -> _Sample:
    """Separator and header: the split that gives most columns, all the way down."""
    best: _Sample | None = None
    for separator in SEPARATORS:
        table = split_lines(lines, path, separator)
        for titles in range(min(MOST_TITLES, max(len(table) - 2, 0)) + 1):
            names = [cell.strip() for cell in table[titles]]
            rows = [row for row in table[titles + 1 :] if len(row) == len(names)]
            words = all(name and not _NUMBER.fullmatch(name) for name in names)
            wide = len(names) > 1 and words and len(rows) >= (len(table) - titles) // 2
            if wide and rows and (best is None or len(names) > len(best.names)):
                best = _Sample(separator, titles, names, rows)
    if best is None:
        raise DataError(
            f"{path}: no header of column names can be seen in its first {SAMPLE} "
            "lines; write the mapping by hand (docs/reference/weather-files.md)"
        )
    return best


def _columns(sample: _Sample, taken: set[str]) -> dict[str, tuple[str, str]]:
    """Column and unit of each quantity the header names; "?" for an unseen unit."""
    found: dict[str, tuple[str, str]] = {}
    for at, name in enumerate(sample.names):
        if name in taken or _SKIPPED.search(name):
            continue
        quantity = next(
            (q for q, words in _WORDS if re.search(words, name, re.IGNORECASE)), None
        )
        if quantity is None or quantity in found:
            continue
        found[quantity] = (
            name,
            _unit(quantity, name, [row[at] for row in sample.rows]),
        )
    return found


def _unit(quantity: str, name: str, cells: list[str]) -> str:
    if quantity == "wind_from" and any(cell.strip().isalpha() for cell in cells):
        return "compass"
    for pattern, unit in _UNITS[_LIKE.get(quantity, quantity)]:
        if re.search(pattern, name, re.IGNORECASE):
            return unit
    return "?"


def _decimal(sample: _Sample) -> str:
    cells = [cell.strip() for row in sample.rows for cell in row]
    commas = sum(bool(re.fullmatch(r"[-+]?\d+,\d+", cell)) for cell in cells)
    points = sum(bool(re.fullmatch(r"[-+]?\d+\.\d+", cell)) for cell in cells)
    return "," if commas > points else "."


def _missing(sample: _Sample) -> list[str]:
    """Words and codes that stand where numbers do."""
    usual = ("NA", "NaN", "NAN", "--", "---", "-99", "-99.9", "-999", "-9999", "6999")
    cells = {cell.strip() for row in sample.rows for cell in row}
    return ["", *(code for code in usual if code in cells)]


def _time_format(sample: _Sample, time: list[str]) -> str:
    at = [sample.names.index(name) for name in time]
    texts = [" ".join(row[i].strip() for i in at) for row in sample.rows]
    for pattern, form in _FORMATS:
        if all(re.fullmatch(pattern, text) for text in texts):
            return form
    slashed = [_SLASHED.fullmatch(text) for text in texts]
    matches = [match for match in slashed if match]
    if len(matches) != len(texts):
        return "?"
    tail = ":%S" if matches[0][3] else ""
    clock = f"%I:%M{tail} %p" if matches[0][4] else f"%H:%M{tail}"
    if any(int(match[1]) > 12 for match in matches):  # noqa: PLR2004 - months
        return f"%d/%m/%Y {clock}"
    if any(int(match[2]) > 12 for match in matches):  # noqa: PLR2004 - months
        return f"%m/%d/%Y {clock}"
    return "?"  # 3/4/2026 is April or March: only a person can tell


def _quoted(value: object) -> str:
    """As TOML; JSON's strings and lists are TOML's."""
    return json.dumps(value, ensure_ascii=False)


def _text(
    path: Path, sample: _Sample, time: list[str], columns: dict[str, tuple[str, str]]
) -> str:
    lines = [
        "# Proposed from the header; nothing is known to be right. Check each line",
        '# against the logger\'s manual, answer every "?", then set',
        "# confirmed = true.",
        "[table]",
        "confirmed = false",
        f"file = {_quoted(path.name)}",
        f"separator = {_quoted(sample.separator)}",
        f"decimal = {_quoted(_decimal(sample))}",
        *([f"skip_rows = {sample.titles}"] if sample.titles else []),
        f"missing = {_quoted(_missing(sample))}",
        'label = "?"          # "start" or "end": which does the time mark?',
        'wind_height_m = "?"  # metres above the ground, a number without quotes',
        "",
        "[time]",
        f"columns = {_quoted(time)}",
        f"format = {_quoted(_time_format(sample, time))}",
        'zone = "?"           # "UTC", "+10:00" (no summer time) or Area/City',
        "",
        "[place]",
        'latitude = "?"       # degrees, south negative, no quotes',
        'longitude = "?"',
        'elevation_m = "?"',
        'zone = "?"           # the clock to print by, such as "Australia/Adelaide"',
        "",
        "[origin]",
        'publisher = "?"      # whose station',
        'licence = "?"        # on which terms',
        "",
        "[columns]",
    ]
    for quantity, (name, unit) in columns.items():
        at = ', at = "?"' if quantity == "pressure" else ""
        lines.append(
            f"{quantity} = {{ column = {_quoted(name)}, unit = {_quoted(unit)}{at} }}"
        )
    return "\n".join(lines) + "\n"
