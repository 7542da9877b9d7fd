"""The weather table refuses what the model could misread."""

from __future__ import annotations

import numpy as np
import pytest

from forecaster.domain.weather import (
    QUANTITIES,
    Origin,
    Provenance,
    WeatherFrame,
    empty_columns,
)


def table(hours: int, **changes: object) -> WeatherFrame:
    """A table of missing values."""
    time = np.datetime64("2026-10-12T00:00", "s") + np.arange(hours) * np.timedelta64(
        3600, "s"
    )
    values: dict[str, object] = {
        "time": time,
        **empty_columns(hours),
        "origin": np.zeros(hours, np.uint8),
        "provenance": Provenance("a test", "none", time[0]),
    }
    return WeatherFrame(**{**values, **changes})  # type: ignore[arg-type]  # a test builder


def test_columns_of_another_length_are_refused() -> None:
    """One hour of wind for two hours of time names the column."""
    with pytest.raises(ValueError, match="wind_speed has shape"):
        table(2, wind_speed=np.zeros(1))


def test_uneven_hours_are_refused() -> None:
    """A gap must be written as missing rows, not left out."""
    time = np.array(["2026-10-12T00:00", "2026-10-12T02:00"], dtype="datetime64[s]")
    with pytest.raises(ValueError, match="one hour apart"):
        table(2, time=time)


def test_arrays_cannot_be_changed_afterwards() -> None:
    """Every array of a table is read-only."""
    with pytest.raises(ValueError, match="read-only"):
        table(2).rain[0] = 1.0


def test_between_takes_the_start_and_leaves_the_end() -> None:
    """Rows from 01:00 up to, not with, 03:00."""
    whole = table(5)
    part = whole.between(whole.time[1], whole.time[3])
    assert part.time.tolist() == whole.time[1:3].tolist()
    assert len(part) == 2
    assert part.provenance is whole.provenance


def test_empty_columns_are_missing_not_zero() -> None:
    """A source that fills nothing leaves NaN everywhere."""
    columns = empty_columns(3)
    assert tuple(columns) == QUANTITIES
    assert all(np.isnan(values).all() for values in columns.values())
    assert int(Origin.MISSING) == 0
