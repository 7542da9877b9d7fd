"""The stage window that counts in a paddock: the usual one, or that of toxicity."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.domain.growth.stage_window import StageWindow, window_of
from forecaster.domain.growth.toxicity import toxicity_window

if TYPE_CHECKING:
    from forecaster.domain.growth.season import Projection
    from forecaster.domain.growth.weed import Mode, Weed
    from forecaster.settings.farm import Paddock


def paddock_window(
    paddock: Paddock, projection: Projection, mode: Mode
) -> StageWindow | None:
    """The window of a mode on the projected weed; None where it has none."""
    weed = projection.weed
    if mode not in weed.windows:
        return None
    if weed.toxicity is not None and paddock.ryegrass_toxicity:
        return toxicity_window(projection, weed.toxicity)
    return window_of(projection, mode)


def timed_for_toxicity(paddock: Paddock, weed: Weed) -> bool:
    """Whether the paddock's windows on ``weed`` are those of toxicity."""
    return paddock.ryegrass_toxicity and weed.toxicity is not None
