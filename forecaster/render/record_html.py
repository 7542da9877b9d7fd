"""The records of one paddock as a page to print and file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

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
from forecaster.render.templating import page
from forecaster.render.words import LocalClock

if TYPE_CHECKING:
    from forecaster.domain.record.job import Job
    from forecaster.domain.record.log import Beside
    from forecaster.domain.record.needed import StateRules
    from forecaster.domain.record.view import RecordsView, RecordView


@dataclass(frozen=True, slots=True)
class Sheet:
    """The words of one record."""

    head: str
    withdrawn: str
    tables: tuple[tuple[str, list[tuple[str, str]]], ...]
    lists: tuple[tuple[str, list[str]], ...]
    recorded: str


def render(view: RecordsView, paddock: str) -> str:
    """One page; everything typed is escaped."""
    clock = LocalClock(view.zone)
    return page(
        "record.html.j2",
        title=f"Spray records: {paddock}",
        paddock=paddock,
        farm=view.farm,
        printed=clock.full(view.now),
        zone=view.zone,
        sheets=[_sheet(each, view.rules, clock) for each in view.records],
        warnings=view.warnings,
        last_hash=view.last_hash,
        nothing=NOTHING,
    )


def _sheet(view: RecordView, rules: StateRules | None, clock: LocalClock) -> Sheet:
    record, entry = view.record, view.record.now
    gone = record.taken
    withdrawn = (
        ""
        if gone is None
        else f"Withdrawn {clock.full(gone.recorded)} by {gone.author}: {gone.because}"
    )
    job, around = entry.job, entry.around
    told = [] if gone else [("After it", after_words(view, clock))]
    lacks = [] if gone else [("Missing", missing_words(view, rules, clock))]
    return Sheet(
        head=f"Record {record.number}: {clock.span(job.start, job.finish)}",
        withdrawn=withdrawn,
        tables=(
            (JOB_HEAD, job_lines(job, clock)),
            (SITE_HEAD, site_lines(job, clock)),
        ),
        lists=(
            (FORECAST_HEAD, _hours(around.forecast, job, clock)),
            ("Against it", against_words(entry)),
            (OBSERVED_HEAD, _hours(around.observed, job, clock)),
            *told,
            *lacks,
            ("Corrections", correction_words(record, clock)),
        ),
        recorded=recorded_words(record.entries[0], job.finish, clock),
    )


def _hours(beside: Beside | None, job: Job, clock: LocalClock) -> list[str]:
    return [] if beside is None else beside_lines(beside, job, clock)
