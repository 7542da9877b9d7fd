"""The order of stops by the shortest road."""

from __future__ import annotations

from itertools import pairwise, permutations
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from forecaster.domain.rig import route
from forecaster.domain.rig.problem import Crew, Job, Placed, Problem, Way, way_of
from forecaster.domain.rig.stretches import by_road, repacked, stretches

if TYPE_CHECKING:
    from forecaster.domain.weather import Floats

POINT = st.tuples(st.floats(0, 10), st.floats(0, 10))


def distances(points: list[tuple[float, float]]) -> Floats:
    """Straight lines in a plane."""
    xy = np.array(points)
    away: Floats = np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1))
    return away


def along(count: int) -> Floats:
    """Stops on a line, numbered back and forth."""
    order = np.arange(count)
    x = np.where(order % 2 == 0, order // 2, count - 1 - order // 2).astype(float)
    away: Floats = np.abs(x[:, None] - x[None])
    return away


@given(st.lists(POINT, min_size=1, max_size=6))
def test_a_few_stops_go_the_shortest_way(points: list[tuple[float, float]]) -> None:
    """By the length of every order, added up leg by leg."""
    away = distances(points)
    best = min(
        sum(away[a, b] for a, b in pairwise(order))
        for order in permutations(range(len(points)))
    )
    found = route.shortest(away, lambda _: True)
    assert sorted(found) == list(range(len(points)))
    assert route.length(found, away) == pytest.approx(best)


@pytest.mark.parametrize("count", [route.EXACT, route.EXACT + 1, 12])
def test_stops_on_a_line_are_driven_along_it(count: int) -> None:
    """The shortest road is the line itself, n − 1; tried whole and by pieces."""
    found = route.shortest(along(count), lambda _: True)
    assert route.length(found, along(count)) == count - 1


@pytest.mark.parametrize("count", [4, 9])
def test_what_is_not_allowed_is_not_driven(count: int) -> None:
    """Nothing allowed, or a distance not known: the order stays."""
    stops = tuple(range(count))
    assert route.shortest(along(count), lambda _: False) == stops
    unknown = along(count)
    unknown[0, 1] = np.nan
    assert route.shortest(unknown, lambda _: True) == stops


def steady(count: int, closes: int | None = None) -> Problem:
    """Jobs of two slots each in twenty; the last may have to end by ``closes``."""
    sure = np.ones(20)
    jobs = []
    for number in range(count):
        last = number == count - 1
        end = closes if last and closes is not None else 20
        holds = np.where(np.arange(20) < end, 1.0, np.nan)
        way = way_of(0, "glyphosate", 2, (holds, sure), 1.0)
        jobs.append(Job(f"P{number}", 0, 1, (way,)))
    return Problem(tuple(jobs), (Crew(0, 1),), np.zeros((1, 1), np.int64))


def test_stops_of_a_stretch_change_places() -> None:
    """Back and forth becomes along; the hours taken stay the same."""
    one = steady(4)
    plan = tuple(Placed(job, 0, 2 * job) for job in range(4))
    (found,) = by_road(one, [plan], along(4))
    assert [each.start for each in found] == [0, 2, 4, 6]
    assert route.length([each.job for each in found], along(4)) == 3


def test_hours_count_before_the_road() -> None:
    """The one that shuts first stays where it is."""
    one = steady(3, closes=2)
    plan = (Placed(2, 0, 0), Placed(0, 0, 2), Placed(1, 0, 4))
    (found,) = by_road(one, [plan], along(3))
    assert found[0].job == 2
    assert repacked(one, plan, (1, 2, 0)) is None


def test_a_night_ends_a_stretch() -> None:
    """Stops of two days are never mixed."""
    one = steady(3)
    plan = (Placed(0, 0, 0), Placed(1, 0, 2), Placed(2, 0, 11))
    assert [len(each) for each in stretches(one, plan)] == [2, 1]
    (found,) = by_road(one, [plan], along(3))
    assert found[-1] == plan[-1]


def test_an_order_that_cannot_be_driven_is_left() -> None:
    """The road between farms counts: a stop of the other farm between is no gain."""
    sure = np.ones(20)
    jobs = tuple(
        Job(name, farm, 1, (way_of(0, "g", 2, (sure, sure), 1.0),))
        for name, farm in (("A", 0), ("B", 0), ("C", 1))
    )
    one = Problem(jobs, (Crew(0, 1),), np.array([[0, 2], [2, 0]]))
    plan = (Placed(0, 0, 0), Placed(1, 0, 2), Placed(2, 0, 6))
    misleading = np.array([[0.0, 5, 1], [5, 0, 1], [1, 1, 0]])
    assert by_road(one, [plan], misleading) == [plan]


def test_the_road_to_the_next_day_counts() -> None:
    """A shorter road that ends on the farm too far from tomorrow's is not driven.

    By hand: Q1, Q2, P would be 2 long, not 6, but ends in slot 7 on farm 0, ten slots
    from farm 2, where work begins in slot 14. Its reverse cannot be: Q2 may begin in
    slots 2 and 5 alone.
    """
    sure = np.ones(20)
    way = way_of(0, "g", 2, (sure, sure), 1.0)
    some = Way(0, "g", 2, np.array([2, 5]), np.ones(2))
    jobs = tuple(
        Job(name, farm, 1, (how,))
        for name, farm, how in (
            ("P", 0, way),
            ("Q1", 1, way),
            ("Q2", 1, some),
            ("R", 2, way),
        )
    )
    roads = np.array([[0, 1, 10], [1, 0, 7], [10, 7, 0]])
    one = Problem(jobs, (Crew(0, 1),), roads)
    plan = tuple(Placed(job, 0, start) for job, start in enumerate((0, 3, 5, 14)))
    away = np.full((4, 4), 9.0)
    away[0, 1] = away[1, 0] = 5
    away[1, 2] = away[2, 1] = away[0, 2] = away[2, 0] = 1
    assert repacked(one, plan[:3], (1, 2, 0)) is not None
    assert by_road(one, [plan], away) == [plan]
