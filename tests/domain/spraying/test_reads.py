"""The hours and columns a quantity is said to read are all it reads.

Each value in turn is taken out of a table; where that makes a quantity unknown, the
value must be among those named, so that a refused value is always found.
"""

from __future__ import annotations

import numpy as np
import pytest

from forecaster.domain.place import Place
from forecaster.domain.sourced import Mark, Sourced
from forecaster.domain.spraying.limits import Limit, Quantity, Rank, Side
from forecaster.domain.spraying.quantities import Exposure, measure, values
from forecaster.domain.spraying.reads import reads
from forecaster.domain.weather import (
    HOUR,
    QUANTITIES,
    Origin,
    Provenance,
    WeatherFrame,
)

HOURS = 160
HERE = 90
PLACE = Place(-35.0, 138.6, 100.0, "Australia/Adelaide")
START = np.datetime64("2026-10-01T00:00:00", "s")
DRY = 6.0
USUAL = {"relative_humidity": 60.0, "pressure": 1000.0, "rain": 0.0}


def limit(quantity: Quantity) -> Limit:
    """A bound on one quantity that looks six hours ahead."""
    number = Sourced(DRY, "1", DRY, DRY, "a test", "a page", Mark.USER)
    return Limit("a", quantity, Side.MIN, DRY, number, Rank.LAW, "a", 1.0, horizon=DRY)


def value_at(quantity: Quantity, name: str = "", row: int = 0) -> float:
    """The quantity at one hour of a whole table, or one that lacks a value."""
    columns = {each: np.full(HOURS, USUAL.get(each, 9.0)) for each in QUANTITIES}
    if name:
        columns[name][row] = np.nan
    frame = WeatherFrame(
        time=START + np.arange(HOURS) * HOUR,
        **columns,
        origin=np.full(HOURS, Origin.OBSERVED, np.uint8),
        provenance=Provenance("a test", "none", START),
        marks={},
    )
    air = measure(frame, PLACE, START)
    around = Exposure(np.ones(360, dtype=np.bool_))
    return float(values(air, [limit(quantity)], around)[0, HERE])


@pytest.mark.parametrize("quantity", list(Quantity))
def test_every_value_that_matters_is_named(quantity: Quantity) -> None:
    """All columns, from four days before to two days after, at their telling hours."""
    read = reads(limit(quantity))
    assert not np.isnan(value_at(quantity))
    for name in QUANTITIES:
        for shift in (-80, -72, -48, -24, -3, -2, -1, 0, 1, 5, 6, 7, 30):
            if np.isnan(value_at(quantity, name, HERE + shift)):
                assert name in read.columns
                assert -read.before <= shift <= read.after


@pytest.mark.parametrize("quantity", list(Quantity))
def test_every_named_column_matters(quantity: Quantity) -> None:
    """Without it at some hour of the span the quantity is unknown."""
    read = reads(limit(quantity))
    for name in read.columns:
        span = range(-read.before, read.after + 1)
        assert any(np.isnan(value_at(quantity, name, HERE + shift)) for shift in span)
