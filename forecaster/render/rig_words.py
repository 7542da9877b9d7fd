"""How stops, missed paddocks and ways out of a rig's plan are said."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.domain.rig.rig_plan import Fallback, Why
from forecaster.render import words
from forecaster.render.words import LocalClock

if TYPE_CHECKING:
    from forecaster.domain.rig.rig_plan import Missed, RigPlan, Stop


def unit(plan: RigPlan) -> str:
    """``ha``, or *weighted ha* where the farm gave its paddocks weights."""
    return "weighted ha" if plan.weighted else "ha"


def paddock(plan: RigPlan, farm: int, name: str) -> str:
    """The paddock, with its farm where there are several."""
    return name if len(plan.farms) == 1 else f"{plan.farms[farm].name}, {name}"


def stop(plan: RigPlan, each: Stop) -> str:
    """``Wed 14 Oct 12:00-16:30: Back Road, 55 ha, glyphosate; 4.4 h of work; …``."""
    clock = LocalClock(plan.farms[each.farm].zone)
    part = f" (part {each.part} of {each.parts})" if each.parts > 1 else ""
    rig = f", {each.rig}" if len(plan.rigs) > 1 or plan.rigs[0].number > 1 else ""
    where = f"{paddock(plan, each.farm, each.paddock)}{part}, {each.hectares:.0f} ha"
    said = [
        f"{clock.span(each.start, each.end)}: {where}, {each.active}{rig}",
        f"{each.hours:.1f} h of work in good hours {clock.span(*each.good)}",
        _why(each, clock),
    ]
    if each.count_heads:
        said.append("count heads again first")
    return "; ".join(said)


def _why(each: Stop, clock: LocalClock) -> str:
    close = "later than the weather" if each.closes is None else clock.day(each.closes)
    only = (
        "the only good hours long enough"
        if each.runs == 1
        else f"one of {each.runs} runs of good hours long enough"
    )
    return (
        f"{only}; hours hold {words.in_ten(each.holds)}; window open then "
        f"{words.in_ten(each.window_open)}, likely close {close}"
    )


def missed(plan: RigPlan, each: Missed) -> str:
    """``Creek Flat, 34 ha: others are worth more …; instead: …``."""
    part = f" ({each.missed} of {each.parts} parts)" if each.parts > 1 else ""
    name = paddock(plan, each.farm, each.paddock)
    why = each.why.value
    if each.why is Why.TOO_SHORT:
        why = f"needs {each.hours:.1f} h, and the longest is {each.longest:.1f} h"
    elif each.why is Why.OUTRANKED:
        why = f"{why}; it needs {each.hours:.1f} h"
    return f"{name}{part}, {each.hectares:.0f} ha: {why}; {_instead(plan, each)}"


def _instead(plan: RigPlan, each: Missed) -> str:
    farm = plan.farms[each.farm]
    clock = LocalClock(farm.zone)
    if each.fallback is Fallback.GRAZE:
        return "left: graze hard while heads are not out"
    if each.fallback is Fallback.LEAVE:
        return "left: cut for hay or silage, or leave it this year"
    if each.fallback is Fallback.LOOK_FIRST:
        assert each.opens is not None  # noqa: S101 - hours have both ends
        assert each.closes is not None  # noqa: S101 - as above
        span = clock.span(each.opens, each.closes)
        return f"left: {each.active} in hours to look at first, {span}"
    close = "later" if each.closes is None else clock.day(each.closes)
    known = f"hours are known to {clock.day(farm.until)}"
    if each.fallback is Fallback.OTHER_ACTIVE and each.opens is not None:
        return (
            f"left: {each.active}, likely window {clock.day(each.opens)} until "
            f"{close}; {known}"
        )
    return f"left: {each.active} later, likely close {close}; {known}"
