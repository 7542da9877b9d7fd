"""What can be told of the past from what is kept: gaps between checks, phases then."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from forecaster.domain.alerts.history_page import Gap
from forecaster.domain.alerts.phases import hours
from forecaster.domain.alerts.records import Change, Phase

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np

GAP_PERIODS = 2
"""Checks further apart than so many periods leave a gap."""

PHASE_SAID: dict[str, Phase] = {
    **{f"same.{phase.name.lower()}": phase for phase in Phase},
    **{
        f"event.{change.name.lower()}": phase
        for change, phase in {
            Change.SOON: Phase.OPENING_SOON,
            Change.OPENED: Phase.OPEN,
            Change.OPENED_ON_FORECAST: Phase.OPEN,
            Change.CLOSING: Phase.CLOSING,
            Change.FEW_HOURS: Phase.CLOSING,
            Change.LAST_DAY: Phase.CLOSING,
            Change.LAST_HOURS: Phase.CLOSING,
            Change.CLOSED: Phase.CLOSED,
            Change.PRESUMED_CLOSED: Phase.CLOSED,
            Change.NOT_SO_SOON: Phase.NOT_OPEN,
            Change.MORE_TIME: Phase.OPEN,
            Change.RETIRED: Phase.NOT_OPEN,
        }.items()
    },
}
"""Reasons that say which phase a window is in. One that is no longer watched begins
anew when it comes back."""
PHASE_LEFT = tuple(
    f"event.{change.name.lower()}"
    for change in (Change.NOT_OPEN_YET, Change.REOPENED, Change.SPRAY_UNDONE)
)
"""Reasons after which it is in another phase, and do not say which."""


def gaps(
    starts: Sequence[np.datetime64],
    since: np.datetime64,
    until: np.datetime64,
    period_h: float,
) -> tuple[Gap, ...]:
    """Gaps between checks that touch a span of time.

    Parameters
    ----------
    starts : sequence of datetime64
        When checks began, in order; with the last one before ``since``, and at the
        end the first one from ``until`` on, or now where there is none.
    since, until : datetime64
        The span.
    period_h : float
        [h] between two checks.
    """
    allowed = hours(GAP_PERIODS * period_h)
    return tuple(
        Gap(one, other)
        for one, other in pairwise(starts)
        if other - one > allowed and one < until and other > since
    )
