"""The farm's results: kept, listed and taken back."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from forecaster.domain.result.result_log import ResultEntry
from forecaster.service.clock import utc_now
from forecaster.service.look_count import weed_called
from forecaster.service.look_log import author, reason_of
from forecaster.service.own_log import own_farm
from forecaster.service.wiring import paddock_called
from forecaster.settings.names import same_name
from forecaster.store.results import (
    RESULTS_FILE,
    add_result,
    read_results,
    withdraw_result,
)

if TYPE_CHECKING:
    from pathlib import Path

    import numpy as np

    from forecaster.domain.result.result_log import Kept, ResultLog
    from forecaster.domain.result.result_page import ResultPage
    from forecaster.settings.farm import Farm


def results_path(farm: Farm) -> Path:
    """Where the farm's results are kept."""
    return farm.folder / RESULTS_FILE


def save(farm: Farm, page: ResultPage, weed: str | None) -> Path:
    """Write a result down at the end of the farm's log; gives the log's path.

    Raises
    ------
    UsageError
        If the farm is the demo.
    OutputError
        If the log cannot be written; it is then as it was.
    """
    here = paddock_called(own_farm(farm, "results"), page.paddock)
    entry = ResultEntry(
        paddock=here.name,
        weed=weed_called(farm, here, weed or here.target).id,
        year=page.year,
        active=page.active,
        stage=page.stage,
        side_cm=page.side_cm,
        treated=page.found.treated.counts,
        untreated=page.found.untreated.counts,
        recorded=utc_now(),
    )
    path = results_path(farm)
    add_result(path, entry)
    return path


def listed(farm: Farm, paddock: str | None = None) -> ResultLog:
    """The whole log, or the results of one paddock, as they were written.

    Raises
    ------
    UsageError
        If neither the farm nor the log has such a paddock.
    InputMissingError
        If the log is there and cannot be read.
    """
    log = read_results(results_path(farm))
    if paddock is None:
        return log
    wanted = same_name(paddock)
    found = tuple(e for e in log.kept if same_name(e.entry.paddock) == wanted)
    if not found:
        paddock_called(farm, paddock)
    return replace(log, kept=found)


def withdraw(
    farm: Farm, number: int, *, because: str | None, by: str | None, now: np.datetime64
) -> Kept:
    """Take a result back; it stays in the log, with the reason.

    Raises
    ------
    UsageError
        If the reason or author is missing, the farm is the demo, or the log holds
        no such result that stands.
    OutputError, InputMissingError
        If the log cannot be written or read; it is then as it was.
    """
    path = results_path(own_farm(farm, "results"))
    reason = reason_of(because, "wrong paddock")
    return withdraw_result(path, number, author=author(by), reason=reason, now=now)
