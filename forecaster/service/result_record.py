"""What a result takes from the spray record where nothing was typed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from forecaster.service.result_words import stage_of
from forecaster.service.springs import ended_jobs
from forecaster.settings.names import same_name
from forecaster.settings.stage_words import class_name, class_of

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from forecaster.domain.record.job import Job
    from forecaster.service.known_springs import Known
    from forecaster.service.result_words import AskedResult


@dataclass(frozen=True, slots=True)
class Sprayed:
    """What was sprayed and when, typed or by the record."""

    active: str | None
    stage: str | None
    by_record: tuple[str, ...] = ()
    """Which of the two the record gave."""
    remarks: tuple[str, ...] = ()


def jobs_of(known: Known, paddock: str, year: int) -> tuple[Job, ...]:
    """Recorded jobs of one paddock that ended in ``year`` on the farm's calendar."""
    return tuple(
        job
        for at, job in ended_jobs(known.log, known.farm.place.zone, known.now)
        if at == year and same_name(job.paddock) == same_name(paddock)
    )


def sprayed(
    asked: AskedResult, jobs: Sequence[Job], actives: Collection[str], year: int
) -> Sprayed:
    """Active and stage: as typed, else by the jobs where they say one thing alone.

    Raises
    ------
    UsageError
        If ``--stage`` is no stage.
    """
    recorded = sorted({each.active for each in jobs})
    only = recorded[0] if len(recorded) == 1 and recorded[0] in actives else None
    active = asked.active or only
    stage = stage_of(asked.stage)
    found = _stage([each for each in jobs if each.active == active])
    given = {
        "active": asked.active is None and only is not None,
        "stage": asked.stage is None and found is not None,
    }
    return Sprayed(
        active,
        found if stage is None else stage,
        tuple(name for name, is_given in given.items() if is_given),
        tuple(_remarks(asked, recorded, only, year)),
    )


def _stage(jobs: Sequence[Job]) -> str | None:
    """The one class that every job was at; a stage in other words is none."""
    stages = {_class(each.said.get("stage", "")) for each in jobs}
    return stages.pop() if len(stages) == 1 else None


def _class(text: str) -> str | None:
    try:
        return class_name(class_of(text))
    except ValueError:
        return None


def _remarks(
    asked: AskedResult, recorded: Sequence[str], only: str | None, year: int
) -> list[str]:
    listed = f"the record of {year} says {' and '.join(recorded)}"
    typed = asked.active
    if typed is not None and recorded and typed not in recorded:
        said = f"--active {typed} is typed, {listed}; what was typed is used"
        return [f"{said}. Correct the one that is wrong"]
    if typed is None and recorded and only is None:
        return [f"{listed}: name one with --active"]
    return []
