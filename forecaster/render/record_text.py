"""The log of records as text and as plain values."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from forecaster.domain.record.changes import changed, hours_not_judged
from forecaster.render import words
from forecaster.render.plain_values import iso
from forecaster.render.record_history import against_words, correction_words
from forecaster.render.record_words import (
    FORECAST_HEAD,
    JOB_HEAD,
    NOTHING,
    OBSERVED_HEAD,
    SITE_HEAD,
    after_words,
    beside_lines,
    job_lines,
    missing_words,
    recorded_words,
    site_lines,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from forecaster.domain.record.job import Job, Wind
    from forecaster.domain.record.log import Beside, Entry
    from forecaster.domain.record.needed import StateRules
    from forecaster.domain.record.view import RecordsView, RecordView
    from forecaster.render.words import LocalClock


def listing(view: RecordsView) -> str:
    """Every record, withdrawn ones too, and the hash of the last line."""
    clock = words.LocalClock(view.zone)
    lines = words.wrapped(f"Spray records of {view.farm}")
    for each in view.records:
        lines += ["", *told(each, view.rules, clock)]
    if not view.records:
        lines.append("No record yet.")
    if view.last_hash:
        lines += ["", "Hash of the last line, to keep elsewhere:", view.last_hash]
    return "\n".join(lines) + "\n"


def told(view: RecordView, rules: StateRules | None, clock: LocalClock) -> list[str]:
    """One record as it stands, and what was written of it before."""
    record, entry = view.record, view.record.now
    lines = words.wrapped(f"Record {record.number}, by {record.entries[0].author}")
    lines += words.wrapped(recorded_words(record.entries[0], entry.job.finish, clock))
    if record.taken is not None:
        gone = record.taken
        lines += words.wrapped(
            f"WITHDRAWN {clock.full(gone.recorded)} by {gone.author}: {gone.because}"
        )
    for later in correction_words(record, clock):
        lines += words.wrapped(later)
    lines += _block(JOB_HEAD, _pairs(job_lines(entry.job, clock)))
    lines += _block(SITE_HEAD, _pairs(site_lines(entry.job, clock)))
    lines += _beside(FORECAST_HEAD, entry.around.forecast, entry.job, clock)
    lines += [t for a in against_words(entry) for t in words.bullet(a)]
    lines += _beside(OBSERVED_HEAD, entry.around.observed, entry.job, clock)
    if record.taken is None:
        lines += [t for a in after_words(view, clock) for t in words.bullet(a)]
        lines += [t for a in missing_words(view, rules, clock) for t in words.bullet(a)]
    return lines


def _pairs(lines: Iterable[tuple[str, str]]) -> list[str]:
    return [f"{label}: {value}" for label, value in lines]


def _beside(head: str, beside: Beside | None, job: Job, clock: LocalClock) -> list[str]:
    return _block(head, [] if beside is None else beside_lines(beside, job, clock))


def _block(head: str, lines: list[str]) -> list[str]:
    parts = [
        part
        for line in lines or [NOTHING]
        for part in words.wrapped(line, words.WIDTH - 2)
    ]
    return [f"{head}:", *(f"  {part}" for part in parts)]


def tree(view: RecordsView) -> dict[str, Any]:
    """All of it as plain values; times UTC, units in the names, null: not known."""
    return {
        "farm": view.farm,
        "state": None if view.rules is None else view.rules.id,
        "last_hash": view.last_hash or None,
        "warnings": list(view.warnings),
        "records": [_record(each) for each in view.records],
    }


def _record(view: RecordView) -> dict[str, Any]:
    record, entry = view.record, view.record.now
    gone, stock = record.taken, view.re_entry
    return {
        "number": record.number,
        "author": entry.author,
        "recorded": iso(entry.recorded),
        "hash": entry.hash,
        "first_author": record.entries[0].author,
        "first_recorded": iso(record.entries[0].recorded),
        "whole_by_law": None if view.whole is None else iso(view.whole),
        "withdrawn": None
        if gone is None
        else {
            "author": gone.author,
            "because": gone.because,
            "recorded": iso(gone.recorded),
        },
        "corrected_by": [each.number for each in record.entries[1:]],
        "corrections": [
            _correction(old, new)
            for old, new in zip(record.entries, record.entries[1:], strict=False)
        ],
        "job": _job(entry.job),
        "forecast": _hours(entry.around.forecast),
        "against": list(entry.around.against),
        "hours_not_judged": hours_not_judged(entry.job, entry.around)[0],
        "observed": _hours(entry.around.observed),
        "missing": [
            {"field": each.name, "rank": each.rank.value, "when": each.when or None}
            for each in view.missing
        ],
        "missing_of_override": list(entry.unexplained),
        "hours_left": None if view.hours_left is None else round(view.hours_left, 2),
        "stock_not_before": None if stock is None else str(stock.day),
        "withholding_ends": None if stock is None else iso(stock.ends),
        "closes_window": view.closes,
        "second_look": [str(each) for each in view.second_look],
        "quality_held_until": [str(each) for each in view.held],
    }


def _correction(old: Entry, new: Entry) -> dict[str, Any]:
    return {
        "number": new.number,
        "author": new.author,
        "recorded": iso(new.recorded),
        "because": new.because or None,
        "changed": list(changed(old.job, new.job)),
        "job_before": _job(old.job),
        "hash": new.hash,
    }


def _job(job: Job) -> dict[str, Any]:
    return {
        "paddock": job.paddock,
        "active": job.active,
        "start": iso(job.start),
        "finish": iso(job.finish),
        "fields": dict(job.said),
        "wind": _wind(job.wind),
        "wind_changes": [
            {"at": iso(c.at), **(_wind(c.wind) or {})} for c in job.changes
        ],
        "tanks": [
            {
                "start": iso(tank.start),
                "finish": iso(tank.finish),
                "hectares": _known(tank.hectares),
                "litres": _known(tank.litres),
            }
            for tank in job.tanks
        ],
        "withholding": job.withholding.says.value,
        "withholding_days": job.withholding.days,
    }


def _wind(wind: Wind | None) -> dict[str, Any] | None:
    if wind is None:
        return None
    return {"typed": wind.typed, "ms": wind.speed, "from_deg": _known(wind.side)}


def _hours(beside: Beside | None) -> dict[str, Any] | None:
    if beside is None:
        return None
    return {
        "source": beside.source,
        "issued": iso(beside.issued),
        "hours": [
            {
                "time": iso(hour.time),
                "wind_ms": _known(hour.wind_speed),
                "wind_from_deg": _known(hour.wind_from),
                "temperature_c": _known(hour.temperature),
                "humidity_pct": _known(hour.humidity),
                "delta_t_c": _known(hour.delta_t),
                "rain_mm": _known(hour.rain),
                "called": hour.verdict or None,
            }
            for hour in beside.hours
        ],
    }


def _known(number: float) -> float | None:
    return None if math.isnan(number) else number
