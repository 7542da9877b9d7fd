"""Every rule of the next step, and which of two wins."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pytest

from forecaster.domain.planning.next_step import Standing, Step, next_step
from forecaster.domain.planning.windows import Status


@dataclass(frozen=True)
class Run:
    """A block, as far as the rule looks at it."""

    in_window: bool


INSIDE, OUTSIDE = Run(in_window=True), Run(in_window=False)
READY = Standing(
    status=Status.OPEN, has_window=True, confirmed=True, on_label=True, surveyed=True
)


@pytest.mark.parametrize(
    ("standing", "step"),
    [
        (replace(READY, has_window=False), Step.DOES_NOT_CONTROL),
        (replace(READY, status=Status.SPRAYED), Step.DONE),
        (replace(READY, status=Status.UNKNOWN), Step.CANNOT_TELL),
        (replace(READY, status=Status.CLOSED), Step.TOO_LATE),
        (replace(READY, status=Status.NOT_OPEN), Step.WAIT),
        (replace(READY, confirmed=False), Step.TYPE_LABEL),
        (replace(READY, on_label=False), Step.NOT_ON_LABEL),
        (replace(READY, surveyed=False), Step.SURVEY),
        (replace(READY, status=Status.OPENING_SOON), Step.COUNT_HEADS),
        (replace(READY, has_window=False, confirmed=False), Step.DOES_NOT_CONTROL),
        (replace(READY, status=Status.CLOSED, confirmed=False), Step.TOO_LATE),
        (replace(READY, confirmed=False, surveyed=False), Step.TYPE_LABEL),
    ],
)
def test_stops_come_before_any_block(standing: Standing, step: Step) -> None:
    """However good the hours, none of these says spray."""
    assert next_step(standing, [INSIDE], [INSIDE]) == (step, None)


def test_the_first_good_block_inside_the_window_is_named() -> None:
    """Blocks outside the likely window are passed over."""
    assert next_step(READY, [OUTSIDE, INSIDE], []) == (Step.SPRAY, INSIDE)
    closing = replace(READY, status=Status.CLOSING)
    assert next_step(closing, [INSIDE], []) == (Step.SPRAY, INSIDE)


def test_without_good_hours_the_ones_to_look_at_are_named() -> None:
    """A look at the gate is next best; with neither there is nothing to name."""
    assert next_step(READY, [OUTSIDE], [INSIDE]) == (Step.LOOK_AT_GATE, INSIDE)
    assert next_step(READY, [], [OUTSIDE]) == (Step.NO_HOURS, None)
