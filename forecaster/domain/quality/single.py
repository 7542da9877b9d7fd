"""Rules on one quantity: its range, its jumps."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.quality.flags import Flag
from forecaster.domain.quality.thresholds import CLIPS, RANGES, STEPS

if TYPE_CHECKING:
    from forecaster.domain.quality.table import Table
    from forecaster.domain.weather import Bools, Floats


def within_range(table: Table) -> Table:
    """Values outside their range go; those just over a physical end are cut to it."""
    for name, values in table.values.items():
        outside = RANGES[name].outside(values)
        table = table.remove(name, Flag.OUT_OF_RANGE, outside)
    for name, (low, high) in CLIPS.items():
        values = table.values[name]
        beyond = (values < low) | (values > high)
        table = table.change(name, Flag.CLIPPED, beyond, np.clip(values, low, high))
    return table


def no_spikes(table: Table) -> Table:
    """Jumps undone the next hour go."""
    for name, size in STEPS.items():
        spike = _spikes(table.values[name], size.value)
        table = table.remove(name, Flag.SPIKE, spike)
    return table


def steps_noted(table: Table) -> Table:
    """Jumps that stay are marked."""
    for name, size in STEPS.items():
        change = np.abs(_changes(table.values[name]))
        table = table.keep(name, Flag.STEP, change > size.value)
    return table


def _changes(values: Floats) -> Floats:
    """Change since the hour before; NaN in the first."""
    return np.diff(values, axis=-1, prepend=np.full((*values.shape[:-1], 1), np.nan))


def _spikes(values: Floats, size: float) -> Bools:
    """Hours that jump by over ``size`` and jump back by over ``size``."""
    change = _changes(values)
    unknown = np.full((*values.shape[:-1], 1), np.nan)
    after = np.concatenate((change[..., 1:], unknown), axis=-1)
    up: Bools = (change > size) & (after < -size)
    down: Bools = (change < -size) & (after > size)
    return up | down
