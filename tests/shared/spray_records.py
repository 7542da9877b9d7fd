"""A record with something in every part of it, and how to add lines to a log."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from forecaster.domain.planning.withholding import LabelSays, Withholding
from forecaster.domain.record.job import Job, Tank, Wind, WindChange
from forecaster.domain.record.log import (
    Around,
    Beside,
    Entry,
    Record,
    RecordLog,
    SeenHour,
)
from forecaster.service.record_view import records_view
from forecaster.store.records import add_entries

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.record.log import Taken
    from forecaster.domain.record.view import RecordsView
    from forecaster.service.farm_day import FarmDay

AT = np.datetime64("2026-10-14T01:00", "s")
HOUR = np.timedelta64(3600, "s")
NAN = float("nan")


def entry(number: int = 1, **changes: Any) -> Entry:
    """A record with something in every part of it."""
    hour = SeenHour(AT, 4.4, 225.0, 14.1, 60.0, 4.1, 0.0, "look first")
    seen = SeenHour(AT, NAN, NAN, NAN, NAN, NAN, NAN)
    job = Job(
        "Creek Flät", "glyphosate", AT, AT + 5 * HOUR, {"product": f"label {number}"},
        Wind(4.4, NAN, "x"), (WindChange(AT + HOUR, Wind(3.0, 270.0, "W 11")),),
        (Tank(AT, AT + HOUR, NAN, 25.0),), Withholding(LabelSays.DAYS, 7),
    )  # fmt: skip
    around = Around(
        Beside("hours.csv", AT - HOUR, (hour,)),
        Beside("station", np.datetime64("NaT", "s"), (seen,)),
        ("hold: dark",),
    )
    told: dict[str, Any] = {"around": around, "because": ""}
    return Entry(0, "", job, "J", AT + 6 * HOUR, **{**told, **changes})


def view_of_one(day: FarmDay, paddock: str) -> RecordsView:
    """The log of a farm that holds one record, six hours after it."""
    made = entry(number=1)
    job = replace(made.job, paddock=paddock)
    line = replace(made, number=1, hash="0" * 64, job=job)
    log = RecordLog((Record((line,)),), last_hash=line.hash)
    return records_view(day.farm, log, line.recorded)


def add(path: Path, *lines: Entry | Taken) -> tuple[Entry | Taken, ...]:
    """Append them whatever the log holds."""

    def all_of(_: RecordLog) -> tuple[Entry | Taken, ...]:
        return lines

    return add_entries(path, all_of)[0]
