"""How much one source of daily extremes differs from the local record, by month.

The difference is shrunk towards nought where few days were shared, and capped: a
correction of several degrees is a wrong station, not a bias.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from forecaster.domain.weather import Floats
    from forecaster.sources.days_table import DaysTable

LARGEST = 3.0
"""[K] the largest correction made. Assumed."""
HALF_TRUSTED_DAYS = 15
"""[d] shared in a month at which half of the difference is believed. Assumed."""
MONTHS = 12


@dataclass(frozen=True, slots=True)
class Bias:
    """Source less record, by calendar month (12,) [K]; ``days`` shared in each."""

    tmax: Floats
    tmin: Floats
    days: Floats

    @property
    def largest(self) -> float:
        """The largest correction made in any month [K], with its sign."""
        both = np.concatenate((self.tmax, self.tmin))
        return float(both[np.argmax(np.abs(both))])


def bias_of(source: DaysTable, record: DaysTable) -> Bias:
    """The bias of ``source`` on the days both know."""
    first = max(source.day[0], record.day[0])
    end = min(source.day[-1], record.day[-1])
    days = max(int((end - first).astype(int)) + 1, 0)
    here, there = (
        slice(offset, offset + days)
        for offset in (
            int((first - table.day[0]).astype(int)) for table in (source, record)
        )
    )
    month = source.day[here].astype("datetime64[M]").astype(int) % MONTHS
    tmax = source.tmax[here] - record.tmax[there]
    tmin = source.tmin[here] - record.tmin[there]
    known = ~(np.isnan(tmax) | np.isnan(tmin))
    count = np.bincount(month[known], minlength=MONTHS).astype(float)
    return Bias(
        _shrunk(month[known], tmax[known], count),
        _shrunk(month[known], tmin[known], count),
        count,
    )


def _shrunk(
    month: np.typing.NDArray[np.int64], values: Floats, count: Floats
) -> Floats:
    """Mean by month, times n / (n + 15), within ± 3 K."""
    total = np.bincount(month, weights=values, minlength=MONTHS)
    shrunk: Floats = np.clip(total / (count + HALF_TRUSTED_DAYS), -LARGEST, LARGEST)
    return shrunk


def without_bias(source: DaysTable, bias: Bias) -> DaysTable:
    """``source`` brought to the level of the record."""
    month = source.day.astype("datetime64[M]").astype(int) % MONTHS
    return replace(
        source, tmax=source.tmax - bias.tmax[month], tmin=source.tmin - bias.tmin[month]
    )
