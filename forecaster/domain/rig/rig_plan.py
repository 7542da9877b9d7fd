"""The frozen plan of one rig or several, which every renderer receives.

Times are UTC ``datetime64[s]``. Value is expected hectares × the farm's weight.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.outlook import WeatherView
    from forecaster.domain.rig.work_rate import Rig


class Method(StrEnum):
    """How an order of paddocks was found."""

    PROVED = "solver, proved best"
    LIMIT = "solver, best found in its time"
    CLOSING = "what closes first goes first"
    VALUE = "most value an hour goes first"
    KEPT = "the rest of the plan as it was"


class Why(StrEnum):
    """Why a paddock whose window is open is missed."""

    NO_HOURS = "no good hours inside its window"
    TOO_SHORT = "no run of good hours is long enough"
    NO_CHANCE = "its chance cannot be told"
    NO_PROSPECT = "no chance is left that it is done in time"
    OUTRANKED = "other paddocks are worth more of the hours there are"


class Fallback(StrEnum):
    """What is left for a missed paddock; the first that fits."""

    OTHER_ACTIVE = "other active"
    LATER = "later hours"
    LOOK_FIRST = "hours to look at first"
    GRAZE = "graze hard"
    LEAVE = "cut or leave"


@dataclass(frozen=True, slots=True)
class FarmHead:
    """One farm of the plan and the weather it rests on."""

    name: str
    zone: str
    now: np.datetime64
    until: np.datetime64
    """One past the last hour planned."""
    demo: bool
    weather: WeatherView


@dataclass(frozen=True, slots=True)
class Stop:
    """One paddock, or part of one, with its hours."""

    rig: str
    farm: int
    paddock: str
    part: int
    parts: int
    active: str
    hectares: float
    hours: float
    """[h] as the work rate has it; the slots taken are rounded up."""
    start: np.datetime64
    end: np.datetime64
    good: tuple[np.datetime64, np.datetime64]
    """The run of good hours it lies in."""
    holds: float
    """Chance that the hours stay good [share]."""
    window_open: float
    """Chance that the stage window is open then [share]."""
    value: float
    closes: np.datetime64 | None
    """Likely close; None: after the weather ends."""
    runs: int
    """Runs of good hours long enough for it, this one among them."""
    count_heads: bool
    """Whether heads have to be counted again before it is sprayed."""


@dataclass(frozen=True, slots=True)
class Missed:
    """A paddock, or parts of one, for which no hours are left."""

    farm: int
    paddock: str
    missed: int
    parts: int
    hectares: float
    """[ha] missed."""
    hours: float
    """[h] a part needs with the fastest rig."""
    longest: float
    """[h] the longest run of good hours inside its window."""
    why: Why
    fallback: Fallback
    active: str | None
    """That the fallback is about."""
    opens: np.datetime64 | None
    """Of the fallback: start of its hours, or likely opening."""
    closes: np.datetime64 | None
    """Of the fallback: end of its hours, or likely close; None: not known."""


@dataclass(frozen=True, slots=True)
class NoJob:
    """A paddock nobody may plan hours for, and its next step."""

    farm: int
    paddock: str
    active: str | None
    reason: str


class Named(NamedTuple):
    """A paddock by its farm."""

    farm: int
    paddock: str


@dataclass(frozen=True, slots=True)
class HandMade:
    """What an order made by hand would bring."""

    method: Method
    value: float
    hectares: float
    """[ha] put in it, not weighed by chances."""
    paddocks: tuple[Named, ...]
    """In their order."""


@dataclass(frozen=True, slots=True)
class Moved:
    """Where a stop goes that its own day was taken from."""

    paddock: Named
    start: np.datetime64


@dataclass(frozen=True, slots=True)
class DayLost:
    """What happens if no hour of one day can be used.

    Days before are driven as planned; all that is left is planned anew.
    """

    farm: int
    """Whose calendar the day is of."""
    start: np.datetime64
    """Of the first stop that day."""
    moved: tuple[Moved, ...]
    lost: tuple[Named, ...]
    """Paddocks, in part or whole, that are done no more."""
    value: float
    """Of the plan that is left, the days before among it."""
    method: Method


@dataclass(frozen=True, slots=True)
class RigPlan:
    """Everything ``forecaster plan`` says."""

    farms: tuple[FarmHead, ...]
    rigs: tuple[Rig, ...]
    method: Method
    value: float
    bound: float
    """No plan can be worth more; NaN where the solver told none in its time."""
    weighted: bool
    """Whether any paddock's hectares weigh other than 1."""
    stops: tuple[Stop, ...]
    missed: tuple[Missed, ...]
    no_jobs: tuple[NoJob, ...]
    hand_made: tuple[HandMade, ...]
    days: tuple[DayLost, ...]
    faults: tuple[tuple[str, str], ...]
    """Farms of which nothing can be told, and why."""
    cautions: tuple[str, ...]

    @property
    def gap(self) -> float:
        """Share by which a better plan could beat this one; NaN where not known."""
        if self.bound == 0:
            return 0.0
        return max(self.bound - self.value, 0.0) / self.bound

    @property
    def hectares(self) -> float:
        """[ha] planned, not weighed by chances."""
        return sum(each.hectares for each in self.stops)
