"""Rigs and weights of a farm file: what arrives, what is wrong, and where.

The sound farm has 32 lines.
"""

from __future__ import annotations

from typing import Any

import pytest

from forecaster.settings.farm import load_farm

RIG = """
[rig]
width_m = 18
speed_kmh = 14
efficiency = 0.75
tank_l = 2500
water_l_ha = 100
fill_min = 25
move_min = 15
"""
TWO = RIG.replace("[rig]", '[[rigs]]\nname = "Old"') + RIG.replace(
    "[rig]", '[[rigs]]\nname = "New"\nnumber = 2\nroad_kmh = 72'
)


def test_a_rig_arrives_in_the_units_inside(spoil: Any) -> None:
    """14 km/h is 35/9 m/s; 25 and 15 minutes are hours."""
    (rig,) = load_farm(spoil("", RIG)).rigs
    assert (rig.name, rig.number, rig.width, rig.tank) == ("rig", 1, 18.0, 2500.0)
    assert rig.speed == pytest.approx(35 / 9)
    assert rig.fill == pytest.approx(25 / 60)
    assert rig.move == pytest.approx(0.25)
    assert rig.road == pytest.approx(100 / 9)


def test_several_rigs_arrive_in_their_order(spoil: Any) -> None:
    """Each with its name and number; 72 km/h is 20 m/s."""
    old, new = load_farm(spoil("", TWO)).rigs
    assert (old.name, old.number, new.name, new.number) == ("Old", 1, "New", 2)
    assert new.road == pytest.approx(20)


def test_nothing_has_to_be_typed(spoil: Any) -> None:
    """No rig, every paddock of weight 1, and none drawn."""
    farm = load_farm(spoil())
    assert farm.rigs == ()
    assert [(each.value, each.middle) for each in farm.paddocks] == [(1, None)] * 2


def test_the_middle_of_a_drawn_paddock(
    spoil: Any, write_map: Any, feature: Any
) -> None:
    """A square from 142.3, −37.6 with a side of 0.004: by hand."""
    write_map(feature("Creek"))
    folder = spoil("elevation_m = 200", 'elevation_m = 200\nmap = "map.geojson"')
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    text = text.replace("hectares = 34\n", "value = 2.5\n")
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    creek, hill = load_farm(folder).paddocks
    assert creek.middle == pytest.approx((-37.598, 142.302))
    assert (creek.value, hill.middle) == (2.5, None)


FAULTS = [
    ("no width", RIG, "width_m = 18\n", "", "34:2", ["width_m is missing"]),
    ("wide", RIG, "= 18", "= 180", "35:1", ["180", "1 to 60"]),
    ("per cent", RIG, "0.75", "75", "37:1", ["75", "0.2 to 1"]),
    ("words", RIG, "= 14", '= "14"', "36:1", ["14"]),
    ("swapped", RIG, "= 2500", "= 80", "38:1", ["tank_l = 80", "100", "swapped?"]),
    ("half a rig", RIG, "= 15", "= 15\nnumber = 1.5", "42:1", ["1.5"]),
    ("unknown", RIG, "tank_l", "tank_litre", "38:1", ["tank_litre"]),
    ("twice", TWO, '"New"', '"old"', "45:1", ["a second rig called 'old'", "line 35"]),
    ("both", RIG + TWO, "", "", "34:2", ["[rig] beside the [[rigs]] of line 43"]),
]


@pytest.mark.parametrize(
    ("text", "old", "new", "place", "said"),
    [pytest.param(*row[1:], id=row[0]) for row in FAULTS],
)
def test_a_fault_is_told_at_its_place(
    spoil: Any,
    refused: Any,
    *,
    text: str,
    old: str,
    new: str,
    place: str,
    said: list[str],
) -> None:
    """File, line and column, the value, what is allowed."""
    assert old in text
    told = refused(spoil("", text.replace(old, new, 1)))
    assert f"farm.toml:{place}: " in told, told
    for words in said:
        assert words in told


def test_a_weight_below_nought_is_refused(spoil: Any, refused: Any) -> None:
    """0 leaves a paddock out; less has no meaning."""
    told = refused(spoil("nothing_near = true", "value = -1"))
    assert "farm.toml:32:1: " in told
    assert "0 to 100" in told
