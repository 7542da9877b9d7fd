"""Errors of a forecast quantity: bias, mean and root-mean-square error."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from forecaster.domain.weather import Floats


@dataclass(frozen=True, slots=True)
class ErrorSummary:
    """Errors (forecast less observed) of one quantity, in its unit.

    Each field has the leading shape of what was compared; NaN where nothing was.
    """

    count: npt.NDArray[np.intp]
    """[h] pairs of which both are known."""
    bias: Floats
    """Mean error; above 0 where the forecast is too high."""
    mae: Floats
    """Mean of the error's size."""
    rmse: Floats
    """Root of the mean squared error."""

    @property
    def spread(self) -> Floats:
        """Standard deviation of the error about the bias."""
        return np.sqrt(np.maximum(self.rmse**2 - self.bias**2, 0.0))


def error_summary(forecast: Floats, observed: Floats) -> ErrorSummary:
    """Errors of ``forecast`` over the last axis.

    Parameters
    ----------
    forecast, observed : (…, n) arrays that broadcast together
        In one unit. Pairs with a NaN do not count.

    References
    ----------
    Wilks (2019), Statistical Methods in the Atmospheric Sciences, 4th ed., ch. 9,
    for the names. Mark: from memory.

    Examples
    --------
    Errors 3 and −1: mean 1, mean size 2, root mean square √5.

    >>> found = error_summary(np.array([5.0, 1.0]), np.array([2.0, 2.0]))
    >>> float(found.bias), float(found.mae), round(float(found.rmse), 3)
    (1.0, 2.0, 2.236)
    """
    error = forecast - observed
    known = ~np.isnan(error)
    count = known.sum(axis=-1)
    error = np.where(known, error, 0.0)
    some = np.where(count > 0, count, np.nan)
    return ErrorSummary(
        count=count,
        bias=error.sum(axis=-1) / some,
        mae=np.abs(error).sum(axis=-1) / some,
        rmse=np.sqrt((error**2).sum(axis=-1) / some),
    )
