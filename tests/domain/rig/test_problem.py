"""Starts in runs of good slots, the diary, what is wrong with a plan."""

from __future__ import annotations

import numpy as np
import pytest

from forecaster.domain.rig.diary import Diary, earlier, faults
from forecaster.domain.rig.hand_made import earliest_closing, value_per_hour
from forecaster.domain.rig.problem import Crew, Job, Placed, Problem, Way, way_of

NAN = float("nan")


def steady(length: int, value: float, slots: int = 8, crew: int = 0) -> Way:
    """A way with every slot good and sure."""
    return way_of(crew, "glyphosate", length, (np.ones(slots), np.ones(slots)), value)


def problem(*jobs: Job, rigs: int = 1, road: int = 0) -> Problem:
    """Jobs on two farms."""
    crews = (Crew(0, 1),) * rigs if road else (Crew(0, rigs),)
    return Problem(jobs, crews, np.array([[0, road], [road, 0]]))


def test_starts_lie_inside_runs_of_good_slots() -> None:
    """Unknown and nought are never used; worth is by the weakest slot, by hand."""
    holds = np.array([0.9, 0.5, NAN, 0.8, 0.8, 0.4, 0.0])
    is_open = np.array([1.0, 0.5, 1.0, 1.0, 0.5, 0.5, 1.0])
    way = way_of(0, "paraquat", 2, (holds, is_open), 10.0)
    assert way.starts.tolist() == [0, 3, 4]
    assert way.worth.tolist() == pytest.approx([2.5, 4.0, 2.0])


@pytest.mark.parametrize("length", [0, 9])
def test_a_job_longer_than_the_hours_has_no_start(length: int) -> None:
    """Nor has one without length."""
    assert steady(length, 1.0).starts.size == 0


def test_roads_ask_for_single_rigs() -> None:
    """Of two rigs alike nobody could say which is where."""
    with pytest.raises(ValueError, match="each crew is one rig"):
        Problem((), (Crew(0, 2),), np.array([[0, 1], [1, 0]]))


def test_a_rig_is_in_one_place() -> None:
    """Two hours there and the road between farms cannot be used for other work."""
    one = problem(
        Job("A", 0, 1, (steady(2, 1),)), Job("B", 1, 1, (steady(2, 1),)), road=1
    )
    diary = Diary(one, (Placed(0, 0, 3),))
    free = one.jobs[1].ways[0].starts[diary.free(1, 0)]
    assert free.tolist() == [0, 6]
    here = one.jobs[0].ways[0].starts[diary.free(0, 0)]
    assert here.tolist() == [0, 1, 5, 6]
    assert faults(one, (Placed(0, 0, 3), Placed(1, 0, 6))) == []
    assert faults(one, (Placed(0, 0, 3), Placed(1, 0, 5))) == [
        "B: no rig is free in slot 5"
    ]


def test_what_is_wrong_is_told() -> None:
    """A start out of the hours; a job done twice; a third rig where there are two."""
    one = problem(*(Job(name, 0, 1, (steady(4, 1),)) for name in "ABC"), rigs=2)
    assert faults(one, (Placed(0, 0, 5),)) == ["A: slot 5 is no start of its hours"]
    assert faults(one, (Placed(0, 0, 0), Placed(0, 0, 4))) == ["A: done 2 times of 1"]
    three = tuple(Placed(job, 0, 2) for job in range(3))
    assert faults(one, three) == ["C: no rig is free in slot 2"]
    assert faults(one, three[:2]) == []


def test_no_jobs_make_no_plan() -> None:
    """Nothing to do is worth nothing."""
    empty = problem()
    assert earliest_closing(empty) == value_per_hour(empty) == earlier(empty, ()) == ()
    assert empty.value(()) == 0
    idle = problem(Job("A", 0, 1, (steady(9, 1),)))
    assert earliest_closing(idle) == value_per_hour(idle) == ()


def test_parts_go_as_early_as_they_lose_nothing() -> None:
    """Of starts worth the same the first; never to one that is worth less."""
    rising = way_of(0, "paraquat", 1, (np.array([0.2, 0.5, 0.5, 0.5]), np.ones(4)), 10)
    one = problem(Job("A", 0, 1, (rising,)), Job("B", 0, 1, (steady(1, 5, 4),)))
    late = (Placed(0, 0, 3), Placed(1, 0, 2))
    assert earlier(one, late) == (Placed(1, 0, 0), Placed(0, 0, 1))


def test_the_first_to_close_takes_the_hours_and_the_dearest_does_not() -> None:
    """The known weakness of each hand-made order, worked out by hand.

    Eight slots. A closes first, takes six and brings 1 ha; B and C take four each and
    bring 10. By closing A goes first and then none fits; by value B and C fill all.
    """
    one = problem(
        Job("A", 0, 1, (steady(6, 1),), closes=8),
        Job("B", 0, 10, (steady(4, 10),), closes=9),
        Job("C", 0, 10, (steady(4, 10),), closes=9),
    )
    assert one.value(earliest_closing(one)) == 1
    assert one.value(value_per_hour(one)) == 20
    # A short poor job first keeps a long rich one out.
    two = problem(Job("A", 0, 2, (steady(1, 2),)), Job("B", 0, 9, (steady(8, 9),)))
    assert two.value(value_per_hour(two)) == 2
