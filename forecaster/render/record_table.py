"""Records as a table for spreadsheets, one row for each record."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from forecaster.domain.record.changes import hours_not_judged
from forecaster.domain.record.fields import FIELDS
from forecaster.render.record_history import correction_words
from forecaster.render.record_words import (
    hour_words,
    tank_words,
    withholding_words,
    within,
)
from forecaster.render.table import moment, table
from forecaster.render.words import LocalClock

if TYPE_CHECKING:
    from forecaster.domain.record.fields import Field
    from forecaster.domain.record.job import Job
    from forecaster.domain.record.log import Beside
    from forecaster.domain.record.view import RecordsView, RecordView
    from forecaster.render.table import Cell

COLUMNS = (
    "farm", "number", "standing", "paddock", "active", "start", "finish",
    *(each.name for each in FIELDS),
    "wind_start", "wind_start_kmh", "wind_start_from_deg", "wind_changes", "tanks",
    "withholding", "stock_not_before", "forecast", "against", "observed",
    "missing", "hours_left", "author", "recorded", "hash",
    "first_author", "first_recorded", "whole_by_law", "hours_not_judged",
    "corrections", "withdrawn",
)  # fmt: skip


def render(view: RecordsView) -> bytes:
    """The CSV; every text is quoted and none can become a formula."""
    clock = LocalClock(view.zone)
    return table(COLUMNS, (_row(view.farm, each, clock) for each in view.records))


def _row(farm: str, view: RecordView, clock: LocalClock) -> list[Cell]:
    record, entry = view.record, view.record.now
    job, wind = entry.job, entry.job.wind
    changes = (f"{moment(c.at, clock)} {c.wind.typed}" for c in job.changes)
    missing = [*entry.unexplained, *(each.name for each in view.missing)]
    return [
        farm,
        record.number,
        "stands" if record.taken is None else "withdrawn",
        job.paddock,
        job.active,
        moment(job.start, clock),
        moment(job.finish, clock),
        *(_said(job, each) for each in FIELDS),
        None if wind is None else wind.typed,
        None if wind is None else round(wind.speed * 3.6, 1),
        None if wind is None or math.isnan(wind.side) else wind.side,
        "; ".join(changes),
        "; ".join(tank_words(each, within(job, clock)) for each in job.tanks),
        withholding_words(job),
        None if view.re_entry is None else str(view.re_entry.day),
        _beside(entry.around.forecast, clock),
        "; ".join(entry.around.against),
        _beside(entry.around.observed, clock),
        ", ".join(missing),
        None if view.hours_left is None else round(view.hours_left, 1),
        entry.author,
        moment(entry.recorded, clock),
        entry.hash,
        *_history(view, clock),
    ]


def _history(view: RecordView, clock: LocalClock) -> list[Cell]:
    """Who recorded it first and when, and all that was written of it since."""
    record, entry = view.record, view.record.now
    first, gone = record.entries[0], record.taken
    return [
        first.author,
        moment(first.recorded, clock),
        None if view.whole is None else moment(view.whole, clock),
        hours_not_judged(entry.job, entry.around)[0],
        "; ".join(correction_words(record, clock)),
        None
        if gone is None
        else f"{moment(gone.recorded, clock)} {gone.author}: {gone.because}",
    ]


def _said(job: Job, field: Field) -> Cell:
    """A number as one, so that a spreadsheet can add it up."""
    typed = job.said.get(field.name)
    return float(typed) if typed and field.number else typed


def _beside(beside: Beside | None, clock: LocalClock) -> str | None:
    if beside is None:
        return None
    hours = (f"{moment(each.time, clock)} {hour_words(each)}" for each in beside.hours)
    return f"{beside.source}: " + "; ".join(hours)
