"""Chances of a block from members: what is counted, and over which ground."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.domain.air.inversion import HIGH
from forecaster.domain.spraying.blocks import Block
from forecaster.domain.spraying.quantities import Exposure
from forecaster.service.chance import Chances
from forecaster.service.judging import week_air
from forecaster.service.wiring import farm_day

if TYPE_CHECKING:
    from forecaster.service.farm_day import FarmDay


def a_block(first: int, end: int) -> Block:
    """Some hours of a week."""
    return Block(first, end, None, None)


def test_a_member_that_breaks_the_label_counts_though_an_hour_of_it_is_unknown() -> (
    None
):
    """Six members hold two hours; one breaks the first and is unknown in the second.

    By counting: 6 of 7. Left out as not wholly known, it would be 6 of 6.
    """
    holds = np.ones((7, 2), dtype=np.bool_)
    known = np.ones((7, 2), dtype=np.bool_)
    holds[0] = False
    known[0, 1] = False
    chances = Chances(np.zeros(2), np.ones(2), holds, known)
    assert chances.of_block(a_block(0, 2)) == pytest.approx(6 / 7)


def test_a_member_that_is_only_unknown_is_left_out() -> None:
    """Six hold throughout, one holds the first hour and says nothing of the second."""
    holds = np.ones((7, 2), dtype=np.bool_)
    known = np.ones((7, 2), dtype=np.bool_)
    holds[0, 1] = known[0, 1] = False
    chances = Chances(np.zeros(2), np.ones(2), holds, known)
    assert chances.of_block(a_block(0, 2)) == 1.0


@pytest.fixture(scope="module")
def demo() -> FarmDay:
    """The demo farm at its own moment."""
    return farm_day(None, None, None)[0]


def test_members_lie_in_the_hollow_too(demo: FarmDay) -> None:
    """Over a hollow each member's risk is that of the hollow, never a lower one."""
    frame = demo.weather.frame
    members = replace(frame, wind_speed=np.stack([frame.wind_speed] * 2))
    air = week_air(replace(demo.weather, members=members)).members
    assert air is not None
    nowhere = np.zeros(360, dtype=np.bool_)
    open_ground = air.inversion_risk(Exposure(nowhere))
    hollow = air.inversion_risk(Exposure(nowhere, hollow=True))
    assert (hollow[~np.isnan(hollow)] >= open_ground[~np.isnan(hollow)]).all()
    assert (hollow > open_ground).any()
    assert np.nanmax(hollow) <= HIGH
