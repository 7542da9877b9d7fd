"""Promises a plan must keep for any jobs: found false, somebody drives for nothing."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rig_problems import best_of_all, clashes, season, small

from forecaster.domain.rig.diary import earlier, faults
from forecaster.domain.rig.hand_made import earliest_closing, value_per_hour
from forecaster.domain.rig.rig_plan import Method
from forecaster.domain.rig.stretches import by_road, stretches
from forecaster.service.rig.choosing import choose
from forecaster.service.rig.solver import solve

if TYPE_CHECKING:
    from forecaster.domain.rig.problem import Placed, Plan, Problem
    from forecaster.domain.weather import Floats


@settings(max_examples=60)
@given(small())
def test_the_solver_finds_the_best_of_all_plans(problem: Problem) -> None:
    """Every plan of a few jobs is tried: the same value, and the bound is it."""
    solved = solve(problem, 5.0)
    best = best_of_all(problem)
    assert solved.proved
    assert problem.value(solved.plan) == pytest.approx(best, rel=1e-6, abs=1e-9)
    assert solved.bound == pytest.approx(best, rel=1e-5, abs=1e-6)


@settings(max_examples=60)
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


@settings(max_examples=60)
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


def test_a_plan_that_is_known_is_never_thrown_away() -> None:
    """A solver without time gives way to it, and says that it is the old one."""
    problem = season(1, rigs=2)
    best = choose(problem, 5.0)
    kept = choose(problem, 0.0, best.plan)
    assert problem.value(kept.plan) >= problem.value(best.plan) - 1e-9
    assert best.method is Method.PROVED
    assert kept.method in {Method.KEPT, Method.PROVED}


@settings(max_examples=60)
@given(small(), st.integers(0, 2**32 - 1))
def test_the_shorter_road_loses_nothing(problem: Problem, seed: int) -> None:
    """The same stops, to be driven, worth no less, on no longer road."""
    plan = choose(problem, 5.0).plan
    rigs = one_by_one(problem, plan)
    many = len(problem.jobs)
    away = np.random.default_rng(seed).random((many, many))
    away = away + away.T
    turned = by_road(problem, rigs, away)
    whole = tuple(each for rig in turned for each in rig)
    assert faults(problem, whole) == []
    assert problem.value(whole) >= problem.value(plan) - 1e-9
    for before, after in zip(rigs, turned, strict=True):
        assert sorted(each.job for each in after) == sorted(each.job for each in before)
    assert road(problem, turned, away) <= road(problem, rigs, away) + 1e-9


def one_by_one(problem: Problem, plan: Plan) -> list[Plan]:
    """The stops of a plan by single rigs, each given to the first that is free."""
    rigs: list[tuple[int, list[Placed]]] = [
        (crew, [])
        for crew, each in enumerate(problem.crews)
        for _ in range(each.number)
    ]
    for placed in sorted(plan, key=lambda each: each.start):
        next(
            stops
            for crew, stops in rigs
            if crew == problem.way(placed).crew
            and (not stops or problem.end(stops[-1]) <= placed.start)
        ).append(placed)
    return [tuple(stops) for _, stops in rigs]


def road(problem: Problem, rigs: list[Plan], away: Floats) -> float:
    """Driven within stretches, leg by leg."""
    return sum(
        float(away[a.job, b.job])
        for rig in rigs
        for stretch in stretches(problem, rig)
        for a, b in pairwise(stretch)
    )


@settings(max_examples=60)
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
