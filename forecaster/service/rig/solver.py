"""The best plan by integer programming: SciPy's HiGHS, with a limit of time.

One variable for each way and start of a job, counted up to its parts; each part is
done at most once; no more rigs than there are in any slot.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from forecaster.domain.rig.problem import Placed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.domain.rig.problem import Ints, Plan, Problem
    from forecaster.domain.weather import Floats

GAP = 1e-7
"""Share of the value within which the solver may stop."""
OPTIMAL, LIMIT = 0, 1
"""What ``scipy.optimize.milp`` calls them."""


@dataclass(frozen=True, slots=True)
class Solved:
    """The solver's plan, and what no plan can beat.

    ``bound`` is NaN where the solver has none yet.
    """

    plan: Plan
    bound: float
    proved: bool


@dataclass(frozen=True, slots=True)
class _Table:
    """Every (job, way, start), one a row."""

    job: Ints
    way: Ints
    crew: Ints
    farm: Ints
    start: Ints
    length: Ints
    worth: Floats

    @classmethod
    def of(cls, problem: Problem) -> _Table:
        rows = [
            (number, place, way)
            for number, job in enumerate(problem.jobs)
            for place, way in enumerate(job.ways)
        ]
        many = [way.starts.size for _, _, way in rows]

        def column(values: list[int]) -> Ints:
            return np.repeat(np.array(values, np.int64), many)

        none = np.empty(0)
        return cls(
            job=column([job for job, _, _ in rows]),
            way=column([place for _, place, _ in rows]),
            crew=column([way.crew for _, _, way in rows]),
            farm=column([problem.jobs[job].farm for job, _, _ in rows]),
            start=np.concatenate([none, *(way.starts for _, _, way in rows)]).astype(
                np.int64
            ),
            length=column([way.length for _, _, way in rows]),
            worth=np.concatenate([none, *(way.worth for _, _, way in rows)]),
        )


def solve(problem: Problem, seconds: float) -> Solved:
    """The plan worth most, or the best one found in ``seconds``."""
    table = _Table.of(problem)
    if table.worth.size == 0:
        return Solved((), 0.0, proved=True)
    from scipy.optimize import Bounds, LinearConstraint, milp

    parts = np.array([job.parts for job in problem.jobs])
    rows = [_once(table, parts), *_capacity(problem, table), *_roads(problem, table)]
    answer = milp(
        -table.worth,
        integrality=np.ones(table.worth.size),
        bounds=Bounds(0, parts[table.job]),
        constraints=[LinearConstraint(matrix, ub=most) for matrix, most in rows],
        options={"time_limit": seconds, "mip_rel_gap": GAP},
    )
    bound = getattr(answer, "mip_dual_bound", None)
    return Solved(
        plan=() if answer.x is None else _plan(table, answer.x),
        bound=math.nan if bound is None else -float(bound),
        proved=answer.status == OPTIMAL,
    )


def _plan(table: _Table, counts: Floats) -> Plan:
    times = np.round(counts).astype(np.int64)
    return tuple(
        Placed(int(table.job[row]), int(table.way[row]), int(table.start[row]))
        for row in np.flatnonzero(times).tolist()
        for _ in range(times[row])
    )


def _once(table: _Table, parts: Ints) -> tuple[Any, Ints]:
    from scipy.sparse import csr_array

    columns = np.arange(table.job.size)
    shape = parts.size, columns.size
    ones = np.ones(columns.size)
    return csr_array((ones, (table.job, columns)), shape=shape), parts


def _busy(table: _Table, chosen: Ints, slots: int) -> Any:
    """Matrix (slots, variables): which of the ``chosen`` are at work in each slot."""
    from scipy.sparse import csr_array

    lengths = table.length[chosen]
    columns = np.repeat(chosen, lengths)
    within = np.arange(columns.size) - np.repeat(np.cumsum(lengths) - lengths, lengths)
    at = np.repeat(table.start[chosen], lengths) + within
    shape = slots, table.job.size
    return csr_array((np.ones(columns.size), (at, columns)), shape=shape)


def _capacity(problem: Problem, table: _Table) -> Iterator[tuple[Any, int]]:
    for number, crew in enumerate(problem.crews):
        chosen = np.flatnonzero(table.crew == number)
        if chosen.size:
            yield _busy(table, chosen, problem.slots), crew.number


def _roads(problem: Problem, table: _Table) -> Iterator[tuple[Any, int]]:
    """A rig at work on one farm is not at another before it has driven there.

    At work here in slot t and there in slot t + d, for every d up to the road: both
    are 0 or 1 by capacity, and their sum may not be 2. Two jobs together longer than
    a step of d cannot slip through it.
    """
    travel = problem.travel
    for number in range(len(problem.crews)):
        for here, there in np.argwhere(travel > 0).tolist():
            ours, theirs = (
                np.flatnonzero((table.crew == number) & (table.farm == farm))
                for farm in (here, there)
            )
            if not (ours.size and theirs.size):
                continue
            step = int(table.length[ours].min() + table.length[theirs].min() - 1)
            road = int(travel[here, there])
            first = _busy(table, ours, problem.slots)
            later = _busy(table, theirs, problem.slots)
            for gap in (*range(road, 0, -step), 0):
                yield first[: problem.slots - gap] + later[gap:], 1
