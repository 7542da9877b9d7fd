"""The arithmetic of a boom from the numbers of a command line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from forecaster.domain.boom import flow as flows
from forecaster.domain.boom.height import height_for, overlap_at
from forecaster.domain.boom.label import NOTHING_TYPED, held_against
from forecaster.domain.boom.plan import BoomPlan, FlowPlan, HeightPlan, TankPlan
from forecaster.domain.boom.tank import product_in, tanks
from forecaster.errors import UsageError
from forecaster.service.bounds import check_options

if TYPE_CHECKING:
    from forecaster.domain.boom.label import LabelBoom
    from forecaster.settings.farm import Farm

ALLOWED = {
    "spacing": (10.0, 150.0, "cm"),
    "angle": (30.0, 150.0, "degrees"),
    "heads": (0.0, 200.0, "cm"),
    "volume": (5.0, 1000.0, "L/ha"),
    "speed": (1.0, 40.0, "km/h"),
    "flow": (0.05, 20.0, "L/min"),
    "tank": (10.0, 20_000.0, "L"),
    "hectares": (0.01, 20_000.0, "ha"),
}
"""Lowest and highest of each number that is not a slip of the finger. Assumed."""
CENTIMETRES = 100.0


@dataclass(frozen=True, slots=True)
class Asked:
    """The numbers of the command line, in its units; None: not given.

    Raises
    ------
    UsageError
        If one is out of bounds.
    """

    spacing: float
    angle: float | None = None
    heads: float | None = None
    volume: float | None = None
    speed: float | None = None
    flow: float | None = None
    tank: float | None = None
    hectares: float | None = None

    def __post_init__(self) -> None:
        check_options(self, ALLOWED)


def boom_plan(farm: Farm, asked: Asked, active: str | None) -> BoomPlan:
    """What the numbers given allow to be said.

    Raises
    ------
    UsageError
        If the active is not known, nothing can be worked out, or a part lacks a
        number.
    """
    if active is not None and active not in farm.actives:
        raise UsageError(f"--active {active!r}: known are {', '.join(farm.actives)}")
    typed = None if active is None else farm.labels.get(active)
    label = NOTHING_TYPED if typed is None else typed.boom
    spacing = asked.spacing / CENTIMETRES
    flow = _flow(asked, spacing)
    plan = BoomPlan(
        spacing=spacing,
        active=active,
        height=_height(asked, spacing, None if active is None else label),
        flow=flow,
        tank=_tank(asked, flow, label),
    )
    if plan.height is None and plan.flow is None and plan.tank is None:
        raise UsageError(
            "nothing to work out: give --angle for the height, two of --volume, "
            "--speed and --flow for a nozzle, or --volume, --tank and --hectares for "
            "tanks"
        )
    return plan


def _height(asked: Asked, spacing: float, label: LabelBoom | None) -> HeightPlan | None:
    if asked.angle is None:
        if asked.heads is not None:
            raise UsageError("--heads needs --angle, the fan angle of the nozzles")
        return None
    above = height_for(spacing, asked.angle)
    most = None if label is None or not label.confirmed else label.height_max
    return HeightPlan(
        angle=asked.angle,
        above_heads=above,
        above_ground=None if asked.heads is None else above + asked.heads / CENTIMETRES,
        verdict=None if label is None else held_against(above, label),
        label_max=most,
        overlap_at_label=None
        if most is None
        else overlap_at(most, spacing, asked.angle),
    )


def _flow(asked: Asked, width: float) -> FlowPlan | None:
    volume, speed, flow = asked.volume, asked.speed, asked.flow
    if volume is not None and speed is not None:
        if flow is not None:
            raise UsageError("--volume, --speed and --flow: give two of them")
        return FlowPlan(flows.flow_of(volume, speed, width), volume, speed, "flow")
    if flow is not None and speed is not None:
        return FlowPlan(flow, flows.volume_of(flow, speed, width), speed, "volume")
    if flow is not None and volume is not None:
        return FlowPlan(flow, volume, flows.speed_of(flow, volume, width), "speed")
    if flow is not None or speed is not None:
        raise UsageError("--volume, --speed and --flow: give two of them")
    return None


def _tank(asked: Asked, flow: FlowPlan | None, label: LabelBoom) -> TankPlan | None:
    if asked.tank is None:
        return None
    volume = asked.volume if flow is None else flow.volume
    if volume is None or asked.hectares is None:
        raise UsageError("--tank needs the litres a hectare, and --hectares or PADDOCK")
    found = tanks(asked.hectares, volume, asked.tank)
    product = label.product
    full = None if product is None else product_in(asked.tank, volume, product[0])
    last = None if product is None else product_in(found.last, volume, product[0])
    return TankPlan(
        hectares=asked.hectares,
        tank=asked.tank,
        tanks=found,
        full=full,
        last=last,
        unit="" if product is None else product[1],
    )
