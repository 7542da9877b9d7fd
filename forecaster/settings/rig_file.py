"""What may be typed of a rig: ``[rig]``, or several ``[[rigs]]``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from forecaster.domain.rig.work_rate import Rig
from forecaster.settings.document import Number, Strict, within
from forecaster.settings.repeats import repeated
from forecaster.settings.stock_file import Name

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.errors import Fault
    from forecaster.settings.document import Document
    from forecaster.settings.farm_file import FarmFile

KMH = 3.6
"""Kilometres an hour in a metre a second."""
MINUTES = 60.0


class RigEntry(Strict):
    """``[rig]`` or one of ``[[rigs]]``."""

    name: Name = "rig"
    width_m: Annotated[Number, within(1, 60)]
    speed_kmh: Annotated[Number, within(1, 50)]
    efficiency: Annotated[Number, within(0.2, 1)]
    tank_l: Annotated[Number, within(50, 30_000)]
    water_l_ha: Annotated[Number, within(5, 1_000)]
    fill_min: Annotated[Number, within(0, 240)]
    move_min: Annotated[Number, within(0, 240)]
    road_kmh: Annotated[Number, within(5, 110)] = 40.0
    number: Annotated[int, Field(strict=True, ge=1, le=20)] = 1


def rigs_of(file: FarmFile) -> tuple[Rig, ...]:
    """The farm's rigs in the units of the domain, in the order of the file."""
    entries = file.rigs if file.rig is None else [file.rig]
    return tuple(
        Rig(
            name=each.name,
            width=each.width_m,
            speed=each.speed_kmh / KMH,
            efficiency=each.efficiency,
            tank=each.tank_l,
            volume=each.water_l_ha,
            fill=each.fill_min / MINUTES,
            move=each.move_min / MINUTES,
            road=each.road_kmh / KMH,
            number=each.number,
        )
        for each in entries
    )


def faults(document: Document, file: FarmFile) -> Iterator[Fault]:
    """Faults of rigs that only show when entries are held together."""
    if file.rig is not None and file.rigs:
        line, _ = document.position(("rigs", 0))
        yield document.fault(
            ("rig",), f"[rig] beside the [[rigs]] of line {line}; keep one of the two"
        )
    yield from repeated(document, "rigs", (each.name for each in file.rigs), "rig")
    typed = [(("rigs", number), each) for number, each in enumerate(file.rigs)]
    alone = [] if file.rig is None else [(("rig",), file.rig)]
    for here, rig in [*alone, *typed]:
        if rig.tank_l < rig.water_l_ha:
            yield document.fault(
                (*here, "tank_l"),
                f"tank_l = {rig.tank_l:g} does not cover one hectare at water_l_ha = "
                f"{rig.water_l_ha:g}; swapped?",
            )
