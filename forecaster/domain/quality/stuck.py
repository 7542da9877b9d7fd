"""Sensors that do not move."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.air.pressure import standard_pressure
from forecaster.domain.quality.flags import Flag
from forecaster.domain.quality.runs import run_lengths
from forecaster.domain.quality.thresholds import (
    SAME_FAILS,
    SAME_NOTED,
    SAME_PROBE,
    SATURATED,
    STANDARD_SLACK,
)

if TYPE_CHECKING:
    from forecaster.domain.quality.table import Table
    from forecaster.domain.weather import Bools, Floats


def moving(table: Table, elevation: float) -> Table:
    """Values that stay the same far too long go; those that do for long are marked.

    Saturated air, a pressure put there from the ``elevation`` [m], and winds other
    than none are let be.
    """
    probe = _frozen_probe(table)
    for name, longest in SAME_FAILS.items():
        values = table.values[name]
        lengths = run_lengths(values)
        may_stay = _may_stay(name, values, elevation)
        fails = (lengths >= longest.value) & ~may_stay
        if name in {"air_temperature", "relative_humidity"}:
            fails = fails | probe
        table = table.remove(name, Flag.STUCK, fails)
        if name in SAME_NOTED:
            long = (lengths >= SAME_NOTED[name].value) & ~may_stay & ~fails
            table = table.keep(name, Flag.LONG_SAME, long)
    return table


def _frozen_probe(table: Table) -> Bools:
    """Hours in which temperature and humidity both stay put, short of saturation."""
    humidity = table.values["relative_humidity"]
    lengths = run_lengths(table.values["air_temperature"], humidity)
    frozen: Bools = (lengths >= SAME_PROBE.value) & (humidity < SATURATED.value)
    return frozen


def _may_stay(name: str, values: Floats, elevation: float) -> Bools:
    """Values that are true however long they last."""
    if name == "relative_humidity":
        may: Bools = values >= SATURATED.value
    elif name == "pressure":
        from_standard = values - standard_pressure(elevation)
        may = np.abs(from_standard) <= STANDARD_SLACK.value
    elif name == "wind_speed":
        may = values != 0.0
    else:
        may = np.zeros(values.shape, dtype=np.bool_)
    return may
