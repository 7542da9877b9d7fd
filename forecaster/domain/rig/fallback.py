"""What is left for a paddock that no hours are planned for."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from forecaster.domain.planning.next_step import Step
from forecaster.domain.rig.rig_plan import Fallback

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.outlook import PaddockOutlook, WindowView

OPEN_STEPS = frozenset({Step.SPRAY, Step.COUNT_HEADS, Step.LOOK_AT_GATE, Step.NO_HOURS})
"""Steps of a paddock that would be sprayed if there were hours for it."""
AHEAD = OPEN_STEPS | {Step.WAIT}


class Left(NamedTuple):
    """The fallback, the active it is about, and its time."""

    what: Fallback
    active: str | None = None
    opens: np.datetime64 | None = None
    closes: np.datetime64 | None = None


def fallback(paddock: PaddockOutlook, until: np.datetime64) -> Left:
    """The first way out that fits; hours are known up to ``until``.

    Another active whose window is open after that; the same one; hours to look at
    first; hard grazing while half of the heads are not out; or a cut, or nothing.
    """
    actives = [each for each in paddock.actives if each.step in AHEAD]
    for number in (*range(1, len(actives)), *range(min(len(actives), 1))):
        window = actives[number].window
        if window is not None and _open_after(window, until):
            what = Fallback.OTHER_ACTIVE if number else Fallback.LATER
            dates = window.open.likely, window.closed.likely
            return Left(what, actives[number].active, *dates)
    for active in actives:
        for block in active.look_first:
            if block.in_window:
                return Left(Fallback.LOOK_FIRST, active.active, block.start, block.end)
    if paddock.stage is not None and paddock.stage.likely is None:
        return Left(Fallback.GRAZE)
    return Left(Fallback.LEAVE)


def _open_after(window: WindowView, until: np.datetime64) -> bool:
    """Whether the likely window is open at some time after ``until``."""
    if window.open.likely is None:
        return False
    return window.closed.likely is None or bool(window.closed.likely > until)
