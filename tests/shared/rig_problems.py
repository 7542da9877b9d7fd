"""Invented jobs for a rig, and every plan of a few of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from hypothesis import strategies as st

from forecaster.domain.rig.problem import Crew, Job, Placed, Problem, way_of

if TYPE_CHECKING:
    from forecaster.domain.rig.problem import Plan

DAY = 48
"""[slots]"""


@st.composite
def small(draw: st.DrawFn) -> Problem:
    """Up to five jobs in 16 slots, up to two rigs, up to two farms an hour apart."""
    farms = draw(st.integers(1, 2))
    rigs = draw(st.integers(1, 2))
    road = draw(st.integers(0, 3)) if farms > 1 else 0
    travel = np.full((farms, farms), road) * (1 - np.eye(farms, dtype=np.int64))
    crews = (Crew(0, 1),) * rigs if road else (Crew(0, rigs),)
    slots = 16
    jobs = []
    for number in range(draw(st.integers(1, 5))):
        share = st.sampled_from([np.nan, np.nan, 0.0, 0.3, 0.6, 0.9, 1.0])
        holds = np.array(draw(st.lists(share, min_size=slots, max_size=slots)))
        steady = draw(st.booleans())
        holds = np.where(np.isnan(holds) & steady, 0.5, holds)
        close = draw(st.integers(4, slots))
        is_open = np.where(np.arange(slots) < close, draw(st.floats(0.1, 1)), np.nan)
        length = draw(st.integers(1, 5))
        hectares = draw(st.floats(1, 60))
        ways = tuple(
            way_of(crew, "glyphosate", length, (holds, is_open), hectares)
            for crew in range(len(crews))
        )
        farm = draw(st.integers(0, farms - 1))
        parts = draw(st.integers(1, 2)) if number == 0 else 1
        jobs.append(Job(f"P{number}", farm, hectares, ways, close, parts))
    return Problem(tuple(jobs), crews, travel)


def best_of_all(problem: Problem) -> float:
    """The most any plan is worth: every choice is tried, in every combination."""
    best = 0.0
    choices = []
    for number, job in enumerate(problem.jobs):
        single: list[Placed | None] = [None]
        single += [
            Placed(number, way, int(start))
            for way, how in enumerate(job.ways)
            for start in how.starts
        ]
        choices += [single] * job.parts
    for chosen in _sound(problem, choices, ()):
        best = max(best, problem.value(chosen))
    return best


def _sound(
    problem: Problem, choices: list[list[Placed | None]], plan: Plan
) -> list[Plan]:
    """Every plan that can be driven; a part of one that cannot is not followed."""
    found = [plan]
    for depth, single in enumerate(choices):
        for placed in single:
            if placed is None:
                continue
            longer = (*plan, placed)
            if not clashes(problem, longer):
                found += _sound(problem, choices[depth + 1 :], longer)
    return found


def clashes(problem: Problem, plan: Plan) -> bool:
    """Written anew, pair by pair and slot by slot: whether a plan cannot be driven."""
    last = plan[-1]
    crew = problem.way(last).crew
    same = [each for each in plan if problem.way(each).crew == crew]
    for slot in range(last.start, problem.end(last)):
        at_work = sum(each.start <= slot < problem.end(each) for each in same)
        if at_work > problem.crews[crew].number:
            return True
    for each in same[:-1]:
        road = int(
            problem.travel[problem.jobs[each.job].farm, problem.jobs[last.job].farm]
        )
        apart = last.start - problem.end(each), each.start - problem.end(last)
        if road and max(apart) < road:
            return True
    return False


def season(seed: int, *, jobs: int = 40, days: int = 14, rigs: int = 1) -> Problem:
    """Forty paddocks of 8 to 220 ha over a fortnight in which good hours are short.

    Paddocks come in parts of at most 60 ha, for the demo's 18 m boom; six days in ten
    have one to eight good hours, with a chance that falls with the lead; windows open
    and shut within the fortnight.
    """
    random = np.random.default_rng(seed)
    slots = days * DAY
    good = np.full(slots, np.nan)
    for day in range(days):
        if random.random() < 0.6:
            start = day * DAY + 18 + 2 * int(random.integers(0, 8))
            good[start : start + 2 * int(random.integers(1, 9))] = 0.95 - 0.03 * day
    found = []
    for number in range(jobs):
        hectares = float(np.clip(np.exp(random.normal(3.5, 0.6)), 8, 220))
        parts = max(1, int(np.ceil(hectares / 60)))
        hectares /= parts
        hours = hectares / 18.9 + np.ceil(hectares / 25) * 25 / 60 + 0.25
        mine = good.copy()
        for day in np.flatnonzero(random.random(days) < 0.3).tolist():
            mine[day * DAY : day * DAY + DAY // 2 + 6] = np.nan
        opens = int(random.integers(0, (days - 3) * DAY))
        close = opens + int(random.integers(2 * DAY, 9 * DAY))
        slot = np.arange(slots)
        is_open = np.where((slot >= opens) & (slot < close), 0.8, np.nan)
        weight = float(random.choice([0.5, 1.0, 2.0]))
        way = way_of(
            0, "glyphosate", int(np.ceil(hours * 2)), (mine, is_open), hectares * weight
        )
        found.append(Job(f"P{number}", 0, hectares, (way,), float(close), parts))
    return Problem(tuple(found), (Crew(0, rigs),), np.zeros((1, 1), np.int64))
