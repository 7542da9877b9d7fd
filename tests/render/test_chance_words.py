"""What chances are made from, in words."""

from __future__ import annotations

import math

import pytest

from forecaster.domain.spraying.chance_basis import ChanceBasis, ErrorLine
from forecaster.domain.spraying.limits import Quantity
from forecaster.render import chance_words, words

WIND = ErrorLine(Quantity.WIND_10M, (1.0, 3.0), (5 / 3.6, 2.0), "")
AIR = ErrorLine(Quantity.AIR_TEMPERATURE, (1.0, 3.0), (1.5, 1.84), "a model, 2026")


def test_one_forecast_and_many_are_told_apart() -> None:
    """How many, whose, and whether their errors were measured."""
    one = chance_words.sentence(ChanceBasis(0, "a model", (WIND,)))
    assert one.startswith("Chances are made from one forecast (a model) and its error")
    assert one.endswith("The errors are assumed, not measured here.")
    many = chance_words.sentence(ChanceBasis(51, "many", (WIND, AIR)))
    assert many.startswith("Chances are the mean over 51 forecasts (many).")
    assert many.endswith("Errors of air were measured here; others are assumed.")
    all_known = chance_words.sentence(ChanceBasis(51, "many", (AIR,)))
    assert all_known.endswith("Errors of air were measured here.")


def test_each_error_has_its_unit_ages_and_origin() -> None:
    """5/3.6 m/s is 5.0 km/h, 2 m/s 7.2; °C stay °C; lines keep to the screen."""
    lines = chance_words.lines(ChanceBasis(0, "a model", (WIND, AIR)))
    assert all(len(line) <= words.WIDTH for line in lines)
    text = " ".join(" ".join(lines).split())
    assert "wind at 10 m: error 5.0, 7.2 km/h at 1, 3 days." in text
    assert "docs/method/chance.md [assumed]" in text
    assert "air: error 1.5, 1.8 °C at 1, 3 days. measured: a model, 2026" in text


def test_without_a_confirmed_number_none_is_told() -> None:
    """And the tree holds nothing but that."""
    nothing = ChanceBasis(51, "many", ())
    assert "No chance is told" in chance_words.sentence(nothing)
    assert chance_words.lines(nothing) == []
    assert chance_words.tree(nothing)["errors"] == []


def test_the_tree_holds_the_units_inside() -> None:
    """m/s, and null where nothing was measured."""
    wind, air = chance_words.tree(ChanceBasis(7, "many", (WIND, AIR)))["errors"]
    assert wind == {
        "quantity": "wind_10m",
        "lead_days": [1.0, 3.0],
        "size": [1.3889, 2.0],
        "measured": None,
    }
    assert air["measured"] == "a model, 2026"


@pytest.mark.parametrize(
    ("share", "said"),
    [(0.0, "<1"), (0.049, "<1"), (0.051, "1"), (0.7, "7"), (0.94, "9"), (0.96, ">9"),
     (1.0, ">9"), (math.nan, "-")],
)  # fmt: skip
def test_a_share_in_a_narrow_column(share: float, said: str) -> None:
    """Never nought and never ten."""
    assert words.tenths(share) == said
