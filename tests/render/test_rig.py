"""How a rig's plan is said where the demo does not say it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.domain.rig.rig_plan import Fallback, Method, RigPlan, Why
from forecaster.render import rig_json, rig_text, rig_words
from forecaster.render.json import dumps
from forecaster.service.rig.wiring import plan_of

if TYPE_CHECKING:
    from forecaster.service.farm_day import FarmDay

NAN = float("nan")


@pytest.fixture(scope="module")
def plan(demo_day: FarmDay) -> RigPlan:
    """The demo's plan."""
    return plan_of(demo_day, demo=True, rigs=None, days=None, largest=60)


def test_a_plan_that_is_not_proved_says_what_could_beat_it(plan: RigPlan) -> None:
    """60 of a bound of 100 leaves a gap of 40 %; without a bound that is said."""
    stopped = replace(plan, method=Method.LIMIT, value=60.0, bound=100.0)
    page = " ".join(rig_text.render(stopped).split())
    assert "Not proved best (solver, best found in its time)" in page
    assert "no plan can be worth more than 100.0 (gap 40.0 %)" in page
    unbound = " ".join(rig_text.render(replace(stopped, bound=NAN)).split())
    assert "the solver told no bound" in unbound
    assert '"bound_ha_weighted": null' in dumps(rig_json.tree(replace(plan, bound=NAN)))


def test_a_hand_made_plan_says_so(plan: RigPlan) -> None:
    """In the sum, in its own row, and for a day taken away."""
    day = replace(plan.days[0], method=Method.VALUE, moved=(), lost=())
    by_hand = replace(plan, method=Method.VALUE, bound=80.0, days=(day,))
    page = " ".join(rig_text.render(by_hand).split())
    assert "Not proved best (most value an hour goes first)" in page
    assert "this is the plan above: the solver found none better in its time" in page
    assert "nothing is lost; " in page
    assert "(by: most value an hour goes first)" in page


def test_what_hand_made_orders_lack(plan: RigPlan) -> None:
    """58.2 less 50 is 8.2."""
    order = replace(plan.hand_made[0], value=plan.value - 8.2, paddocks=())
    page = " ".join(rig_text.render(replace(plan, hand_made=(order,))).split())
    assert "8.2 less than the plan (nothing)" in page


def test_no_stops(plan: RigPlan) -> None:
    """The page does not end in an empty list."""
    empty = replace(plan, stops=(), missed=(), days=(), value=0.0, bound=0.0)
    page = rig_text.render(empty)
    assert "- no paddock has good hours that it can be done in" in page
    assert "Missed" not in page
    assert "0 stops, 0 ha" in page


def test_warnings_of_the_weather_stand_above_all(plan: RigPlan) -> None:
    """Before the stops, as on the outlook."""
    farm = plan.farms[0]
    old = replace(farm, weather=replace(farm.weather, warnings=("old weather",)))
    page = rig_text.render(replace(plan, farms=(old,)))
    assert page.index("- old weather") < page.index("In order")


@pytest.mark.parametrize(
    ("fallback", "said"),
    [
        (Fallback.OTHER_ACTIVE, "left: paraquat, likely window 15 Oct until 24 Oct"),
        (Fallback.LATER, "left: paraquat later, likely close 24 Oct"),
        (Fallback.LOOK_FIRST, "in hours to look at first, Thu 15 Oct 11:00 - Sat 24"),
        (Fallback.GRAZE, "left: graze hard while heads are not out"),
        (Fallback.LEAVE, "left: cut for hay or silage, or leave it this year"),
    ],
)
def test_every_way_out(plan: RigPlan, fallback: Fallback, said: str) -> None:
    """With its dates on the farm's clock (UTC+11)."""
    missed = replace(
        plan.missed[0],
        fallback=fallback,
        active="paraquat",
        opens=np.datetime64("2026-10-15T00:00:00", "s"),
        closes=np.datetime64("2026-10-23T23:00:00", "s"),
    )
    assert said in rig_words.missed(plan, missed)
    if fallback in {Fallback.OTHER_ACTIVE, Fallback.LATER}:
        never = rig_words.missed(plan, replace(missed, closes=None))
        assert "until later; " in never or "likely close later; " in never


@pytest.mark.parametrize(
    ("why", "said"),
    [
        (Why.TOO_SHORT, "needs 2.9 h, and the longest is 1.5 h"),
        (Why.NO_CHANCE, "its chance cannot be told"),
        (Why.NO_HOURS, "no good hours inside its window"),
    ],
)
def test_every_reason(plan: RigPlan, why: Why, said: str) -> None:
    """Creek Flat needs 2.88 h; two of three parts are told as such."""
    missed = replace(plan.missed[0], why=why, longest=1.5, missed=2, parts=3)
    told = rig_words.missed(plan, missed)
    assert told.startswith("Creek Flat (2 of 3 parts), 34 ha: ")
    assert said in told


def test_names_and_faults_of_others_obey_no_screen(plan: RigPlan) -> None:
    """A folder's name, or a fault told of a paddock, may hold anything."""
    odd = replace(plan.no_jobs[0], reason="broken\x1b[2J")
    page = rig_text.render(
        replace(plan, faults=(("f\x1b[1m", "a\nb"),), no_jobs=(odd,))
    )
    assert page.replace("\n", "").isprintable()
    assert "NO DATA: f [1m: a b" in page


def test_a_close_past_the_weather(plan: RigPlan) -> None:
    """No date is made up."""
    told = rig_words.stop(plan, replace(plan.stops[0], closes=None))
    assert "likely close later than the weather" in told
