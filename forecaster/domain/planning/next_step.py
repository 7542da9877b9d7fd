"""What to do next in one paddock with one active; the first rule that fits wins."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Protocol, TypeVar

from forecaster.domain.planning.windows import Status

if TYPE_CHECKING:
    from collections.abc import Sequence


class Step(StrEnum):
    """What to do next."""

    DOES_NOT_CONTROL = "does not control this weed"
    DONE = "sprayed"
    CANNOT_TELL = "cannot tell"
    TOO_LATE = "too late"
    WAIT = "wait"
    TYPE_LABEL = "type the label"
    NOT_ON_LABEL = "weed not on the label"
    SURVEY = "say what lies around"
    UNEVEN = "uneven: not on the mean"
    LEAVE = "do not spray"
    COUNT_HEADS = "count heads"
    SPRAY = "count heads, then spray"
    LOOK_AT_GATE = "look at the gate"
    NO_HOURS = "no fit hours"


class _Block(Protocol):
    @property
    def in_window(self) -> bool: ...


B = TypeVar("B", bound=_Block)


@dataclass(frozen=True, slots=True)
class Standing:
    """What is known of one active on one weed in one paddock."""

    status: Status
    has_window: bool
    """Whether the active controls the weed at any stage."""
    confirmed: bool
    """Whether somebody typed and confirmed its label."""
    on_label: bool
    """Whether the weed is among those they typed."""
    surveyed: bool
    """Whether it is known what lies around the paddock."""
    uneven: bool = False
    """Whether heads were found spread too widely for one spray."""
    against: bool = False
    """Whether a typed fact of the paddock is against it, by the decision table."""


_BY_STATUS = {
    Status.SPRAYED: Step.DONE,
    Status.UNKNOWN: Step.CANNOT_TELL,
    Status.CLOSED: Step.TOO_LATE,
    Status.NOT_OPEN: Step.WAIT,
}

_PAST = frozenset({Status.SPRAYED, Status.CLOSED})


def next_step(
    standing: Standing, blocks: Sequence[B], look_first: Sequence[B]
) -> tuple[Step, B | None]:
    """The step, and the block of hours it is about where it is about one."""
    for stops, step in (
        (not standing.has_window, Step.DOES_NOT_CONTROL),
        (standing.status in _PAST, _BY_STATUS.get(standing.status, Step.WAIT)),
        (standing.against, Step.LEAVE),
        (standing.status in _BY_STATUS, _BY_STATUS.get(standing.status, Step.WAIT)),
        (not standing.confirmed, Step.TYPE_LABEL),
        (not standing.on_label, Step.NOT_ON_LABEL),
        (not standing.surveyed, Step.SURVEY),
        (standing.uneven, Step.UNEVEN),
        (standing.status is Status.OPENING_SOON, Step.COUNT_HEADS),
    ):
        if stops:
            return step, None
    for step, runs in ((Step.SPRAY, blocks), (Step.LOOK_AT_GATE, look_first)):
        inside = [run for run in runs if run.in_window]
        if inside:
            return step, inside[0]
    return Step.NO_HOURS, None
