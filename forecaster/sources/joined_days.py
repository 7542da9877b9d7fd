"""One table of days from several records; each value knows which one it is from."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.sources.days_table import DaysTable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.domain.weather import Bools

_WARMTH = ("tmax", "tmin", "warmth_from")
_RAIN = ("rain", "rain_from")


def joined(tables: Sequence[DaysTable]) -> DaysTable:
    """All days of ``tables``, at least one; what none of them knows is missing.

    A day's extremes are both of the first table that knows both, never one of each;
    its rain is of the first that knows it.
    """
    first = min(table.day[0] for table in tables)
    end = max(table.day[-1] for table in tables)
    day = first + np.arange(int((end - first).astype(int)) + 1)
    columns = {name: np.full(day.size, np.nan) for name in ("tmax", "tmin", "rain")}
    codes = {
        name: np.zeros(day.size, np.uint8) for name in ("warmth_from", "rain_from")
    }
    for table in reversed(tables):
        at = int((table.day[0] - first).astype(int))
        rows = slice(at, at + len(table))
        for names, known in (
            (_WARMTH, warmth_known(table)),
            (_RAIN, ~np.isnan(table.rain)),
        ):
            for name in names:
                (columns | codes)[name][rows][known] = getattr(table, name)[known]
    return DaysTable(day, **columns, **codes)


def warmth_known(table: DaysTable) -> Bools:
    """The days of which both extremes are known."""
    known: Bools = ~(np.isnan(table.tmax) | np.isnan(table.tmin))
    return known


def wholly_known(table: DaysTable) -> Bools:
    """The days of which extremes and rain are known."""
    known: Bools = warmth_known(table) & ~np.isnan(table.rain)
    return known
