"""Short gaps of quantities that move evenly, drawn straight."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.quality.flags import Flag
from forecaster.domain.quality.runs import run_lengths
from forecaster.domain.quality.thresholds import FILLABLE, LONGEST_FILL

if TYPE_CHECKING:
    from forecaster.domain.quality.table import Table
    from forecaster.domain.weather import Floats, WeatherFrame


def short_gaps_filled(table: Table) -> Table:
    """Gaps of up to three hours in temperature, dew point and pressure."""
    for name in FILLABLE:
        if name in table.values:
            values = table.values[name]
            drawn = straight(values)
            gap = np.isnan(values)
            short = run_lengths(gap) <= LONGEST_FILL.value
            filled = gap & short & ~np.isnan(drawn)
            table = table.change(name, Flag.FILLED, filled, drawn)
    return table


def for_verdicts(frame: WeatherFrame) -> WeatherFrame:
    """The table without drawn temperatures: good for growth, not for an hour's verdict.

    Pressure that was filled stays; Delta T hardly feels it.
    """
    marks = frame.marks.get("air_temperature")
    if marks is None:
        return frame
    drawn = (marks.bits & np.uint16(Flag.FILLED)) != 0
    return replace(
        frame, air_temperature=np.where(drawn, np.nan, frame.air_temperature)
    )


def straight(values: Floats) -> Floats:
    """Values (…, hours) with every inner gap drawn straight; NaN beyond the ends."""
    hours = values.shape[-1]
    at = np.arange(hours)
    known = ~np.isnan(values)
    before = np.maximum.accumulate(np.where(known, at, -1), axis=-1)
    backwards = np.where(known, at, hours)[..., ::-1]
    after = np.minimum.accumulate(backwards, axis=-1)[..., ::-1]
    inner = (before >= 0) & (after < hours)
    low, high = np.maximum(before, 0), np.minimum(after, hours - 1)
    share = (at - low) / np.maximum(high - low, 1)
    start = np.take_along_axis(values, low, axis=-1)
    end = np.take_along_axis(values, high, axis=-1)
    return np.where(inner, start + share * (end - start), np.nan)
