"""The plan of a rig as plain values; times are UTC, units stand in the names."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from forecaster.domain.rig.work_rate import capacity
from forecaster.render.plain_values import iso, number

if TYPE_CHECKING:
    from forecaster.domain.rig.rig_plan import (
        DayLost,
        FarmHead,
        HandMade,
        Missed,
        Named,
        RigPlan,
        Stop,
    )
    from forecaster.domain.rig.work_rate import Rig


def tree(plan: RigPlan) -> dict[str, Any]:
    """The plan as plain dicts and lists."""
    names = [farm.name for farm in plan.farms]
    return {
        "farms": [_farm(each) for each in plan.farms],
        "farms_without_data": [
            {"folder": folder, "reason": reason} for folder, reason in plan.faults
        ],
        "rigs": [_rig(each) for each in plan.rigs],
        "method": plan.method.name.lower(),
        "hectares": number(plan.hectares),
        "expected_ha_weighted": number(plan.value),
        "bound_ha_weighted": number(plan.bound),
        "gap": number(plan.gap),
        "weighted": plan.weighted,
        "stops": [_stop(each, names) for each in plan.stops],
        "missed": [_missed(each, names) for each in plan.missed],
        "not_planned": [
            {
                "farm": names[each.farm],
                "paddock": each.paddock,
                "active": each.active,
                "reason": each.reason,
            }
            for each in plan.no_jobs
        ],
        "by_hand": [_hand_made(each, plan.value, names) for each in plan.hand_made],
        "without_day": [_day(each, plan.value, names) for each in plan.days],
        "cautions": list(plan.cautions),
    }


def _farm(farm: FarmHead) -> dict[str, Any]:
    return {
        "name": farm.name,
        "zone": farm.zone,
        "demo": farm.demo,
        "made_at": iso(farm.now),
        "until": iso(farm.until),
        "weather": {
            "source": farm.weather.source,
            "newest": iso(farm.weather.issued),
            "age_h": number(farm.weather.age_hours),
            "invented": farm.weather.invented,
            "warnings": list(farm.weather.warnings),
        },
    }


def _rig(rig: Rig) -> dict[str, Any]:
    return {
        "name": rig.name,
        "number": rig.number,
        "width_m": number(rig.width),
        "speed_ms": number(rig.speed),
        "efficiency": number(rig.efficiency),
        "tank_l": number(rig.tank),
        "water_l_ha": number(rig.volume),
        "fill_h": number(rig.fill),
        "move_h": number(rig.move),
        "road_ms": number(rig.road),
        "while_spraying_ha_h": number(capacity(rig)),
    }


def _stop(stop: Stop, names: list[str]) -> dict[str, Any]:
    return {
        "rig": stop.rig,
        "farm": names[stop.farm],
        "paddock": stop.paddock,
        "part": stop.part,
        "parts": stop.parts,
        "active": stop.active,
        "hectares": number(stop.hectares),
        "hours": number(stop.hours),
        "start": iso(stop.start),
        "end": iso(stop.end),
        "good_hours": {"start": iso(stop.good[0]), "end": iso(stop.good[1])},
        "chance_hours_hold": number(stop.holds),
        "chance_window_open": number(stop.window_open),
        "expected_ha_weighted": number(stop.value),
        "likely_close": iso(stop.closes),
        "runs_long_enough": stop.runs,
        "count_heads_first": stop.count_heads,
    }


def _missed(missed: Missed, names: list[str]) -> dict[str, Any]:
    return {
        "farm": names[missed.farm],
        "paddock": missed.paddock,
        "parts_missed": missed.missed,
        "parts": missed.parts,
        "hectares": number(missed.hectares),
        "hours": number(missed.hours),
        "longest_run_h": number(missed.longest),
        "why": missed.why.name.lower(),
        "fallback": {
            "what": missed.fallback.name.lower(),
            "active": missed.active,
            "from": iso(missed.opens),
            "until": iso(missed.closes),
        },
    }


def _named(named: Named, names: list[str]) -> dict[str, Any]:
    return {"farm": names[named.farm], "paddock": named.paddock}


def _hand_made(order: HandMade, value: float, names: list[str]) -> dict[str, Any]:
    return {
        "method": order.method.name.lower(),
        "expected_ha_weighted": number(order.value),
        "less_than_plan": number(value - order.value),
        "hectares": number(order.hectares),
        "paddocks": [_named(each, names) for each in order.paddocks],
    }


def _day(day: DayLost, value: float, names: list[str]) -> dict[str, Any]:
    return {
        "first_stop": iso(day.start),
        "moved": [
            {**_named(each.paddock, names), "start": iso(each.start)}
            for each in day.moved
        ],
        "lost": [_named(each, names) for each in day.lost],
        "expected_ha_weighted": number(day.value),
        "less_than_plan": number(value - day.value),
        "method": day.method.name.lower(),
    }
