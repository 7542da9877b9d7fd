"""A sound day of weather to put faults into."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.domain.place import Place
from forecaster.domain.weather import (
    HOUR,
    Origin,
    Provenance,
    WeatherFrame,
    empty_columns,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from forecaster.domain.weather import Floats


@pytest.fixture
def place() -> Place:
    """On the zero meridian in the south, so that noon is near 12 UTC."""
    return Place(-35.0, 0.0, 100.0, "UTC")


@pytest.fixture
def sound() -> Callable[..., WeatherFrame]:
    """Makes a table with nothing wrong, but for the columns given."""

    def make(hours: int = 48, **columns: Floats) -> WeatherFrame:
        start = np.datetime64("2026-10-01T00:00:00", "s")
        hour = np.arange(hours)
        turn = np.sin(2 * np.pi * (hour - 8) / 24)
        own = {
            "air_temperature": 15.0 + 6.0 * turn,
            "relative_humidity": 60.0 - 20.0 * turn,
            "pressure": 1005.0 + 0.1 * hour,
            "wind_speed": 4.0 + turn,
            "wind_from": np.full(hours, 270.0),
            "wind_gust": 7.0 + turn,
            "rain": np.zeros(hours),
            "cloud": np.full(hours, 0.5),
            "radiation": np.where((hour % 24 >= 7) & (hour % 24 < 17), 400.0, 0.0),
        }
        return WeatherFrame(
            time=start + hour * HOUR,
            **{**empty_columns(hours), **own, **columns},
            origin=np.full(hours, Origin.OBSERVED, np.uint8),
            provenance=Provenance("a test", "CC0", start),
            marks={},
        )

    return make
