"""Promises a plan must keep for any jobs: found false, somebody drives for nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from rig_problems import best_of_all, clashes, season, small

from forecaster.domain.rig.diary import earlier, faults
from forecaster.domain.rig.hand_made import earliest_closing, value_per_hour
from forecaster.domain.rig.rig_plan import Method
from forecaster.service.rig.choosing import choose
from forecaster.service.rig.solver import solve

if TYPE_CHECKING:
    from forecaster.domain.rig.problem import Problem


@settings(max_examples=150)
@given(small())
def test_the_solver_finds_the_best_of_all_plans(problem: Problem) -> None:
    """Every plan of a few jobs is tried: the same value, and the bound is it."""
    solved = solve(problem, 5.0)
    best = best_of_all(problem)
    assert solved.proved
    assert problem.value(solved.plan) == pytest.approx(best, rel=1e-6, abs=1e-9)
    assert solved.bound == pytest.approx(best, rel=1e-5, abs=1e-6)


@settings(max_examples=150)
@given(small())
def test_every_plan_can_be_driven(problem: Problem) -> None:
    """No rig twice, the road kept, good hours alone; by two ways of looking."""
    chosen = choose(problem, 5.0)
    for plan in (chosen.plan, *chosen.hand_made.values()):
        assert faults(problem, plan) == []
        for count in range(1, len(plan) + 1):
            assert not clashes(problem, plan[:count])
        for placed in plan:
            way = problem.way(placed)
            job = problem.jobs[placed.job]
            assert placed.start in way.starts
            assert problem.end(placed) <= job.closes


@settings(max_examples=150)
@given(small())
def test_no_order_made_by_hand_is_worth_more(problem: Problem) -> None:
    """Nor is any worth more than the bound."""
    chosen = choose(problem, 5.0)
    value = problem.value(chosen.plan)
    for plan in (earliest_closing(problem), value_per_hour(problem)):
        assert value >= problem.value(plan) - 1e-9
    assert value <= chosen.bound + 1e-9


@pytest.mark.parametrize("seed", range(3))
def test_a_solver_without_time_gives_way_to_hand_made_orders(
    seed: int,
) -> None:
    """Stopped at once, the better order made by hand is the plan, and it says so."""
    problem = season(seed, rigs=2)
    chosen = choose(problem, 0.0)
    orders = {method: problem.value(plan) for method, plan in chosen.hand_made.items()}
    assert problem.value(chosen.plan) >= max(orders.values()) - 1e-9
    if chosen.method in orders:
        assert orders[chosen.method] == max(orders.values())
    else:
        assert chosen.method in {Method.LIMIT, Method.PROVED}
    assert faults(problem, chosen.plan) == []


@settings(max_examples=150)
@given(small())
def test_moving_earlier_loses_nothing(problem: Problem) -> None:
    """The same parts, none later, worth no less, still to be driven."""
    late = solve(problem, 5.0).plan
    moved = earlier(problem, late)
    assert faults(problem, moved) == []
    assert problem.value(moved) >= problem.value(late) - 1e-9
    for job in range(len(problem.jobs)):
        before = sorted(each.start for each in late if each.job == job)
        after = sorted(each.start for each in moved if each.job == job)
        assert np.all(np.array(after) <= np.array(before))
