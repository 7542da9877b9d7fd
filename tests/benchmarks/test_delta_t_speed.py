"""Delta T against MetPy's wet bulb: time per value, in one run on one machine."""

from __future__ import annotations

import statistics
import time
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from forecaster.domain.air.delta_t import delta_t

if TYPE_CHECKING:
    from collections.abc import Callable

MANY, FEW, REPEATS = 1_000_000, 300, 5
LEAST_RATIO = 5_000.0


def _median_seconds(work: Callable[[], Any]) -> float:
    """Median wall time of several runs, after one that is not counted."""
    work()
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


@pytest.mark.benchmark
def test_delta_t_is_thousands_of_times_quicker(
    measured: Callable[[str], None],
) -> None:
    """A value costs less than a five-thousandth of MetPy's moist-adiabatic one."""
    import metpy.calc
    from metpy.units import units

    rng = np.random.default_rng(1)
    temperature = rng.uniform(0.0, 45.0, MANY)
    humidity = rng.uniform(5.0, 100.0, MANY)
    pressure = rng.uniform(850.0, 1030.0, MANY)
    celsius = units.Quantity(temperature[:FEW], "degC")
    dew = metpy.calc.dewpoint_from_relative_humidity(
        celsius, units.Quantity(humidity[:FEW], "percent")
    )
    hectopascal = units.Quantity(pressure[:FEW], "hPa")
    ours = _median_seconds(lambda: delta_t(temperature, humidity, pressure)) / MANY
    theirs = (
        _median_seconds(
            lambda: metpy.calc.wet_bulb_temperature(hectopascal, celsius, dew)
        )
        / FEW
    )
    measured(
        f"Delta T {ours * 1e9:.0f} ns a value, MetPy {theirs * 1e6:.0f} µs: "
        f"ratio {theirs / ours:,.0f}"
    )
    assert theirs / ours >= LEAST_RATIO
