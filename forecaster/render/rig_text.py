"""The plan of a rig as text in 80 columns."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from forecaster.domain.rig.rig_plan import Method
from forecaster.domain.rig.work_rate import capacity
from forecaster.render import rig_parts, rig_words, words
from forecaster.render.farms import NO_DATA
from forecaster.render.page_text import plain
from forecaster.render.standing import invented_words
from forecaster.render.words import LocalClock

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.domain.rig.rig_plan import FarmHead, RigPlan
    from forecaster.domain.rig.work_rate import Rig

PROVED = "No plan can be worth more."


def render(plan: RigPlan) -> str:
    """The whole page."""
    found = [*_head(plan)]
    cautions = rig_parts.Part("Read this too", [*rig_parts.CAUTIONS, *plan.cautions])
    for part in (*rig_parts.whole(plan), cautions):
        found += ["", part.title]
        found += [line for each in part.said for line in words.bullet(each)]
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
