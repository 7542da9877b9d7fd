"""The demo farm's plan, and what becomes of it when something is changed."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from forecaster.domain.growth.stage import Stage
from forecaster.domain.outlook import Likely
from forecaster.domain.planning.next_step import Step
from forecaster.domain.rig.fallback import fallback
from forecaster.domain.rig.rig_plan import Fallback, Method, RigPlan, Why
from forecaster.domain.spraying.limits import Verdict
from forecaster.service.rig.jobs import SLOT, slots_needed, work_of
from forecaster.service.rig.planning import Asked, rig_plan

if TYPE_CHECKING:
    from forecaster.domain.outlook import Outlook, PaddockOutlook
    from forecaster.service.rig.jobs import FarmWork

HOUR = np.timedelta64(3600, "s")
DAY = 24 * HOUR
NAN = float("nan")


def planned(work: FarmWork, rigs: int = 1, largest: float = 60) -> RigPlan:
    """The plan of the demo's work with so many of its rig."""
    rig = replace(work.farm.rigs[0], number=rigs)
    return rig_plan((work,), (rig,), Asked(largest))


def names(plan: RigPlan) -> list[str]:
    """Paddocks in their order."""
    return [each.paddock for each in plan.stops]


def block_of(value: Outlook, name: str, start: str) -> Any:
    """A block of a paddock's first active by its UTC start."""
    paddock = next(each for each in value.paddocks if each.name == name)
    return next(
        each
        for each in paddock.actives[0].blocks
        if each.start == np.datetime64(start, "s")
    )


def test_what_is_planned_is_good_in_its_window_and_in_time(work: Any) -> None:
    """Of every stop: every hour good by the outlook, in the window, no two at once."""
    one = work()
    for rigs, largest in ((1, 60), (2, 20), (3, 0)):
        plan = planned(one, rigs, largest)
        assert plan.stops
        for stop in plan.stops:
            paddock = next(
                each for each in one.outlook.paddocks if each.name == stop.paddock
            )
            active = next(
                each for each in paddock.actives if each.active == stop.active
            )
            assert active.step in {Step.SPRAY, Step.COUNT_HEADS}
            assert stop.start >= one.outlook.now
            assert stop.end - stop.start >= stop.hours * HOUR - HOUR // 100
            for at in np.arange(stop.start, stop.end, SLOT):
                (run,) = (r for r in active.week if r.start <= at < r.end)
                assert run.verdict is Verdict.GOOD
            if stop.closes is not None:
                assert stop.start.astype("M8[D]") <= stop.closes.astype("M8[D]")
        for rig in {each.rig for each in plan.stops}:
            mine = sorted(
                (each for each in plan.stops if each.rig == rig),
                key=lambda each: each.start,
            )
            assert all(a.end <= b.start for a, b in pairwise(mine))


def test_the_demo(work: Any) -> None:
    """Wednesday's six hours hold Back Road (4.41 h) or Creek Flat (2.88), not both.

    By hand: 55 ha at much the same chances beat 34. House weighs 0; Top Dam is uneven;
    Lone Gum waits; Stony Rise has hours to look at first alone, whose window stays
    open past the hours known.
    """
    plan = planned(work())
    assert names(plan) == ["Woolshed", "Vine Boundary", "Back Road"]
    assert plan.method is Method.PROVED
    assert plan.gap < 1e-6
    by_name = {each.paddock: each for each in plan.missed}
    assert by_name["Creek Flat"].why is Why.OUTRANKED
    assert by_name["Stony Rise"].why is Why.NO_HOURS
    assert by_name["Stony Rise"].fallback is Fallback.LATER
    left = {each.paddock: each.reason for each in plan.no_jobs}
    assert set(left) == {"Top Dam", "Lone Gum", "House"}
    assert left["Top Dam"] == Step.UNEVEN
    for stop in plan.stops:
        assert stop.value == pytest.approx(
            stop.hectares * stop.holds * stop.window_open
        )
    assert plan.value == pytest.approx(sum(each.value for each in plan.stops))


def test_two_rigs_do_both(work: Any) -> None:
    """And each is in one place at a time; the names tell them apart."""
    plan = planned(work(), rigs=2)
    assert set(names(plan)) == {"Woolshed", "Vine Boundary", "Back Road", "Creek Flat"}
    wednesday = [
        each for each in plan.stops if each.paddock in {"Back Road", "Creek Flat"}
    ]
    assert len({each.rig for each in wednesday}) == 2
    assert plan.hectares == 144


def test_a_day_taken_away(work: Any) -> None:
    """Without Wednesday Back Road is lost; Creek Flat never was in the plan.

    Without Monday Woolshed goes to Thursday or Friday, its other good hours, and Vine
    Boundary, which had no other, is lost. Monday cannot be got back on Wednesday.
    """
    plan = planned(work())
    monday, wednesday = plan.days
    assert wednesday.lost == ((0, "Back Road"),)
    assert wednesday.moved == ()
    (moved,) = monday.moved
    assert moved.paddock == (0, "Woolshed")
    assert moved.start > wednesday.start
    assert monday.lost == ((0, "Vine Boundary"),)
    woolshed, vine, back = plan.stops
    assert wednesday.value == pytest.approx(woolshed.value + vine.value)
    assert monday.value < plan.value
    assert monday.value > back.value


def test_unknown_chances_are_never_planned_on(work: Any) -> None:
    """Good hours of unknown chance, or a window of unknown chance: missed, and said."""
    value = work().outlook
    block = block_of(value, "Back Road", "2026-10-14T01:00")
    for changed in (
        work("Back Road", blocks=(replace(block, chance=NAN),)),
        work("Back Road", chance_open_now=NAN, chance_open=()),
    ):
        plan = planned(changed)
        assert "Back Road" not in names(plan)
        assert "Creek Flat" in names(plan)
        told = next(each for each in plan.missed if each.paddock == "Back Road")
        assert told.why is Why.NO_CHANCE


def test_hours_that_can_only_come_too_late_are_said(work: Any) -> None:
    """No chance that the window is still open then is no reason to drive."""
    told = planned(work("Back Road", chance_open_now=0.0, chance_open=((
        np.datetime64("2026-10-18T01:00:00", "s"), 0.0),)))  # fmt: skip
    assert "Back Road" not in names(told)
    missed = next(each for each in told.missed if each.paddock == "Back Road")
    assert missed.why is Why.NO_PROSPECT


def test_hours_too_short_are_said(work: Any) -> None:
    """Four hours are not enough for 4.41; in parts of 20 ha they are for some."""
    value = work().outlook
    block = block_of(value, "Back Road", "2026-10-14T01:00")
    short = work("Back Road", blocks=(replace(block, end=block.start + 4 * HOUR),))
    plan = planned(short)
    told = next(each for each in plan.missed if each.paddock == "Back Road")
    assert told.why is Why.TOO_SHORT
    assert told.hours == pytest.approx(4.41, abs=0.005)
    assert told.longest == 4.0
    assert told.fallback is Fallback.LOOK_FIRST
    assert told.closes == block.start
    parts = [each for each in planned(short, largest=20).stops
             if each.paddock == "Back Road"]  # fmt: skip
    assert [each.part for each in parts] == list(range(1, len(parts) + 1))
    assert parts[0].parts == 3


def test_nothing_begins_before_now_or_after_the_days_asked_for(work: Any) -> None:
    """At 09:40 the first slot is 10:00; planned for one day, Wednesday is not there."""
    late = work()
    late = replace(
        late, outlook=replace(late.outlook, now=late.outlook.now + 160 * HOUR // 60)
    )
    assert planned(late).stops[0].start == np.datetime64("2026-10-11T23:00", "s")
    one = replace(work(), until=work().outlook.now + DAY)
    plan = planned(one)
    assert names(plan) == ["Woolshed", "Vine Boundary"]
    assert plan.farms[0].until == one.until


def test_a_farm_without_hours_has_a_plan_without_stops(work: Any) -> None:
    """Everything that would be sprayed is missed; nothing is worth anything."""
    bare = work()
    paddocks = tuple(
        replace(each, actives=tuple(replace(one, blocks=()) for one in each.actives))
        for each in bare.outlook.paddocks
    )
    plan = planned(replace(bare, outlook=replace(bare.outlook, paddocks=paddocks)))
    assert (plan.stops, plan.value, plan.gap, plan.days) == ((), 0, 0, ())
    assert {each.why for each in plan.missed} == {Why.NO_HOURS}
    assert {"Woolshed", "Back Road"} <= {each.paddock for each in plan.missed}


def test_a_paddock_that_cannot_be_told_is_named(work: Any) -> None:
    """With its fault, and it stops no other."""
    one = work()
    paddocks = tuple(
        replace(each, fault="broken", actives=()) if each.name == "Woolshed" else each
        for each in one.outlook.paddocks
    )
    plan = planned(replace(one, outlook=replace(one.outlook, paddocks=paddocks)))
    told = {each.paddock: each.reason for each in plan.no_jobs}
    assert told["Woolshed"] == "cannot be told: broken"
    assert "Back Road" in names(plan)


def test_farms_apart_need_the_road(work: Any) -> None:
    """The same farm again 100 km off: a rig that works on both has driven between."""
    here = work()
    far = replace(here.outlook.place, latitude=here.outlook.place.latitude + 0.9)
    there = replace(here, outlook=replace(here.outlook, farm="Far", place=far))
    rig = here.farm.rigs[0]
    made = work_of((here, there), (rig,), 60)
    # 0.9° of latitude is 100 km; times 1.3, at 40 km/h: 3.25 h, so seven slots.
    assert made.problem.travel.tolist() == [[0, 7], [7, 0]]
    plan = rig_plan((here, there), (replace(rig, number=2),), Asked())
    assert {each.farm for each in plan.stops} == {0, 1}
    assert {each.rig for each in plan.stops} == {"rig 1", "rig 2"}
    for name in ("rig 1", "rig 2"):
        mine = [each for each in plan.stops if each.rig == name]
        for first, second in pairwise(mine):
            road = 3.25 * 3600 if first.farm != second.farm else 0
            assert (second.start - first.end).astype(int) >= road
    next_door = replace(there, outlook=replace(here.outlook, farm="Near"))
    assert not work_of((here, next_door), (rig,), 60).problem.travel.any()


def test_the_wider_rig_is_known_by_its_name(work: Any) -> None:
    """Two kinds of rig: the one that fits more hours does the long job."""
    one = work()
    small = replace(one.farm.rigs[0], name="small", width=6.0)
    wide = replace(small, name="wide", width=36.0)
    plan = rig_plan((one,), (small, wide), Asked())
    back = next(each for each in plan.stops if each.paddock == "Back Road")
    assert back.rig == "wide"


@pytest.mark.parametrize(("hours", "slots"), [(0.2, 1), (0.5, 1), (0.51, 2), (4.41, 9)])
def test_hours_fill_whole_slots(hours: float, slots: int) -> None:
    """Half an hour each."""
    assert slots_needed(hours) == slots


def back_road(value: Outlook) -> PaddockOutlook:
    """Glyphosate until 15 October, paraquat after."""
    return next(each for each in value.paddocks if each.name == "Back Road")


def test_the_first_way_out_that_fits(demo_outlook: Outlook) -> None:
    """Other active, later, hours to look at first, graze, leave: in this order."""
    paddock, until = back_road(demo_outlook), demo_outlook.until
    gly, par = paddock.actives
    assert gly.window is not None
    assert par.window is not None
    early = replace(gly.window, closed=Likely(None, until - DAY, None))
    later = replace(par.window, closed=Likely(None, until + DAY, None))
    unknown = replace(par.window, open=Likely(None, None, None))
    looks = tuple(replace(each, in_window=True) for each in gly.look_first)

    def left(*actives: Any, **more: Any) -> Fallback:
        return fallback(replace(paddock, actives=actives, **more), until).what

    shut = replace(gly, window=early, look_first=())
    assert left(shut, replace(par, window=later)) is Fallback.OTHER_ACTIVE
    assert left(replace(shut, window=later)) is Fallback.LATER
    never = replace(later, closed=Likely(None, None, None))
    assert left(replace(shut, window=never)) is Fallback.LATER
    assert looks
    assert left(replace(shut, look_first=looks)) is Fallback.LOOK_FIRST
    stage = paddock.stage
    assert stage is not None
    outside = tuple(replace(each, in_window=False) for each in looks)
    out, not_out = replace(stage, likely=Stage.HEADING), replace(stage, likely=None)
    for active in (shut, replace(shut, window=None), replace(shut, window=unknown)):
        assert left(active, stage=not_out) is Fallback.GRAZE
        assert left(active, stage=out) is Fallback.LEAVE
    assert left(replace(shut, look_first=outside), stage=out) is Fallback.LEAVE
    closed = replace(par, window=later, step=Step.TOO_LATE)
    assert left(shut, closed, stage=out) is Fallback.LEAVE
    assert left(stage=None) is Fallback.LEAVE


def test_a_way_out_names_its_active_and_dates(demo_outlook: Outlook) -> None:
    """Paraquat from the 15th to the 24th, once hours are known to the 19th."""
    paddock, until = back_road(demo_outlook), demo_outlook.until
    gly, par = paddock.actives
    assert par.window is not None
    opens, closes = until - 4 * DAY, until + 5 * DAY
    window = replace(
        par.window,
        open=Likely(None, opens, None),
        closed=Likely(None, closes, None),
    )
    changed = replace(paddock, actives=(gly, replace(par, window=window)))
    found = fallback(changed, until)
    assert found == (Fallback.OTHER_ACTIVE, "paraquat", opens, closes)
