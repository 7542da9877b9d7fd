"""The stage window: the days on which enough heads can be controlled.

Biology only; whether an hour may be sprayed is decided elsewhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.quantiles import Range, spread_of

if TYPE_CHECKING:
    import numpy.typing as npt

    from forecaster.domain.growth.season import Projection
    from forecaster.domain.growth.weed import Mode, ShareRule
    from forecaster.domain.weather import Floats


@dataclass(frozen=True, slots=True)
class StageWindow:
    """The four edges of a window, each (..., traces, nodes).

    Days from the projection's first day; open ≤ best_from ≤ best_until ≤ closed;
    +inf not reached before the weather ends, NaN unknown. A window with ``open`` at
    ``closed`` never opens; a best spell with both ends together is empty.
    """

    open: Floats
    best_from: Floats
    best_until: Floats
    closed: Floats


@dataclass(frozen=True, slots=True)
class WindowDates:
    """10 %, median and 90 % day of each edge, each (...)."""

    open: Range
    best_from: Range
    best_until: Range
    closed: Range


def window_of(projection: Projection, mode: Mode) -> StageWindow:
    """The stage window of one weed for one mode of action.

    Parameters
    ----------
    projection : Projection
        The season of the weed.
    mode : "translocated" or "contact"
        How the active works.

    Returns
    -------
    StageWindow

    Raises
    ------
    KeyError
        If the weed has no window for this mode.
    """
    rule = projection.weed.windows[mode]
    closed = first_of(projection, rule.closed)
    opened = np.minimum(last_of(projection, rule.open), closed)
    best_from = np.clip(last_of(projection, rule.best_from), opened, closed)
    best_until = np.clip(first_of(projection, rule.best_until), best_from, closed)
    edges = np.stack([opened, best_from, best_until, closed], axis=1)
    days = projection.days_at(edges)
    return StageWindow(*(projection.restore(days[:, edge]) for edge in range(4)))


def window_dates(window: StageWindow) -> WindowDates:
    """Early, likely and late day of each edge of a window."""
    edges = (window.open, window.best_from, window.best_until, window.closed)
    points = spread_of(np.stack(edges))
    return WindowDates(
        *(Range(*(each[edge] for each in points)) for edge in range(len(edges)))
    )


def chance_open(window: StageWindow, days: npt.ArrayLike) -> Floats:
    """Chance that the stage window is open on each day.

    Parameters
    ----------
    window : StageWindow
        Its edges over traces and nodes.
    days : (n,) array
        Days from the projection's first day, fractions allowed.

    Returns
    -------
    (..., n) array
        Share of traces × nodes with open ≤ day < closed. [share 0…1] NaN where any
        of them cannot be told.
    """
    when = np.asarray(days, dtype=np.float64)[:, None]
    opened, closed = (
        edge.reshape(*edge.shape[:-2], 1, -1) for edge in (window.open, window.closed)
    )
    inside = (opened <= when) & (when < closed)
    # A day before a known opening is outside, whatever became of the closing.
    unknown = np.isnan(opened) | (np.isnan(closed) & (opened <= when))
    share = inside.mean(axis=-1)
    return np.where(unknown.any(axis=-1), np.nan, share)


def last_of(projection: Projection, rules: tuple[ShareRule, ...]) -> Floats:
    """Thermal time from which all of ``rules`` hold, as in ``Projection.threshold``."""
    needed = np.stack([projection.threshold(rule) for rule in rules])
    last: Floats = needed.max(axis=0)
    return last


def first_of(projection: Projection, rules: tuple[ShareRule, ...]) -> Floats:
    """Thermal time at which one of ``rules`` holds, as in ``Projection.threshold``."""
    needed = np.stack([projection.threshold(rule) for rule in rules])
    first: Floats = needed.min(axis=0)
    return first
