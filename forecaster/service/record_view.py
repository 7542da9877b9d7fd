"""What is missing in each record, and what comes after it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.domain.record.after import days_after, re_entry
from forecaster.domain.record.needed import hours_left, missing, whole_by_law
from forecaster.domain.record.view import RecordsView, RecordView
from forecaster.service.farm_sprayed import closes_window
from forecaster.service.moments import day_on
from forecaster.settings.record_rules import after_numbers, rules_of

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.record.after import AfterNumbers
    from forecaster.domain.record.log import Record, RecordLog
    from forecaster.domain.record.needed import StateRules
    from forecaster.settings.farm import Farm


def records_view(farm: Farm, log: RecordLog, now: np.datetime64) -> RecordsView:
    """Every record of ``log`` with what is missing and what comes after."""
    rules, numbers = rules_of(farm.state), after_numbers()
    return RecordsView(
        farm=farm.name,
        zone=farm.place.zone,
        now=now,
        rules=rules,
        records=tuple(_view(each, farm, rules, numbers, now) for each in log.records),
        warnings=log.warnings,
        last_hash=log.last_hash,
    )


def _view(
    record: Record,
    farm: Farm,
    rules: StateRules | None,
    numbers: AfterNumbers,
    now: np.datetime64,
) -> RecordView:
    job, zone = record.now.job, farm.place.zone

    def day_of(moment: np.datetime64) -> np.datetime64:
        return day_on(moment, zone)

    day = day_of(job.finish)
    told = [(each.recorded, each.job) for each in record.entries]
    return RecordView(
        record=record,
        missing=() if rules is None else missing(job, rules),
        hours_left=None if rules is None else hours_left(job.finish, rules, now),
        whole=None if rules is None else whole_by_law(told, rules),
        re_entry=re_entry(job.finish, job.withholding, day_of),
        second_look=days_after(day, numbers.second_look),
        held=days_after(day, numbers.held),
        closes=closes_window(job, farm.place),
    )
