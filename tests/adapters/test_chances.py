"""Chances of a block from members: what is counted, and over which ground."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from forecaster.domain.air.inversion import HIGH
from forecaster.domain.spraying.blocks import Block
from forecaster.domain.spraying.limits import Verdict
from forecaster.domain.spraying.quantities import Exposure
from forecaster.domain.weather import HOUR, QUANTITIES
from forecaster.render import chance_words
from forecaster.service.chance import Chances
from forecaster.service.hours_view import paddock_hours
from forecaster.service.judging import week_air
from forecaster.service.wiring import chosen, farm_day

if TYPE_CHECKING:
    from forecaster.domain.weather import Floats
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
    chance, holds = np.ones((7, 2)), np.ones((7, 2), dtype=np.bool_)
    chance[0] = 0.0, np.nan
    holds[0] = False
    chances = Chances(np.zeros(2), np.ones(2), chance, holds)
    assert chances.of_block(a_block(0, 2)) == pytest.approx(6 / 7)


def test_a_member_that_is_only_unknown_is_left_out() -> None:
    """Six hold throughout, one holds the first hour and says nothing of the second."""
    chance, holds = np.ones((7, 2)), np.ones((7, 2), dtype=np.bool_)
    chance[0, 1] = np.nan
    holds[0, 1] = False
    chances = Chances(np.zeros(2), np.ones(2), chance, holds)
    assert chances.of_block(a_block(0, 2)) == 1.0


def test_a_block_takes_each_member_s_weakest_hour() -> None:
    """By hand: of five members (0.9, 0.4) and one (0.2, 0.8): (5 × 0.4 + 0.2) / 6."""
    chance = np.array([[0.9, 0.4]] * 5 + [[0.2, 0.8]])
    chances = Chances(np.zeros(2), np.ones(2), chance, chance > 0.5)
    assert chances.of_block(a_block(0, 2)) == pytest.approx(2.2 / 6)
    assert chances.of_hours() == pytest.approx([4.7 / 6, 2.8 / 6])


def test_too_few_members_leave_the_one_forecast_s_chance() -> None:
    """Four of them, for hours and for blocks; without any, that alone."""
    one = np.array([0.7, 0.3])
    few = Chances(np.zeros(2), one, np.ones((4, 2)), np.ones((4, 2), dtype=np.bool_))
    for chances in (few, Chances(np.zeros(2), one)):
        assert chances.of_hours().tolist() == [0.7, 0.3]
        assert chances.of_block(a_block(0, 2)) == 0.3


@pytest.fixture(scope="module")
def demo() -> FarmDay:
    """The demo farm at its own moment."""
    return farm_day(None, None, None)[0]


def test_members_lie_in_the_hollow_too(demo: FarmDay) -> None:
    """Over a hollow each member's risk is that of the hollow, never a lower one."""
    frame = demo.weather.frame
    members = replace(frame, wind_speed=np.stack([frame.wind_speed] * 2), marks={})
    air = week_air(replace(demo.weather, members=members)).members
    assert air is not None
    nowhere = np.zeros(360, dtype=np.bool_)
    open_ground = air.inversion_risk(Exposure(nowhere))
    hollow = air.inversion_risk(Exposure(nowhere, hollow=True))
    assert (hollow[~np.isnan(hollow)] >= open_ground[~np.isnan(hollow)]).all()
    assert (hollow > open_ground).any()
    assert np.nanmax(hollow) <= HIGH


def with_members(demo: FarmDay, wind: Floats) -> FarmDay:
    """The demo with members of its own forecast from an hour on, winds (members, …)."""
    frame = demo.weather.frame
    columns: dict[str, Any] = {
        name: np.stack([getattr(frame, name)] * len(wind)) for name in QUANTITIES
    }
    members = replace(frame, **{**columns, "wind_speed": wind}, marks={})
    later = members.between(demo.weather.now + 24 * HOUR, frame.time[-1] + HOUR)
    weather = replace(demo.weather, members=later)
    return replace(demo, weather=weather, air=week_air(weather))


def test_hours_tell_the_members_chance_where_there_are_members(demo: FarmDay) -> None:
    """From tomorrow on six members are far too windy: none of those hours keeps.

    Today has the chance of the one forecast; what is unknown stays unknown.
    """
    many = with_members(demo, np.full((6, len(demo.weather.frame)), 25.0))
    paddock, active = chosen(many, "Lone Gum", "glyphosate")
    found = paddock_hours(many, paddock, active)
    before = paddock_hours(demo, paddock, active)
    assert (found.basis.members, before.basis.members) == (6, 0)
    today = [hour.chance for hour in found.hours[:24]]
    assert today == [hour.chance for hour in before.hours[:24]]
    later = np.array([hour.chance for hour in found.hours[24:]])
    assert (later[~np.isnan(later)] < 1e-6).all()
    assert max(hour.chance for hour in before.hours[24:]) > 0.5
    for hour in (*found.hours, *before.hours):
        assert np.isnan(hour.chance) == (hour.verdict is Verdict.UNKNOWN)


def test_members_of_another_week_tell_nothing(demo: FarmDay) -> None:
    """As if there were none."""
    many = with_members(demo, np.full((6, len(demo.weather.frame)), 25.0))
    members = many.weather.members
    assert members is not None
    past = replace(members, time=members.time - 30 * 24 * HOUR)
    weather = replace(demo.weather, members=past)
    gone = replace(demo, weather=weather, air=week_air(weather))
    paddock, active = chosen(demo, "Lone Gum", "glyphosate")
    found, before = (paddock_hours(day, paddock, active) for day in (gone, demo))
    assert [str(hour.chance) for hour in found.hours] == [
        str(hour.chance) for hour in before.hours
    ]


def test_an_unconfirmed_label_has_no_chance(demo: FarmDay) -> None:
    """No number typed: every hour's chance is unknown, and so it is said."""
    bare = replace(demo, farm=replace(demo.farm, labels={}))
    found = paddock_hours(bare, *chosen(bare, "Lone Gum", "glyphosate"))
    assert all(np.isnan(hour.chance) for hour in found.hours)
    assert "No chance is told" in chance_words.sentence(found.basis)
