"""Grazing is only believed until somebody counts heads."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.look import Look
from forecaster.domain.growth.stage import Stage
from forecaster.service.growing import grow

if TYPE_CHECKING:
    from forecaster.service.farm_day import FarmDay
    from forecaster.settings.farm import Farm

LOOK = Look(
    id="1",
    paddock="Lone Gum",
    weed="annual_ryegrass",
    moment=np.datetime64("2026-10-11T19:00:00"),
    counts=((None, 25), (Stage.HEADING, 25)),
)
"""Half of 50 heads out an hour before the demo stands."""


def heading(day: FarmDay, farm: Farm, looks: tuple[Look, ...]) -> float:
    """Likely day half the heads of Lone Gum are out."""
    (paddock,) = (each for each in farm.paddocks if each.name == "Lone Gum")
    projection = grow(farm, day.weather, looks).projection("annual_ryegrass", paddock)
    return float(projection.stage_dates((Stage.HEADING,)).likely[0])


def ungrazed(farm: Farm) -> Farm:
    """The same farm without any grazing typed."""
    return replace(
        farm, paddocks=tuple(replace(each, grazed=()) for each in farm.paddocks)
    )


def test_a_count_of_heads_overrides_what_grazing_was_assumed_to_do(
    demo_day: FarmDay,
) -> None:
    """60 °C d is about five days at its spring warmth; after a count, under one."""
    bare = ungrazed(demo_day.farm)
    before = heading(demo_day, demo_day.farm, ()) - heading(demo_day, bare, ())
    after = heading(demo_day, demo_day.farm, (LOOK,)) - heading(demo_day, bare, (LOOK,))
    assert 3 < before < 8
    assert abs(after) < 1
