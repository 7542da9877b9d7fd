"""Records as a table of a pack: one row each, as it stands, in UTC and plain units."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from forecaster.domain.record.fields import FIELDS

if TYPE_CHECKING:
    from forecaster.domain.record.job import Job, Tank, Wind
    from forecaster.domain.record.log import Record

RECORD_COLUMNS = (
    "number", "farm", "paddock", "active", "start", "finish",
    *(each.name for each in FIELDS),
    "wind", "wind_changes", "tanks", "withholding", "withholding_days", "against",
    "author", "recorded", "first_author", "first_recorded", "corrections", "hash",
    "withdrawn_by", "withdrawn_because", "withdrawn",
)  # fmt: skip


def record_row(record: Record) -> tuple[str, ...]:
    """The cells of one record; what is not known is empty."""
    entry, first, gone = record.now, record.entries[0], record.taken
    job = entry.job
    return (
        str(record.number),
        entry.farm,
        job.paddock,
        job.active,
        f"{job.start}Z",
        f"{job.finish}Z",
        *(job.said.get(each.name, "") for each in FIELDS),
        *_parts(job),
        "; ".join(entry.around.against),
        entry.author,
        f"{entry.recorded}Z",
        first.author,
        f"{first.recorded}Z",
        str(len(record.entries) - 1),
        entry.hash,
        "" if gone is None else gone.author,
        "" if gone is None else gone.because,
        "" if gone is None else f"{gone.recorded}Z",
    )


def _parts(job: Job) -> tuple[str, ...]:
    days = job.withholding.days
    return (
        _wind(job.wind),
        "; ".join(f"{each.at}Z {_wind(each.wind)}" for each in job.changes),
        "; ".join(map(_tank, job.tanks)),
        job.withholding.says.value,
        "" if days is None else str(days),
    )


def _wind(wind: Wind | None) -> str:
    return "" if wind is None else wind.typed


def _tank(tank: Tank) -> str:
    amounts = ((tank.hectares, "ha"), (tank.litres, "L"))
    known = (f" {value:g} {unit}" for value, unit in amounts if not math.isnan(value))
    return f"{tank.start}Z {tank.finish}Z{''.join(known)}"
