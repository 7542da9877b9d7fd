"""What a state wants in a record, what of it is missing, and the hours left."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.domain.record.job import Job
    from forecaster.domain.sourced import Mark, Sourced

NOT_FOUND = "not found: ask your state authority"
HOUR = np.timedelta64(3600, "s")


class Rank(StrEnum):
    """Who wants a field."""

    LAW = "law"
    ADVICE = "advice"


@dataclass(frozen=True, slots=True)
class Needed:
    """A field a record should hold, and who says so."""

    name: str
    rank: Rank
    when: str
    """A condition in words; empty: always."""
    source: str
    page: str
    mark: Mark


@dataclass(frozen=True, slots=True)
class StateRules:
    """The records of one state."""

    id: str
    state: str
    authority: str
    needed: tuple[Needed, ...]
    deadline: Sourced | None
    """[h] after the use by which the record must be made. None: not found."""
    keep: Sourced | None
    """[years] None: not found."""
    note: str = ""


def missing(job: Job, rules: StateRules) -> tuple[Needed, ...]:
    """The fields the state or the advice wants and the job does not tell."""
    return tuple(each for each in rules.needed if not job.has(each.name))


def whole_by_law(
    told: Sequence[tuple[np.datetime64, Job]], rules: StateRules
) -> np.datetime64 | None:
    """Since when a record has held all its state's law lists; None: it does not.

    ``told`` holds the moments something was written of it, UTC, and the job as it then
    stood, oldest first. None, too, where no list of the law was found.
    """
    law = [each.name for each in rules.needed if each.rank is Rank.LAW]
    since = None
    for moment, job in reversed(told):
        if not law or not all(job.has(name) for name in law):
            break
        since = moment
    return since


def hours_left(
    finish: np.datetime64, rules: StateRules, now: np.datetime64
) -> float | None:
    """Hours to the deadline, negative once it has passed; None where none was found.

    Counted in elapsed hours from the finish, so a change of the clock moves nothing.
    """
    if rules.deadline is None:
        return None
    end = finish + np.timedelta64(round(rules.deadline.value * 3600), "s")
    return float((end - now) / HOUR)
