"""What the solver's plan brings over orders made by hand, and what it costs.

The baseline of value and of time is the better order made by hand, in the same run.
``FORECASTER_BENCH=full`` takes twenty fortnights.
"""

from __future__ import annotations

import os
from statistics import mean, median
from time import perf_counter
from typing import TYPE_CHECKING

import pytest
from rig_problems import season

from forecaster.domain.rig.diary import faults
from forecaster.domain.rig.hand_made import earliest_closing, value_per_hour
from forecaster.service.rig.choosing import choose
from forecaster.service.rig.solver import solve

if TYPE_CHECKING:
    from collections.abc import Callable

FULL = os.environ.get("FORECASTER_BENCH") == "full"
SEEDS = range(20 if FULL else 3)


@pytest.mark.benchmark
@pytest.mark.parametrize("rigs", [1, 2])
def test_forty_paddocks_in_a_fortnight(
    rigs: int, measured: Callable[[str], None]
) -> None:
    """The plan is never worth less than by hand, and over all worth more."""
    solve(season(0, jobs=2, days=4), 1.0)  # SciPy loads once
    by_value, by_close, dear, times = [], [], [], []
    proved = 0
    for seed in SEEDS:
        problem = season(seed, rigs=rigs)
        begun = perf_counter()
        close, value = earliest_closing(problem), value_per_hour(problem)
        by_hand = perf_counter() - begun
        begun = perf_counter()
        chosen = choose(problem, 5.0)
        times.append(perf_counter() - begun)
        best = problem.value(chosen.plan)
        assert not faults(problem, chosen.plan)
        proved += chosen.bound - best <= 1e-4 * best
        by_value.append(problem.value(value) / best)
        by_close.append(problem.value(close) / best)
        dear.append(times[-1] / by_hand)
    measured(
        f"40 paddocks x 14 days, {rigs} rig(s), {len(SEEDS)} runs, {proved} within "
        f"1e-4 of the bound: of the plan's value, most value an hour brings "
        f"{mean(by_value):.2f} (worst {min(by_value):.2f}), what closes first "
        f"{mean(by_close):.2f} (worst {min(by_close):.2f}); it takes "
        f"{median(dear):.0f} times as long as both by hand ({median(times):.2f} s, "
        f"most {max(times):.2f} s)"
    )
    assert max(*by_value, *by_close) <= 1 + 1e-9
    assert mean(by_value) < 1
