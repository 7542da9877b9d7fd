"""What the inside asks of the outside; whoever gives it may stand in.

A port lists its requirements in its docstring. Nothing here does anything.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.weather import Floats


class PastYears(Protocol):
    """Past years that can stand in for days not known yet.

    Requirements: the years are whole or mostly so, the season asked for is not among
    them, a day that is not known is NaN, and the same question has the same answer.
    """

    def daily(
        self, first: np.datetime64, days: int, base: float, ceiling: float
    ) -> Floats:
        """Thermal time [°C d] (years, days) of the same dates in each past year."""
        ...
