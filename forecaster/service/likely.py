"""Day numbers of a season as moments a page can print."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.outlook import Likely

if TYPE_CHECKING:
    from forecaster.domain.growth.quantiles import Range
    from forecaster.sources.season import Season


def likely(edge: Range, season: Season) -> Likely:
    """Three days of the season as UTC moments; None where one is not reached."""
    return Likely(
        *(
            None if (day := finite(value)) is None else season.moment_of(day)
            for value in edge
        )
    )


def finite(value: np.typing.NDArray[np.float64]) -> float | None:
    """The number, or None."""
    return float(value) if bool(np.isfinite(value)) else None
