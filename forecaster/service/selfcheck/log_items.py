"""log.read, rec.chain, rec.law: the logs that people write, and what the law asks."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Protocol

from forecaster.domain.alerts.finding import Finding, fail, ok, skipped, warn
from forecaster.domain.record.fields import label_of
from forecaster.domain.record.needed import Rank
from forecaster.errors import InputMissingError
from forecaster.render.record_words import hours_words
from forecaster.service.farm_sprayed import of_other_farms
from forecaster.service.record_view import records_view
from forecaster.service.selfcheck.settings_items import NO_FARM
from forecaster.settings.record_rules import rules_of
from forecaster.store.looks import LOOKS_FILE, read_looks
from forecaster.store.records import RECORDS_FILE, read_records, verified
from forecaster.store.results import RESULTS_FILE, read_results

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from forecaster.domain.record.view import RecordView
    from forecaster.service.selfcheck.subject import Subject


class _Log(Protocol):
    """What reading any log gives."""

    @property
    def warnings(self) -> tuple[str, ...]: ...


NEAR_H = 24.0
"""[h] before a legal deadline from which a record that lacks fields is told."""
YEAR_H = 365.25 * 24
BACK = "put a copy of it back; do not edit it"

_LOGS: tuple[tuple[str, Callable[[Path], _Log]], ...] = (
    (LOOKS_FILE, read_looks),
    (RESULTS_FILE, read_results),
    (RECORDS_FILE, read_records),
)


def readable(subject: Subject) -> Finding:
    """log.read: whether looks, results and records can be read, every line."""
    found: list[str] = []
    damaged: list[str] = []
    unread: list[str] = []
    for name, read in _LOGS:
        path = subject.folder / name
        try:
            said = read(path).warnings
        except InputMissingError as error:
            unread.append(str(error))
            continue
        found += [name] if path.exists() else []
        damaged += said
    remedy = f"look at the logs in {subject.folder}; where one is damaged, {BACK}"
    if unread:
        return fail(_first_of(unread), remedy, 65, tuple(unread + damaged))
    if damaged:
        return replace(warn(_first_of(damaged), remedy), more=tuple(damaged))
    return ok(f"{', '.join(found)}: every line" if found else "no log yet")


def _first_of(said: list[str]) -> str:
    return said[0] if len(said) == 1 else f"{said[0]} and {len(said) - 1} more"


def chain(subject: Subject) -> Finding:
    """rec.chain: whether every link of the spray records holds."""
    path = subject.folder / RECORDS_FILE
    try:
        links = verified(path)
    except InputMissingError as error:
        return fail(str(error), f"{path}: {BACK}", 65)
    if links.line:
        return fail(
            f"{path}: line {links.line} {links.fault}; {links.entries} entries before "
            "it are as they were written", f"{path}: {BACK}", 65,
        )  # fmt: skip
    if subject.farm is not None:
        foreign = of_other_farms(read_records(path), subject.farm)
        if foreign:
            return warn(
                foreign[0], f'forecaster record --list --farm "{subject.folder}"'
            )
    numbers = ", ".join(map(str, links.known))
    known = f", damaged and named so: line {numbers}" if links.known else ""
    return ok(f"{links.entries} entries, every link holds{known}")


def law(subject: Subject) -> Finding:
    """rec.law: records whose legal deadline passed or is near while fields are missing.

    Those that need not be kept any more, or were withdrawn, are left out.
    """
    farm = subject.farm
    if farm is None:
        return skipped(NO_FARM)
    rules = rules_of(farm.state)
    if rules is None or rules.deadline is None:
        return skipped(
            "the farm's state is not known: type state in [farm]"
            if rules is None
            else f"no deadline was found for {rules.state}: ask your state authority"
        )
    try:
        log = read_records(subject.folder / RECORDS_FILE)
    except InputMissingError as error:
        return skipped(f"{error}; see log.read")
    keep = None if rules.keep is None else rules.keep.value * YEAR_H
    view = records_view(farm, replace(log, records=log.standing), subject.now)
    late = [each for each in view.records if _is_late(each, keep)]
    if not late:
        return ok(f"{len(view.records)} records, none lacks what the law lists")
    late.sort(key=lambda each: each.hours_left or 0.0, reverse=True)
    number = late[0].record.number
    found = warn(
        f"{len(late)} of {len(view.records)} records lack fields by the law of "
        f"{rules.state}; {_told(late[0])}",
        f'forecaster record --farm "{subject.folder}" --correct {number} FIELD=VALUE',
    )
    return replace(found, more=tuple(map(_told, late)))


def _is_late(view: RecordView, keep_h: float | None) -> bool:
    left = view.hours_left
    kept = keep_h is None or (left is not None and left > -keep_h)
    return bool(_lacking(view)) and left is not None and left < NEAR_H and kept


def _lacking(view: RecordView) -> list[str]:
    return [label_of(each.name) for each in view.missing if each.rank is Rank.LAW]


def _told(view: RecordView) -> str:
    left = view.hours_left or 0.0
    span = hours_words(abs(left))
    when = f"{span} left" if left >= 0 else f"passed {span} ago"
    job = view.record.now.job
    return (
        f"record {view.record.number}, {job.paddock}, deadline {when}: "
        f"{'; '.join(_lacking(view))}"
    )
