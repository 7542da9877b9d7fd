"""Jobs, the ways and starts each may have, and what a plan of them is worth.

Time is counted in slots of half an hour from the first hour planned.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from forecaster.domain.weather import Floats

    Ints = npt.NDArray[np.int64]

SLOT_HOURS = 0.5
"""[h]"""


class Crew(NamedTuple):
    """Rigs that may stand in for each other: at most ``number`` at work in a slot."""

    rig: int
    number: int


@dataclass(frozen=True, slots=True)
class Way:
    """One active on a job by one crew: how long it takes, when it may start.

    ``starts`` (n,) are slots, rising; each leaves ``length`` slots of good hours.
    ``worth`` (n,) is what is expected of a start [ha × weight].
    """

    crew: int
    active: str
    length: int
    starts: Ints
    worth: Floats


@dataclass(frozen=True, slots=True)
class Job:
    """One paddock; with parts, each of them is placed on its own."""

    name: str
    farm: int
    hectares: float
    """[ha] of one part."""
    ways: tuple[Way, ...]
    closes: float = np.inf
    """[slots] to the likely close; what the hand-made order goes by."""
    parts: int = 1


class Placed(NamedTuple):
    """One part of a job put in its place."""

    job: int
    way: int
    start: int


Plan = tuple[Placed, ...]


@dataclass(frozen=True, slots=True)
class Problem:
    """All jobs, all crews, and the road between farms.

    ``travel`` (farms, farms) is in slots, nought on the diagonal. Where any of it is
    not nought each crew is one rig, since it has to be in one place.
    """

    jobs: tuple[Job, ...]
    crews: tuple[Crew, ...]
    travel: Ints

    def __post_init__(self) -> None:
        if self.travel.any() and any(crew.number != 1 for crew in self.crews):
            raise ValueError("with roads between farms each crew is one rig")

    @property
    def slots(self) -> int:
        """One past the last slot any way may use, and the road after it."""
        ends = [
            int(way.starts[-1]) + way.length
            for job in self.jobs
            for way in job.ways
            if way.starts.size
        ]
        return max(ends, default=0) + int(self.travel.max(initial=0))

    def way(self, placed: Placed) -> Way:
        """How a part is done."""
        return self.jobs[placed.job].ways[placed.way]

    def end(self, placed: Placed) -> int:
        """The slot after its last."""
        return placed.start + self.way(placed).length

    def worth(self, placed: Placed) -> float:
        """What is expected of it [ha × weight]."""
        way = self.way(placed)
        return float(way.worth[int(np.searchsorted(way.starts, placed.start))])

    def value(self, plan: Plan) -> float:
        """What is expected of a whole plan [ha × weight]."""
        return sum(self.worth(each) for each in plan)


def way_of(
    crew: int, active: str, length: int, chances: tuple[Floats, Floats], value: float
) -> Way:
    """Every start inside runs of good slots.

    Parameters
    ----------
    crew, active, length
        As in :class:`Way`.
    chances : two (slots,) arrays
        That the hours stay good, and that the stage window is open. Either is NaN
        where the slot is not good or not known, and then it is not used. [share]
    value : float
        Of the job, done in time. [ha × weight]

    Returns
    -------
    Way
        Worth is value × the weakest chance of each kind: errors of neighbouring hours
        go together.
    """
    holds, is_open = chances
    if not 0 < length <= holds.size:
        return Way(crew, active, length, np.empty(0, np.int64), np.empty(0))
    weakest = _weakest(holds, length) * _weakest(is_open, length)
    starts = np.flatnonzero(weakest > 0)  # a NaN in the run is no start
    return Way(crew, active, length, starts, value * weakest[starts])


def _weakest(chance: Floats, length: int) -> Floats:
    """The lowest of each ``length`` slots on end; NaN where one of them is."""
    runs = np.lib.stride_tricks.sliding_window_view(chance, length)
    lowest: Floats = runs.min(axis=-1)
    return lowest
