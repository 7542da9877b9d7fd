"""The week as runs of hours, the barred sides as arcs: nothing lost or made up."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.domain.outlook import Arc
from forecaster.domain.spraying.limits import Verdict
from forecaster.domain.weather import HOUR
from forecaster.service.daily import outlook
from forecaster.service.judging import judge_paddock
from forecaster.service.week_views import arcs_of, barred_wind

if TYPE_CHECKING:
    from forecaster.service.farm_day import FarmDay


def circle(*barred: int) -> np.typing.NDArray[np.bool_]:
    """Whole degrees of the compass, those given barred."""
    exposed = np.zeros(360, dtype=np.bool_)
    exposed[list(barred)] = True
    return exposed


@pytest.mark.parametrize(
    ("exposed", "expected"),
    [
        (circle(), ()),
        (circle(*range(360)), (Arc(0, 359),)),
        (circle(90, 91, 92), (Arc(90, 92),)),
        (circle(7), (Arc(7, 7),)),
        (circle(358, 359, 0, 1), (Arc(358, 1),)),
        (circle(10, 11, 350, 200), (Arc(10, 11), Arc(200, 200), Arc(350, 350))),
    ],
)
def test_arcs_hold_the_barred_degrees(
    exposed: np.typing.NDArray[np.bool_], expected: tuple[Arc, ...]
) -> None:
    """Clockwise, across north too."""
    assert arcs_of(exposed) == expected


@pytest.mark.parametrize("seed", range(20))
def test_arcs_and_degrees_say_the_same(seed: int) -> None:
    """Laid back on the compass, arcs bar each degree once and no other."""
    exposed = np.random.default_rng(seed).random(360) < 0.5
    back = np.zeros(360, dtype=np.int64)
    for arc in arcs_of(exposed):
        width = (arc.last - arc.first) % 360 + 1
        back[(arc.first + np.arange(width)) % 360] += 1
    np.testing.assert_array_equal(back, exposed.astype(np.int64))


def test_an_unknown_neighbourhood_bars_nothing_and_says_so(demo_day: FarmDay) -> None:
    """None is not the same as no barred side."""
    from dataclasses import replace

    paddock = demo_day.farm.paddocks[0]
    assert barred_wind(replace(paddock, near=(), surveyed=False)) is None
    assert barred_wind(replace(paddock, near=(), surveyed=True)) == ()


def test_runs_are_the_verdicts_hour_by_hour(demo_day: FarmDay) -> None:
    """Unrolled, the runs of each paddock are its judgement, in light and in dark."""
    farm, air = demo_day.farm, demo_day.air
    for paddock, told in zip(farm.paddocks, outlook(demo_day).paddocks, strict=True):
        for active in told.actives:
            judged = judge_paddock(
                farm, air, paddock, farm.actives[active.active], paddock.target
            )
            hours = [
                (run.start + at * HOUR, run.verdict, run.daylight)
                for run in active.week
                for at in range(int((run.end - run.start) / HOUR))
            ]
            assert hours == [
                (time, Verdict(int(verdict)), bool(lit))
                for time, verdict, lit in zip(
                    judged.time, judged.verdict, air.daylight, strict=True
                )
            ]
