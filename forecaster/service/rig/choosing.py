"""The plan that is driven: the solver's, unless an order made by hand is worth more."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from forecaster.domain.rig.diary import earlier
from forecaster.domain.rig.hand_made import earliest_closing, value_per_hour
from forecaster.domain.rig.rig_plan import Method
from forecaster.service.rig.solver import solve

if TYPE_CHECKING:
    from forecaster.domain.rig.problem import Plan, Problem

DIGITS = 9
"""Places of a value within which two plans are equal: sums differ by their order."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """A plan, how it was found, what no plan can beat, and the hand-made orders."""

    plan: Plan
    method: Method
    bound: float
    hand_made: dict[Method, Plan]


def choose(problem: Problem, seconds: float, known: Plan = ()) -> Chosen:
    """The solver's plan of ``seconds``, never worth less than a hand-made one.

    Nor is it worth less than a plan that is ``known`` already. Of equals a proved plan
    goes first, then what is known, then a hand-made order: it is the plainer one.
    """
    by_hand = {
        Method.VALUE: value_per_hour(problem),
        Method.CLOSING: earliest_closing(problem),
    }
    solved = solve(problem, seconds)
    tried = {
        Method.PROVED if solved.proved else Method.LIMIT: earlier(problem, solved.plan)
    }
    others = {**({Method.KEPT: known} if known else {}), **by_hand}
    plans = {**tried, **others} if solved.proved else {**others, **tried}
    best = max(plans, key=lambda method: round(problem.value(plans[method]), DIGITS))
    value = problem.value(plans[best])
    bound = value if math.isnan(solved.bound) else max(solved.bound, value)
    return Chosen(
        plan=earlier(problem, plans[best]),
        method=best,
        bound=math.nan if math.isnan(solved.bound) else bound,
        hand_made=by_hand,
    )
