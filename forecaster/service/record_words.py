"""What is typed of a spray, one line or one table of a sheet, read into a job."""

from __future__ import annotations

import datetime as dt
import difflib
import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.planning.withholding import NOT_TYPED, LabelSays, Withholding
from forecaster.domain.record.fields import BY_NAME
from forecaster.domain.record.job import Job
from forecaster.errors import UsageError
from forecaster.render.words import LocalClock
from forecaster.service.look_count import checked_text
from forecaster.service.moments import local_day, parse_moment
from forecaster.service.record_parts import changes_of, number_of, tanks_of, wind_of
from forecaster.service.wiring import paddock_called
from forecaster.settings.farm_file import LONGEST_WITHHOLDING, NOT_ON_LABEL
from forecaster.settings.names import plain

if TYPE_CHECKING:
    from collections.abc import Mapping

    from forecaster.service.look_dates import Present
    from forecaster.settings.farm import Farm

EXAMPLE = (
    'forecaster record "Creek Flat" glyphosate 2026-10-14T12:00 17:00 '
    '"product=as on the label" hectares=25 "wind=SW 16"'
)
LONGEST_JOB = np.timedelta64(24 * 3600, "s")
"""A longer one is several jobs, or a slip of the pen. Assumed."""
EARLIEST = dt.date(1990, 1, 1)
CORE = ("paddock", "active", "start", "finish")
WITHHOLDING = "withholding_days"
SPECIAL = (*CORE, "wind", WITHHOLDING)
"""Names beside the plain fields."""
_CLOCK = re.compile(r"\d{1,2}:\d\d", re.ASCII)


@dataclass(frozen=True, slots=True)
class Asked:
    """What was typed, by name; an empty text takes a field away in a correction."""

    fields: Mapping[str, str] = field(default_factory=dict)
    winds: tuple[str, ...] = ()
    tanks: tuple[str, ...] = ()


def asked_line(words: list[str], winds: list[str], tanks: list[str]) -> Asked:
    """A whole line: paddock, active, start, finish, then ``field=value``.

    Raises
    ------
    UsageError
        If one of the four is missing, or a field is unknown or stands twice.
    """
    first = [each for each in words[1:] if not _is_pair(each)]
    if len(words[:1]) + len(first) != len(CORE):
        raise UsageError(
            f"a record begins with {', '.join(CORE)}, then field=value; "
            f"{len(words[:1]) + len(first)} words without = are given. "
            f"Such as:  {EXAMPLE}"
        )
    pairs = pairs_of([each for each in words[1:] if _is_pair(each)])
    twice = [name for name in CORE if name in pairs]
    if twice:
        raise UsageError(f"{twice[0]} stands twice")
    core = dict(zip(CORE, [words[0], *first], strict=True))
    return Asked({**pairs, **core}, tuple(winds), tuple(tanks))


def asked_changes(words: list[str], winds: list[str], tanks: list[str]) -> Asked:
    """Fields of a correction; none, where only hours observed since are to come in.

    Raises
    ------
    UsageError
        If a word is no ``field=value``.
    """
    return Asked(pairs_of(words), tuple(winds), tuple(tanks))


def _is_pair(word: str) -> bool:
    return "=" in word


def pairs_of(words: list[str]) -> dict[str, str]:
    """``field=value`` by field.

    Raises
    ------
    UsageError
        If a field is unknown or stands twice.
    """
    found: dict[str, str] = {}
    for word in words:
        name, equals, value = word.partition("=")
        name = checked_name(name.strip().casefold()) if equals else ""
        if not name:
            raise UsageError(f"{plain(word)} is no field=value, such as hectares=24")
        if name in found:
            raise UsageError(f"{name} stands twice")
        found[name] = value.strip()
    return found


def checked_name(name: str) -> str:
    """A name of a field.

    Raises
    ------
    UsageError
        If there is none such, with the nearest.
    """
    known = [*BY_NAME, *SPECIAL]
    if name in known:
        return name
    near = difflib.get_close_matches(name, known, n=3, cutoff=0.5)
    hint = (
        f"did you mean {' or '.join(near)}?" if near else f"known: {', '.join(known)}"
    )
    raise UsageError(f"unknown field {plain(name)}; {hint}")


def job_asked(
    asked: Asked, farm: Farm, present: Present, old: Job | None = None
) -> Job:
    """The job that was typed; in a correction, ``old`` with what was typed changed.

    Raises
    ------
    UsageError
        If a name, moment, number or text cannot be one.
    """
    fields = asked.fields
    paddock = fields.get("paddock")
    name = old.paddock if old and paddock is None else ""
    name = name or paddock_called(farm, str(paddock)).name
    start, finish = _hours(fields, farm, present, old)
    job = Job(
        paddock=name,
        active=_active(fields, farm, old),
        start=start,
        finish=finish,
        said=_said(fields, {} if old is None else old.said),
        wind=None if old is None else old.wind,
        changes=() if old is None else old.changes,
        tanks=() if old is None else old.tanks,
        withholding=NOT_TYPED if old is None else old.withholding,
    )
    zone = farm.place.zone
    if "wind" in fields:
        job = replace(job, wind=wind_of(fields["wind"], "wind"))
    if WITHHOLDING in fields:
        job = replace(job, withholding=withholding_of(fields[WITHHOLDING]))
    if asked.winds:
        job = replace(job, changes=changes_of(asked.winds, job, zone))
    if asked.tanks:
        job = replace(job, tanks=tanks_of(asked.tanks, job, zone))
    return _inside(job)


def _inside(job: Job) -> Job:
    """Corrected hours must still hold what was told of them."""
    moments = [each.at for each in job.changes]
    moments += [each.start for each in job.tanks] + [each.finish for each in job.tanks]
    if any(not job.start <= each <= job.finish for each in moments):
        raise UsageError(
            "a change of wind or a tank lies outside start and finish; give "
            "--wind and --tank anew"
        )
    return job


def _hours(
    fields: Mapping[str, str], farm: Farm, present: Present, old: Job | None
) -> tuple[np.datetime64, np.datetime64]:
    zone = farm.place.zone
    if old is not None and not {"start", "finish"} & fields.keys():
        return old.start, old.finish
    typed = fields.get("start")
    start = old.start if old and typed is None else _moment(str(typed), zone, "start")
    typed = fields.get("finish")
    if old and typed is None:
        finish = old.finish
    else:
        text = str(typed)
        on_day = f"{local_day(start, zone)}T{text.zfill(5)}"
        finish = _moment(on_day if _CLOCK.fullmatch(text) else text, zone, "finish")
    clock = LocalClock(zone)
    if finish <= start:
        raise UsageError(
            f"finish {clock.full(finish)} is not after start {clock.full(start)}; "
            "where the job ran past midnight, give the finish its date"
        )
    if finish - start > LONGEST_JOB:
        raise UsageError("start to finish is more than 24 hours; record each day apart")
    if finish > present.latest:
        raise UsageError(
            f"finish {clock.full(finish)} is in the future (now is "
            f"{clock.full(present.latest)}); record a job once it is done"
        )
    typed_day = local_day(start, zone)
    if typed_day < EARLIEST:
        raise UsageError(f"start {typed_day} is before {EARLIEST.year}; check the year")
    return start, finish


def _moment(text: str, zone: str, what: str) -> np.datetime64:
    moment = parse_moment(text, zone, what)
    if len(text) <= len("2026-10-14"):
        raise UsageError(f"{what} {text!r} has no time of day, such as {text}T12:00")
    return moment


def _active(fields: Mapping[str, str], farm: Farm, old: Job | None) -> str:
    if old is not None and "active" not in fields:
        return old.active
    wanted = fields["active"].casefold()
    if wanted not in farm.actives:
        known = ", ".join(farm.actives)
        raise UsageError(
            f"no active is called {plain(fields['active'])}; known: {known}"
        )
    return wanted


def _said(fields: Mapping[str, str], old: Mapping[str, str]) -> dict[str, str]:
    said = dict(old)
    for name, typed in fields.items():
        if name not in BY_NAME:
            continue
        about = BY_NAME[name]
        text = checked_text(typed, name)
        if text and about.low is not None and about.high is not None:
            number_of(text, name, about.low, about.high)
        said[name] = text
    return {name: said[name] for name in BY_NAME if said.get(name)}


def withholding_of(text: str) -> Withholding:
    """Days as typed from the label, or "not on label".

    Raises
    ------
    UsageError
        If it is neither.
    """
    if not text:
        return NOT_TYPED
    if text.casefold() == NOT_ON_LABEL:
        return Withholding(LabelSays.NONE)
    if not re.fullmatch(r"[0-9]{1,4}", text) or int(text) > LONGEST_WITHHOLDING:
        raise UsageError(
            f"{WITHHOLDING} {plain(text)}: allowed is a whole number of days from 0 to "
            f'{LONGEST_WITHHOLDING}, or "{NOT_ON_LABEL}"'
        )
    return Withholding(LabelSays.DAYS, int(text))
