"""The plan of a rig as text in 80 columns."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from forecaster.domain.rig.rig_plan import Method
from forecaster.domain.rig.work_rate import capacity
from forecaster.render import rig_words, words
from forecaster.render.farms import NO_DATA, plain
from forecaster.render.standing import invented_words
from forecaster.render.words import LocalClock

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.domain.rig.rig_plan import DayLost, FarmHead, HandMade, RigPlan
    from forecaster.domain.rig.work_rate import Rig

CAUTIONS = (
    (
        "Hours are good by forecast alone: measure wind and watch smoke at the site. "
        "The water a hectare is the farm's own number; the label decides it."
    ),
    "A plan is of the hours known now. Make it anew with each forecast.",
)
PROVED = "No plan can be worth more."


def render(plan: RigPlan) -> str:
    """The whole page."""
    found = [*_head(plan)]
    for title, body in (
        ("In order", list(_stops(plan))),
        ("Missed", list(_missed(plan))),
        ("Not planned", list(_no_jobs(plan))),
        ("Against orders made by hand", list(_by_hand(plan))),
        ("If no hour of a day can be used", list(_days(plan))),
        ("Read this too", [*CAUTIONS, *plan.cautions]),
    ):
        if body:
            found += [
                "",
                title,
                *(line for each in body for line in words.bullet(each)),
            ]
    return "\n".join(found) + "\n"


def _head(plan: RigPlan) -> Iterator[str]:
    first = plan.farms[0]
    for farm in plan.farms:
        banner = invented_words(farm.weather, demo=farm.demo)
        if banner:
            yield from words.wrapped(banner)
    for name, reason in plan.faults:
        yield from words.wrapped(f"{NO_DATA}: {plain(name)}: {plain(reason)}")
    until = LocalClock(first.zone).hour(first.until)
    many = words.count(sum(each.number for each in plan.rigs), "rig")
    where = first.name if len(plan.farms) == 1 else f"{len(plan.farms)} farms"
    yield from words.wrapped(f"{where}: plan of {many} to {until}")
    for farm in plan.farms:
        yield from words.wrapped(_farm_words(farm, several=len(plan.farms) > 1))
        for warning in farm.weather.warnings:
            yield from words.bullet(warning)
    for rig in plan.rigs:
        yield from words.wrapped(_rig_words(rig))
    yield from words.wrapped(_sum_words(plan))


def _farm_words(farm: FarmHead, *, several: bool) -> str:
    clock = LocalClock(farm.zone)
    return (
        f"{f'{farm.name}: made' if several else 'Made'} {clock.full(farm.now)} from "
        f"weather of {clock.hour(farm.weather.issued)}, "
        f"{farm.weather.age_hours:.0f} h old."
    )


def _rig_words(rig: Rig) -> str:
    name = rig.name if rig.number == 1 else f"{rig.number} of {rig.name}"
    return (
        f"{name}: {rig.width:g} m at {words.kmh(rig.speed)} km/h, efficiency "
        f"{rig.efficiency:g}: {capacity(rig):.1f} ha/h while spraying; "
        f"{rig.tank:,.0f} L at {rig.volume:g} L/ha, {rig.fill * 60:.0f} min a fill, "
        f"{rig.move * 60:.0f} min a move."
    )


def _sum_words(plan: RigPlan) -> str:
    unit = rig_words.unit(plan)
    said = (
        f"{words.count(len(plan.stops), 'stop')}, {plan.hectares:.0f} ha; "
        f"{plan.value:.1f} {unit} expected to be done in time."
    )
    if plan.method is Method.PROVED:
        return f"{said} {PROVED}"
    bound = (
        "the solver told no bound"
        if math.isnan(plan.bound)
        else f"no plan can be worth more than {plan.bound:.1f} (gap "
        f"{plan.gap * 100:.1f} %)"
    )
    return f"{said} Not proved best ({plan.method}): {bound}."


def _stops(plan: RigPlan) -> Iterator[str]:
    if not plan.stops:
        yield "no paddock has good hours that it can be done in"
    for each in plan.stops:
        yield rig_words.stop(plan, each)


def _missed(plan: RigPlan) -> Iterator[str]:
    for each in plan.missed:
        yield rig_words.missed(plan, each)


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


def _days(plan: RigPlan) -> Iterator[str]:
    for each in plan.days:
        yield _day_words(plan, each)


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
