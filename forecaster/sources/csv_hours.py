"""Reports at any minute put on the hours they stand for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from forecaster.domain.marks import Marks
from forecaster.errors import DataError
from forecaster.sources.csv_mapping import PERIOD_QUANTITIES
from forecaster.sources.text_file import listed

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.weather import Bools, Floats, Times
    from forecaster.sources.reports import Ints, Reports

_HOUR = 3600
_MINUTE = 60
_ENOUGH_STEPS = 12
"""Steps needed before a table is called too coarse."""
_SAME_MINUTE = 5 * _MINUTE
"""[s] Hourly reports keep to one minute of the hour, give or take this (assumed)."""
_MOSTLY = 0.75
"""Share of the reports that must. Evenly spaced ones that drift through the hour do so
for half of them at most (derived)."""


@dataclass(frozen=True, slots=True)
class Hours:
    """Values and their marks on whole hours, shape (hours,); what was done to rows."""

    time: Times
    values: dict[str, Floats]
    marks: dict[str, Marks]
    notes: tuple[str, ...]


def without_doubles(path: Path, reports: Reports) -> Reports:
    """Reports in order of time; the second of two equal rows is dropped.

    Raises
    ------
    DataError
        If two rows have the same time and different values.
    """
    reports = reports.pick(np.argsort(reports.time, kind="stable"))
    again = np.concatenate([[False], np.diff(reports.time) == np.timedelta64(0, "s")])
    if not again.any():
        return reports
    same = np.ones(len(reports), dtype=np.bool_)
    for values in reports.values.values():
        before = np.concatenate([values[:1], values[:-1]])
        same &= (values == before) | (np.isnan(values) & np.isnan(before))
    clash = np.flatnonzero(again & ~same)
    if clash.size:
        line = reports.cells.line
        raise listed(
            f"{path}: rows with the same time and different values; "
            "remove the wrong ones, or choose one station with [table.only]:",
            (
                f"lines {line[row - 1]} and {line[row]}: {reports.time[row]}Z"
                for row in clash.tolist()
            ),
        )
    reports.note("row stands twice", "time", "kept once", again)
    return reports.pick(~again)


def on_hours(path: Path, reports: Reports, label: Literal["start", "end"]) -> Hours:
    """Reports, sorted and without doubles, as one value an hour.

    Instants come from the report nearest to the hour, half an hour before it at
    most and half an hour after it at the latest. With steps of half an hour or less
    rain is summed, gust and rain chance are maxima and radiation is the mean over
    the hour, missing unless all its reports are there; with hourly steps the
    nearest report's own value stands, so that an extra report between two hours
    does not count rain twice. Marks go where their values go; a sum has those of all
    its reports, and the largest value that one of them lost.

    Raises
    ------
    DataError
        If the usual step is longer than an hour or does not divide it, or reports are
        neither hourly nor so close that rain can be summed.
    """
    seconds = reports.time.astype(np.int64)
    step = _step(path, seconds)
    if step >= _MINUTE:
        seconds = _MINUTE * ((seconds + _MINUTE // 2) // _MINUTE)
    # Half past belongs to the hour it lies in: UTC hours of a half-hour zone.
    nearest = (seconds + _HOUR // 2 - 1) // _HOUR
    kept = _nearest_reports(reports, seconds, nearest)
    fine = step <= _HOUR // 2
    if not fine:
        _refuse_drifting(path, seconds[kept], step, left_out=not kept.all())
    back = 1 if label == "end" else 0
    hour = (seconds - back) // _HOUR if fine else nearest - back
    periods = [name for name in reports.values if name in PERIOD_QUANTITIES]
    first = min(nearest[0], hour[0]) if periods else nearest[0]
    last = max(nearest[-1], hour[-1]) if periods else nearest[-1]
    span = int(last - first) + 1
    values: dict[str, Floats] = {}
    marks: dict[str, Marks] = {}
    for name, column in reports.values.items():
        said = reports.marks.get(name)
        if fine and name in periods:
            values[name] = _gathered(name, column, hour - first, span, _HOUR // step)
            if said is not None:
                marks[name] = _gathered_marks(said, hour - first, span)
            continue
        at = (hour if name in periods else nearest)[kept] - first
        rows = np.full(span, -1)
        rows[at] = np.flatnonzero(kept)
        values[name] = np.where(rows < 0, np.nan, column[rows])
        if said is not None:
            marks[name] = said.take(rows)
    time = (first + np.arange(span)) * np.timedelta64(_HOUR, "s")
    return Hours(
        np.datetime64(0, "s") + time,
        values,
        marks,
        _notes(seconds, nearest, kept, step, fine=fine),
    )


def _step(path: Path, seconds: Ints) -> int:
    """The usual time between two reports [s], whole minutes; an hour for a single one.

    Seconds of jitter are no other step.
    """
    steps = np.diff(seconds)
    step = float(np.median(steps)) if steps.size else float(_HOUR)
    if step >= _MINUTE:
        step = _MINUTE * round(step / _MINUTE)
    if step > _HOUR and steps.size >= _ENOUGH_STEPS:
        raise DataError(
            f"{path}: the rows are {step / _HOUR:g} h apart; hourly rows (or finer) "
            "are needed, since a gap is never filled by guessing"
        )
    if step <= _HOUR // 2 and _HOUR % step:
        raise _no_part_of_an_hour(path, step)
    return int(step)


def _refuse_drifting(path: Path, kept: Ints, step: int, *, left_out: bool) -> None:
    """Refuse reports that are nearer together than an hour and not hourly ones.

    Of an hour that two of them fall into one would be left out, and its rain lost.
    Hourly reports keep to one minute of the hour, whatever extra ones lie between.
    """
    if step >= _HOUR and not left_out:
        return
    past = kept % _HOUR
    minutes, often = np.unique(past // _MINUTE, return_counts=True)
    usual = minutes[np.argmax(often)] * _MINUTE
    off = np.abs((past - usual + _HOUR // 2) % _HOUR - _HOUR // 2)
    if (off <= _SAME_MINUTE).mean() < _MOSTLY:
        raise _no_part_of_an_hour(path, step)


def _no_part_of_an_hour(path: Path, step: float) -> DataError:
    return DataError(
        f"{path}: the rows are usually {step / _MINUTE:g} min apart; they are neither "
        "hourly nor in steps that divide an hour, so the rain of an hour cannot be "
        "told; export the table in steps of 5, 10, 15, 30 or 60 minutes"
    )


def _nearest_reports(reports: Reports, seconds: Ints, nearest: Ints) -> Bools:
    """For each hour the one report nearest to it, the earlier of two as near."""
    distance = np.abs(seconds - nearest * _HOUR)
    order = np.lexsort((seconds, distance, nearest))
    best = np.concatenate([[True], np.diff(nearest[order]) > 0])
    kept = np.zeros(len(reports), dtype=np.bool_)
    kept[order[best]] = True
    return kept


def _gathered(name: str, column: Floats, at: Ints, span: int, expected: int) -> Floats:
    """Sum, maximum or mean of the reports of each hour; NaN if one is missing."""
    count = np.bincount(at, minlength=span)
    total = np.zeros(span)
    if name in {"wind_gust", "rain_chance"}:
        np.maximum.at(total, at, column)
    else:
        np.add.at(total, at, column)
    if name == "radiation":
        total = total / np.maximum(count, 1)
    return np.where(count == expected, total, np.nan)


def _gathered_marks(said: Marks, at: Ints, span: int) -> Marks:
    """Everything said against a report of each hour, and the largest value lost."""
    found = Marks.none((span,))
    np.bitwise_or.at(found.bits, at, said.bits)
    np.fmax.at(found.given, at, said.given)
    return found


def _notes(
    seconds: Ints, nearest: Ints, kept: Bools, step: int, *, fine: bool
) -> tuple[str, ...]:
    off = int(np.count_nonzero(seconds != nearest * _HOUR))
    notes = []
    if fine:
        notes.append(
            f"rows every {step // 60} min: instants nearest the hour, "
            "rain summed, gust the maximum, radiation the mean"
        )
    elif off:
        notes.append(f"{off:,} reports not on a UTC hour, put on the nearest one")
    if not fine and not kept.all():
        notes.append(
            f"{int((~kept).sum()):,} reports left out: another is nearer to the hour"
        )
    return tuple(notes)
