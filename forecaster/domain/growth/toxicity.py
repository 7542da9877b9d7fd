"""The days to spray a weed whose heads may poison stock.

It turns the usual rule round: not to wait until enough heads are out, but to spray as
the first ones come and be done soon after.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.domain.growth.stage_window import StageWindow

if TYPE_CHECKING:
    from forecaster.domain.growth.season import Projection
    from forecaster.domain.growth.weed import Toxicity


def toxicity_window(projection: Projection, toxicity: Toxicity) -> StageWindow:
    """From the first heads to a number of days after, all of it the best.

    Parameters
    ----------
    projection : Projection
        The season of the weed.
    toxicity : Toxicity
        What counts as the first heads, and how many days are left from then.

    Returns
    -------
    StageWindow
        NaN and +inf as :func:`.stage_window.window_of` gives them.
    """
    needed = projection.threshold(toxicity.open)[:, None]
    opened = projection.restore(projection.days_at(needed)[:, 0])
    closed = opened + toxicity.days.value
    return StageWindow(opened, opened, closed, closed)
