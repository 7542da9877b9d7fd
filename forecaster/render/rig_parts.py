"""What the plan of a rig says, part by part, for every kind of page."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from forecaster.domain.rig.rig_plan import Method
from forecaster.render import rig_words
from forecaster.render.page_text import plain
from forecaster.render.words import LocalClock

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.domain.rig.rig_plan import DayLost, HandMade, RigPlan

CAUTIONS = (
    (
        "Hours are good by forecast alone: measure wind and watch smoke at the site. "
        "The water a hectare is the farm's own number; the label decides it."
    ),
    "A plan is of the hours known now. Make it anew with each forecast.",
)


class Part(NamedTuple):
    """A heading and what stands under it."""

    title: str
    said: list[str]


def whole(plan: RigPlan) -> list[Part]:
    """All parts that say anything."""
    order, missed, days = _main(plan)
    told = [
        order,
        missed,
        Part("Not planned", list(_no_jobs(plan))),
        Part("Against orders made by hand", list(_by_hand(plan))),
        days,
    ]
    return [part for part in told if part.said]


def brief(plan: RigPlan) -> list[Part]:
    """What a page of the outlook says of it."""
    return [part for part in _main(plan) if part.said]


def _main(plan: RigPlan) -> tuple[Part, Part, Part]:
    return (
        Part("In order", list(_stops(plan))),
        Part("Missed", [rig_words.missed(plan, each) for each in plan.missed]),
        Part(
            "If no hour of a day can be used",
            [_day_words(plan, each) for each in plan.days],
        ),
    )


def _stops(plan: RigPlan) -> Iterator[str]:
    if not plan.stops:
        yield "no paddock has good hours that it can be done in"
    for each in plan.stops:
        yield rig_words.stop(plan, each)


def _no_jobs(plan: RigPlan) -> Iterator[str]:
    for each in plan.no_jobs:
        active = "" if each.active is None else f", {each.active}"
        name = rig_words.paddock(plan, each.farm, each.paddock)
        yield f"{name}{active}: {plain(each.reason)}"


def _by_hand(plan: RigPlan) -> Iterator[str]:
    for each in plan.hand_made:
        yield _hand_words(plan, each)


def _hand_words(plan: RigPlan, order: HandMade) -> str:
    less = plan.value - order.value
    if order.method is plan.method:
        told = "this is the plan above: the solver found none better in its time"
    elif less < 0.05:  # noqa: PLR2004 - what would print as 0.0
        told = "as much as the plan"
    else:
        told = f"{less:.1f} less than the plan"
    names = [rig_words.paddock(plan, *each) for each in order.paddocks] or ["nothing"]
    worth = f"{order.value:.1f} {rig_words.unit(plan)}"
    return f"{order.method}: {worth}, {told} ({', '.join(names)})"


def _day_words(plan: RigPlan, day: DayLost) -> str:
    clock = LocalClock(plan.farms[day.farm].zone)
    moved = [
        f"{rig_words.paddock(plan, *each.paddock)} moves to {clock.hour(each.start)}"
        for each in day.moved
    ]
    lost = [f"{rig_words.paddock(plan, *each)} is lost" for each in day.lost]
    told = "; ".join([*moved, *lost]) or "nothing is lost"
    how = "" if day.method is Method.PROVED else f" (by: {day.method})"
    return (
        f"{clock.weekday(day.start)}: {told}; {day.value:.1f} of {plan.value:.1f} "
        f"{rig_words.unit(plan)} left{how}"
    )
