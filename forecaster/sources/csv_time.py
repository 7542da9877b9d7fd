"""The times of a foreign table as UTC."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import numpy as np

from forecaster.errors import DataError
from forecaster.sources.csv_mapping import Time, offset_seconds
from forecaster.sources.reports import Cells, Ints, finding
from forecaster.sources.text_file import listed, quoted

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.weather import Bools, Times
    from forecaster.sources.import_report import Finding

_TWICE = 2
_DAY = np.timedelta64(86_400, "s")
_PATTERNS = {"Y": r"\d{4}", "H": r"(?P<hour>24)", "M": "0?0", "S": "0?0", "f": "0+"}
_WORDS = {"b": r"\w+", "B": r"\w+", "z": r"[-+Z]\S*", "%": "%"}


def utc_times(
    path: Path, cells: Cells, time: Time, typical_year: int | None
) -> tuple[Cells, Times, list[Finding]]:
    """Rows whose instant is known, that instant, and what was left out.

    Raises
    ------
    DataError
        If a time does not fit the format, never was on the clock of the zone, or
        stands more often than that clock showed it.
    """
    texts = cells.text[time.columns[0]].astype(object)
    for name in time.columns[1:]:
        texts = texts + " " + cells.text[name]
    wall, late = _parsed(path, cells, time, texts)
    findings: list[Finding] = []
    keep = np.ones(wall.size, dtype=np.bool_)
    if typical_year is not None:
        wall, keep = _in_year(wall, typical_year)
        findings += _left_out("29 February in a year without one", cells, time, ~keep)
    wall = np.where(late, wall + _DAY, wall)
    if time.zone is None:
        return cells.pick(keep), wall[keep], findings
    offset = offset_seconds(time.zone)
    if offset is not None:
        return cells.pick(keep), wall[keep] - np.timedelta64(offset, "s"), findings
    cells, wall, texts = cells.pick(keep), wall[keep], texts[keep]
    utc = _from_wall_clock(path, cells, time.zone, wall, texts)
    known = ~np.isnat(utc)
    findings += _left_out(
        "autumn hour that the clock showed twice and the file once", cells, time, ~known
    )
    return cells.pick(known), utc[known], findings


def _parsed(path: Path, cells: Cells, time: Time, texts: Any) -> tuple[Times, Bools]:
    """Times as written, and where 24:00 still has to become the next day."""
    wall = _read(texts, time)
    pattern = _midnight(time.format)
    late = np.zeros(wall.size, dtype=np.bool_)
    for row in np.flatnonzero(np.isnat(wall)).tolist():
        found = pattern.fullmatch(texts[row])
        late[row] = found is not None
        if found is not None:
            texts[row] = f"{texts[row][: found.start(1)]}00{texts[row][found.end(1) :]}"
    if late.any():
        wall[late] = _read(texts[late], time)
    bad = np.flatnonzero(np.isnat(wall))
    if bad.size:
        raise listed(
            f'{path}: times that are not like format = "{time.format}":',
            (f"{path}:{cells.line[row]}: {quoted(texts[row])}" for row in bad.tolist()),
        )
    return wall, late


def _read(texts: Any, time: Time) -> Times:
    import pandas as pd

    read = pd.to_datetime(
        pd.Series(texts, dtype=object),
        format=time.format,
        errors="coerce",
        utc=time.zone is None,
    )
    if time.zone is None:
        read = read.dt.tz_localize(None)
    times: Times = read.to_numpy().astype("datetime64[s]")
    return times


def _midnight(form: str) -> re.Pattern[str]:
    """What 24:00 looks like in this format; group 1 is the 24."""
    parts = []
    for plain, directive in re.findall(r"([^%]+)|%(.)", form):
        known = _PATTERNS.get(directive, _WORDS.get(directive, r"\d{1,2}"))
        parts.append(re.escape(plain) if plain else known)
    pattern = "".join(parts)
    return re.compile(pattern if "(?P<hour>" in pattern else r"(?!)()")


def _in_year(wall: Times, year: int) -> tuple[Times, Bools]:
    """Every time moved to ``year``; False for a 29 February it does not have."""
    months = wall.astype("datetime64[M]")
    within = wall - months.astype("datetime64[s]")
    number = months.astype(np.int64) % 12
    january = np.datetime64(f"{year}-01", "M")
    moved = (january + number).astype("datetime64[s]") + within
    return moved, (moved.astype("datetime64[M]") - january).astype(np.int64) == number


def _from_wall_clock(
    path: Path, cells: Cells, zone: str, wall: Times, texts: Any
) -> Times:
    """UTC of wall times; NaT where one of two like hours cannot be told apart."""
    import pandas as pd

    index = pd.DatetimeIndex(wall)
    clock = ZoneInfo(zone)
    utc = _utc(index.tz_localize(clock, ambiguous="NaT", nonexistent="NaT"))
    doubtful = np.flatnonzero(np.isnat(utc))
    if not doubtful.size:
        return utc
    summer = np.ones(doubtful.size, dtype=np.bool_)
    earlier = _utc(
        index[doubtful].tz_localize(clock, ambiguous=summer, nonexistent="NaT")
    )
    later = _utc(
        index[doubtful].tz_localize(clock, ambiguous=~summer, nonexistent="NaT")
    )
    never = doubtful[np.isnat(earlier)]
    if never.size:
        raise listed(
            f"{path}: times the clock of {zone} never showed (the hour skipped when "
            "summer time begins); is the file in standard time? Then give a fixed "
            'zone such as "+09:30":',
            (f"{path}:{cells.line[r]}: {quoted(texts[r])}" for r in never.tolist()),
        )
    backwards = wall.size > 1 and wall[0] > wall[-1]
    rank, size = _ranks(wall[doubtful], backwards=bool(backwards))
    if size.max() > _TWICE:
        rows = doubtful[size > _TWICE].tolist()
        raise listed(
            f"{path}: times that stand more than twice; the clock of {zone} showed "
            "them twice. Remove the extra rows:",
            (f"{path}:{cells.line[row]}: {quoted(texts[row])}" for row in rows),
        )
    told = np.where(rank == 0, earlier, later)
    utc[doubtful] = np.where(size == _TWICE, told, np.datetime64("NaT", "s"))
    return utc


def _utc(index: Any) -> Times:
    times: Times = index.tz_convert("UTC").tz_localize(None).to_numpy()
    return times.astype("datetime64[s]")


def _ranks(times: Times, *, backwards: bool) -> tuple[Ints, Ints]:
    """Place of each time among its equals, oldest first, and how many they are."""
    ordered = times[::-1] if backwards else times
    _, group, count = np.unique(ordered, return_inverse=True, return_counts=True)
    order = np.argsort(group, kind="stable")
    first = np.cumsum(count) - count
    rank = np.empty(times.size, dtype=np.int64)
    rank[order] = np.arange(times.size) - first[group[order]]
    size = count[group].astype(np.int64)
    return (rank[::-1], size[::-1]) if backwards else (rank, size)


def _left_out(reason: str, cells: Cells, time: Time, where: Bools) -> list[Finding]:
    rows = np.flatnonzero(where)
    if not rows.size:
        return []
    column = time.columns[-1]
    return [finding(reason, "time", "left out", cells=cells, column=column, rows=rows)]


def check_span(path: Path, line: Ints, times: Times, longest_hours: int) -> None:
    """Refuse a table whose first and last time cannot both be right.

    Raises
    ------
    DataError
        If they lie further apart than ``longest_hours``.
    """
    first, last = int(np.argmin(times)), int(np.argmax(times))
    hours = (times[last] - times[first]).astype(np.int64) // 3600
    if hours >= longest_hours:
        raise DataError(
            f"{path}: from {times[first]} (line {line[first]}) to {times[last]} "
            f"(line {line[last]}) are {hours:,} hours; at most {longest_hours:,} "
            "are read; check the years"
        )
