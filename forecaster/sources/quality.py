"""The rules on single reports: what fails is set to missing, marked and told."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.marks import spoken
from forecaster.domain.quality import moisture, sense, single
from forecaster.domain.quality.flags import Done, Flag, done, rule_of
from forecaster.domain.quality.table import Table
from forecaster.domain.quality.thresholds import RANGES
from forecaster.domain.weather import QUANTITIES

if TYPE_CHECKING:
    from forecaster.sources.reports import Reports


def held_to_rules(reports: Reports) -> Reports:
    """Reports without the values that no neighbour is needed to refuse.

    Ranges, dew point and humidity, gust and mean, sides of a calm. What needs the
    hours before and after is left to :func:`.quality.checked.check`.
    """
    absent = np.full(len(reports), np.nan)
    values = {**dict.fromkeys(QUANTITIES, absent), **reports.values}
    table = Table.of(values, reports.marks)
    for rule in (single.within_range, moisture.agreeing, sense.winds):
        table = rule(table)
    marks = spoken(table.marks)
    for name, mark in marks.items():
        for flag in Flag:
            where = (mark.bits & np.uint16(flag)) != 0
            if where.any() and done(flag, name) is not Done.KEPT:
                reports.note(_reason(flag, name), name, done(flag, name), where)
    return replace(
        reports,
        values={name: table.values[name] for name in reports.values},
        marks=marks,
    )


def _reason(flag: Flag, name: str) -> str:
    if flag is Flag.OUT_OF_RANGE:
        return f"out of range {RANGES[name]}"
    return rule_of(flag).words
