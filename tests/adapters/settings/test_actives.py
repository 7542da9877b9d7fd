"""Actives we ship, faulty ones, and what a typed label becomes."""

from __future__ import annotations

import datetime as dt
import re
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from forecaster.domain.sourced import Mark
from forecaster.domain.spraying.limits import Quantity, Rank, Side
from forecaster.errors import SettingsError
from forecaster.settings.actives import (
    LABEL_UNITS,
    Label,
    label_limits,
    load_actives,
)
from forecaster.settings.farm_file import LabelTyped
from forecaster.settings.shipped import config_folder

SHIPPED = config_folder() / "actives"
TYPED = Label(
    active="glyphosate",
    confirmed=True,
    confirmed_by="A. Grazier",
    read_on=dt.date(2026, 9, 1),
    name="a label",
    numbers={"wind_max_kmh": 18.0, "rain_free_hours": 4.0},
    weeds=("barley_grass",),
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the shipped files to spoil."""
    return Path(shutil.copytree(SHIPPED, tmp_path / "actives"))


def test_two_actives_are_shipped() -> None:
    """One translocated, one contact; each warns, and each number has its source."""
    actives = load_actives(SHIPPED)
    modes = {active.id: active.mode for active in actives.values()}
    assert modes == {"glyphosate": "translocated", "paraquat": "contact"}
    for active in actives.values():
        assert active.cautions
        for entry in active.entries:
            for number in (entry.pattern, entry.error, entry.chance):
                assert number is None or (number.source and number.page)
                assert number is None or number.mark is not Mark.USER


def test_a_user_can_type_every_number_a_label_may_state() -> None:
    """Each key of the actives is a key of ``[labels.<active>]``, and the reverse."""
    keys = {
        entry.key
        for active in load_actives(SHIPPED).values()
        for entry in active.entries
    }
    typed = set(LabelTyped.model_fields) - {
        "label", "confirmed", "confirmed_by", "read_on", "weeds",
        "grazing_withholding_days",  # bears on stock, not on hours
        "boom_height_max_m", "product_per_hectare", "product_unit",  # on the boom
    }  # fmt: skip
    assert keys == typed == set(LABEL_UNITS)


def test_an_untyped_number_never_confirms() -> None:
    """Without a label the pattern stands, unconfirmed; rare ones are left out."""
    active = load_actives(SHIPPED)["glyphosate"]
    limits = label_limits(active, None)
    assert limits
    assert not any(limit.confirmed for limit in limits)
    assert {limit.rank for limit in limits} == {Rank.LAW}
    assert "glyphosate.air_temperature_max_c" not in {limit.id for limit in limits}


def test_a_typed_number_is_the_users_own() -> None:
    """18 km/h is 18 / 3.6 = 5 m/s; who read it, when and where is its source."""
    active = load_actives(SHIPPED)["glyphosate"]
    limits = {limit.id: limit for limit in label_limits(active, TYPED)}
    top = limits["glyphosate.wind_max_kmh"]
    assert top.bound == pytest.approx(5.0)
    assert (top.stated.value, top.stated.unit) == (18.0, "km/h")
    assert top.stated.mark is Mark.USER
    assert top.stated.source == "a label, typed by A. Grazier"
    assert top.stated.page == "read on 2026-09-01"
    assert top.confirmed
    assert not limits["glyphosate.wind_min_kmh"].confirmed


def test_the_chance_of_rain_looks_as_far_as_the_label_says() -> None:
    """Four dry hours on the label: the chance of rain over four hours counts."""
    active = load_actives(SHIPPED)["glyphosate"]
    limits = {limit.id: limit for limit in label_limits(active, TYPED)}
    chance = limits["glyphosate.rain_free_hours_chance"]
    assert (chance.quantity, chance.side) == (Quantity.RAIN_CHANCE_AHEAD, Side.BELOW)
    assert chance.horizon == 4.0
    assert chance.confirmed


def test_not_on_label_takes_the_limit_away() -> None:
    """A number the label does not state limits nothing."""
    active = load_actives(SHIPPED)["glyphosate"]
    label = replace(TYPED, numbers={"wind_max_kmh": None})
    ids = {limit.id for limit in label_limits(active, label)}
    assert "glyphosate.wind_max_kmh" not in ids
    assert "glyphosate.wind_min_kmh" in ids


def test_a_label_without_words_says_so() -> None:
    """Nobody, no label, no date: the source does not pretend otherwise."""
    active = load_actives(SHIPPED)["glyphosate"]
    label = replace(TYPED, name="", confirmed_by="", read_on=None, confirmed=False)
    limits = {limit.id: limit for limit in label_limits(active, label)}
    top = limits["glyphosate.wind_max_kmh"]
    assert top.stated.source == "the label, typed by nobody"
    assert top.stated.page == "no date typed"
    assert not top.confirmed


@pytest.mark.parametrize(
    "part", ["value", "unit", "low", "high", "source", "page", "mark"]
)
def test_a_pattern_without_one_of_its_parts_is_refused(folder: Path, part: str) -> None:
    """An unsourced pattern never loads; the fault is at its line."""
    path = folder / "paraquat.toml"
    text = path.read_text(encoding="utf-8")
    pattern = rf'(?m)^(pattern = .*?)\b{part} = ("[^"]*"|[\d.]+)(, )?'
    changed, count = re.subn(pattern, r"\1", text, count=1)
    assert count == 1
    changed = re.sub(r",\s*}", " }", changed, count=1)  # no comma before a }
    path.write_text(changed, encoding="utf-8")
    line = next(
        number
        for number, words in enumerate(changed.split("\n"), 1)
        if words.startswith("pattern")
    )
    with pytest.raises(SettingsError) as caught:
        load_actives(folder)
    assert f"{path}:{line}:1: label 1: pattern.{part} is missing" in str(caught.value)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"wind_min_kmh"', '"wind_least"', "allowed is one of wind_min_kmh"),
        ('"wind_max_kmh"', '"wind_min_kmh"', "wind_min_kmh stands twice"),
        # The user types a bare 20 under wind_min_kmh: it must not be read as m/s.
        ('3, unit = "km/h"', '3, unit = "m/s"', "unit 'm/s' must be 'km/h'"),
        ('3, unit = "km/h"', '3, unit = "K"', "stated in km/h or m/s, not 'K'"),
        ('4, unit = "km/h", low = 2', '0, unit = "km/h", low = 0', "above 0"),
        ('4, unit = "km/h"', '4, unit = "h"', "stated in km/h or m/s, not 'h'"),
        ('50, unit = "%"', '50, unit = "h"', "stated in %, not 'h'"),
        ('quantity = "wind_2m"', 'quantity = "breeze"', "allowed is 'wind_10m'"),
        ('mode = "contact"', 'mode = "both"', "'translocated' or 'contact'"),
        ('name = "paraquat"', 'name = "p"', "2 or more characters"),
        ("only_if_typed = true", "only_if_typed = 1", "true or false"),
        ("only_if_typed", "rate", "label 5: rate is not a known key"),
    ],
)
def test_wrong_entries_are_named(folder: Path, old: str, new: str, said: str) -> None:
    """An unknown key, a wrong unit, mode or type, a number that stands twice."""
    path = folder / "paraquat.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(SettingsError) as caught:
        load_actives(folder)
    assert said in str(caught.value)
    assert f"{path}:" in str(caught.value)


def test_an_empty_folder_is_refused(tmp_path: Path) -> None:
    """Without actives there is nothing to judge."""
    with pytest.raises(SettingsError) as caught:
        load_actives(tmp_path)
    assert str(caught.value.faults[0]) == f"{tmp_path}: holds no actives (*.toml)"
