"""Where a stage window stands today, and the chance that it is still open later."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.quantiles import Range, spread_of
from forecaster.domain.growth.stage_window import StageWindow, chance_open

if TYPE_CHECKING:
    import numpy.typing as npt

    from forecaster.domain.weather import Floats

SOON = 7.0
"""[d] a window whose likely opening is this near is *opening soon*. Assumed."""
LAST_DAYS = 3.0
"""[d] a window whose likely close is this near is *closing*. Assumed."""
NEXT_DAYS = 2.0
"""[d] and so is one that may well close within this time …"""
MAY_CLOSE = 0.2
"""… with at least this chance, given that it is open now. Assumed: a late warning
costs a year of seed, an early one a look over the gate."""


class Status(StrEnum):
    """Where a stage window stands."""

    NOT_OPEN = "not open"
    OPENING_SOON = "opening soon"
    OPEN = "open"
    CLOSING = "closing"
    CLOSED = "closed"
    SPRAYED = "sprayed"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class WindowStatus:
    """Today's standing of one window.

    ``not_yet``, ``open_now`` and ``over`` are chances that sum to 1, NaN when
    unknown; ``days_to_close`` counts from now.
    """

    status: Status
    not_yet: float
    open_now: float
    over: float
    days_to_close: Range


def status_of(
    window: StageWindow, day: float, *, sprayed: bool = False
) -> WindowStatus:
    """Where ``window`` (traces, nodes) stands on ``day``.

    The likely dates decide: *open* from the median opening to the median close.

    Parameters
    ----------
    window : StageWindow
        Edges of one paddock, days from the projection's first day.
    day : float
        Now, on the same count.
    sprayed : bool
        Whether the paddock was sprayed this season.
    """
    opened, closed = window.open.ravel(), window.closed.ravel()
    to_close = Range(*(edge - day for edge in spread_of(window.closed)))
    not_yet = float(np.mean(opened > day))
    over = float(np.mean(closed <= day))
    unknown = bool(np.isnan(opened).any() or np.isnan(closed).any())
    if unknown:
        status, not_yet, over = Status.UNKNOWN, np.nan, np.nan
    else:
        status = _phase(window, day, to_close)
    if sprayed:
        status = Status.SPRAYED
    return WindowStatus(status, not_yet, 1.0 - not_yet - over, over, to_close)


def _phase(window: StageWindow, day: float, to_close: Range) -> Status:
    to_open = float(spread_of(window.open).likely) - day
    if float(to_close.likely) <= 0:
        return Status.CLOSED
    if to_open <= 0:
        return Status.CLOSING if _closing(window, day, to_close) else Status.OPEN
    return Status.OPENING_SOON if to_open <= SOON else Status.NOT_OPEN


def _closing(window: StageWindow, day: float, to_close: Range) -> bool:
    closed = window.closed.ravel()
    open_now = (window.open.ravel() <= day) & (closed > day)
    soon = open_now & (closed <= day + NEXT_DAYS)
    hazard = soon.sum() / max(int(open_now.sum()), 1)
    return bool(hazard >= MAY_CLOSE or float(to_close.likely) <= LAST_DAYS)


def soonest_close(window: StageWindow, day: float) -> float:
    """The earliest plausible close of a window that is open on ``day``.

    The first day by which, of the traces × nodes open on ``day``, a share of
    ``MAY_CLOSE`` has closed. NaN where none is open then, or an edge is unknown.
    """
    opened, closed = window.open.ravel(), window.closed.ravel()
    if np.isnan(opened).any() or np.isnan(closed).any():
        return float("nan")
    left = np.sort(closed[(opened <= day) & (closed > day)])
    if left.size == 0:
        return float("nan")
    return float(left[max(int(np.ceil(MAY_CLOSE * left.size)), 1) - 1])


def still_open(window: StageWindow, days: npt.ArrayLike) -> Floats:
    """Chance that the stage window is open on each of ``days`` (n,)."""
    return chance_open(window, days)
