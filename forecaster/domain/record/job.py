"""One spray job, as the person who did it tells it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.planning.withholding import NOT_TYPED, Withholding

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping


@dataclass(frozen=True, slots=True)
class Wind:
    """Wind read at the site; ``speed`` [m/s], ``side`` it came from [°].

    ``side`` is NaN where the air was calm or its side was not told.
    """

    speed: float
    side: float
    typed: str
    """In the words it was typed in, with their unit."""


@dataclass(frozen=True, slots=True)
class WindChange:
    """The wind from a moment of the job on, UTC ``datetime64[s]``."""

    at: np.datetime64
    wind: Wind


@dataclass(frozen=True, slots=True)
class Tank:
    """One tank: its hours, UTC ``datetime64[s]``; NaN where not told."""

    start: np.datetime64
    finish: np.datetime64
    litres: float
    hectares: float


@dataclass(frozen=True, slots=True)
class Job:
    """What was done, from ``start`` to ``finish``, UTC ``datetime64[s]``.

    ``said`` holds the plain fields by name (:mod:`.fields`), each as typed; a field
    that was not told is not in it.
    """

    paddock: str
    active: str
    start: np.datetime64
    finish: np.datetime64
    said: Mapping[str, str]
    wind: Wind | None = None
    """At the start, read at the site."""
    changes: tuple[WindChange, ...] = ()
    tanks: tuple[Tank, ...] = ()
    withholding: Withholding = field(default=NOT_TYPED)
    """As typed from the label for this job."""

    def has(self, name: str) -> bool:
        """Whether the field called ``name`` was told."""
        told = {
            "start": not np.isnat(self.start),
            "finish": not np.isnat(self.finish),
            "wind_speed": self.wind is not None,
            "wind_from": self.wind is not None
            and (not np.isnan(self.wind.side) or self.wind.speed == 0),
            "wind_changes": bool(self.changes) or bool(self.said.get("wind_steady")),
            "tanks": bool(self.tanks),
            "withholding": self.withholding != NOT_TYPED,
            "paddock": bool(self.paddock),
            "active": bool(self.active),
        }
        return told[name] if name in told else bool(self.said.get(name))


def overlapping(job: Job, others: Iterable[Job]) -> tuple[Job, ...]:
    """The jobs that the same rig was at during ``job``.

    A rig that was not named is the farm's one rig. A job that begins as another ends
    does not overlap it.
    """
    rig = rig_of(job)
    return tuple(
        each
        for each in others
        if rig_of(each) == rig and each.start < job.finish and job.start < each.finish
    )


def rig_of(job: Job) -> str:
    """What tells one rig from another."""
    return " ".join(job.said.get("rig", "").casefold().split())
