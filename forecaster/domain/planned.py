"""Which good hours of an outlook somebody may plan by."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.domain.planning.next_step import Step

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.outlook import ActiveOutlook, BlockView

PLANS = frozenset({Step.SPRAY, Step.COUNT_HEADS})
"""Steps that lead to a spray; with any other, good hours are only weather."""


def planned_blocks(active: ActiveOutlook) -> tuple[BlockView, ...]:
    """The good blocks inside the likely window, unless the next step is against it."""
    if active.step not in PLANS:
        return ()
    return tuple(block for block in active.blocks if block.in_window)


def stands_against(active: ActiveOutlook) -> bool:
    """Whether there are fit hours in the likely window and yet none to spray in."""
    return active.step not in {*PLANS, Step.LOOK_AT_GATE} and any(
        each.in_window for each in (*active.blocks, *active.look_first)
    )


def only_block(active: ActiveOutlook, until: np.datetime64) -> bool:
    """Whether the hours are known to the likely close and hold one planned block.

    ``until`` is the end of the hours judged, ``datetime64[s]``.
    """
    close = active.window.closed.likely if active.window else None
    if close is None or close > until:
        return False
    return len(planned_blocks(active)) == 1
