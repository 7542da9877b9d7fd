"""A boom in words, and as plain values."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

from forecaster.domain.boom.label import HeightVerdict
from forecaster.render import words
from forecaster.render.plain_values import number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.domain.boom.plan import BoomPlan, FlowPlan, HeightPlan, TankPlan

LABEL = 14
CAUTION = (
    "Plain geometry and arithmetic: measure the spacing, catch what nozzles give, and "
    "time 100 m. Drift grows with height. Product comes from the rate you typed and "
    "confirmed, never from here; the label outweighs all of it. See "
    "docs/method/boom.md."
)


def render(plan: BoomPlan) -> str:
    """One boom."""
    found = words.wrapped(f"Nozzles {plan.spacing * 100:g} cm apart")
    for label, said in _entries(plan):
        body = textwrap.wrap(said, words.WIDTH - LABEL)
        found += [
            f"{f'  {label}' if place == 0 else '':{LABEL}}{part}"
            for place, part in enumerate(body)
        ]
    found += ["", *words.bullet(CAUTION)]
    return "\n".join(found) + "\n"


def _entries(plan: BoomPlan) -> Iterator[tuple[str, str]]:
    if plan.height is not None:
        yield "height", _height(plan.height)
        if plan.height.verdict is not None:
            yield "label", _label(plan.height, plan.active or "")
    if plan.flow is not None:
        yield "nozzle", _flow(plan.flow, plan.spacing)
    if plan.tank is not None:
        yield "tanks", _tanks(plan.tank)
        yield "product", _product(plan.tank, plan.active)


def _height(height: HeightPlan) -> str:
    text = (
        f"{height.above_heads * 100:.0f} cm above the heads: there each "
        f"{height.angle:g} degree fan is two spacings wide (double overlap)"
    )
    if height.above_ground is None:
        return f"{text}; for the height above ground give --heads"
    return f"{text}; {height.above_ground * 100:.0f} cm above the ground"


def _label(height: HeightPlan, active: str) -> str:
    verdict = height.verdict
    if height.label_max is None or verdict is None:
        return f"{active}: {verdict}; read yours before you set the boom"
    limit = f"{height.label_max * 100:.0f} cm above the target typed from yours"
    if verdict is not HeightVerdict.BREAKS:
        return f"{active}: {verdict} ({limit})"
    return (
        f"{active}: BREAKS THE LABEL ({limit}). At that height fans are "
        f"{height.overlap_at_label or 0:.1f} spacings wide: use a wider fan or nozzles "
        "closer together"
    )


def _flow(flow: FlowPlan, spacing: float) -> str:
    return (
        f"{flow.flow:.2f} L/min = {flow.volume:.0f} L/ha x {flow.speed:.1f} km/h x "
        f"{spacing:g} m / 600"
    )


def _tanks(plan: TankPlan) -> str:
    found = plan.tanks
    return (
        f"{plan.hectares:g} ha take {found.water:,.0f} L: "
        f"{words.count(found.count, 'tank')}, the last one {found.last:,.0f} L; a full "
        f"one covers {found.hectares:.1f} ha"
    )


def _product(plan: TankPlan, active: str | None) -> str:
    if plan.full is None or plan.last is None:
        who = "an active (--active)" if active is None else active
        return (
            f"not told: needs the rate typed and confirmed from your own label of {who}"
        )
    if plan.tanks.count > 1:
        return (
            f"{plan.full:,.2f} {plan.unit} in a full tank, {plan.last:,.2f} "
            f"{plan.unit} in the last, by the rate you typed from your label"
        )
    return f"{plan.last:,.2f} {plan.unit}, by the rate you typed from your label"


def tree(plan: BoomPlan) -> dict[str, Any]:
    """The plan as plain dicts and lists; units stand in the names."""
    height, flow, tank = plan.height, plan.flow, plan.tank
    return {
        "spacing_m": number(plan.spacing),
        "active": plan.active,
        "height": None
        if height is None
        else {
            "angle_degrees": height.angle,
            "above_heads_m": number(height.above_heads),
            "above_ground_m": _maybe(height.above_ground),
            "label": None if height.verdict is None else height.verdict.value,
            "label_max_m": _maybe(height.label_max),
        },
        "nozzle": None
        if flow is None
        else {
            "flow_l_per_min": number(flow.flow),
            "volume_l_per_ha": number(flow.volume),
            "speed_km_per_h": number(flow.speed),
            "found": flow.found,
        },
        "tanks": None
        if tank is None
        else {
            "hectares": number(tank.hectares),
            "water_l": number(tank.tanks.water),
            "count": tank.tanks.count,
            "last_l": number(tank.tanks.last),
            "hectares_of_a_full_one": number(tank.tanks.hectares),
            "product_in_a_full_one": _maybe(tank.full),
            "product_in_the_last": _maybe(tank.last),
            "product_unit": tank.unit or None,
        },
        "caution": CAUTION,
    }


def _maybe(value: float | None) -> float | None:
    return None if value is None else number(value)
