"""A sourced number needs all of its parts, and lies in its own range."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest

from forecaster.domain.sourced import Mark, Sourced
from forecaster.domain.spraying.limits import Quantity
from forecaster.errors import SettingsError
from forecaster.settings.document import Strict, read_document, validate
from forecaster.settings.numbers import SourcedNumber
from forecaster.settings.quantity_units import SENSIBLE, STATED_UNITS, inside, sensible

if TYPE_CHECKING:
    from pathlib import Path

PARTS: dict[str, str] = {
    "value": "3",
    "unit": '"km/h"',
    "low": "2",
    "high": "4.5",
    "source": '"a paper"',
    "page": '"p. 1"',
    "mark": '"published"',
}


class One(Strict):
    """A file with one number."""

    number: SourcedNumber


def read(folder: Path, **changed: str | None) -> One:
    """The number with some parts changed, or left out where None."""
    parts = {**PARTS, **changed}
    inner = ", ".join(f"{key} = {text}" for key, text in parts.items() if text)
    path = folder / "number.toml"
    path.write_text(f"number = {{ {inner} }}\n", encoding="utf-8")
    return validate(read_document(path), One)


def test_a_whole_number_loads(tmp_path: Path) -> None:
    """All parts arrive as they were written."""
    assert read(tmp_path).number.sourced() == Sourced(
        3.0, "km/h", 2.0, 4.5, "a paper", "p. 1", Mark.PUBLISHED
    )


@pytest.mark.parametrize("part", PARTS)
def test_no_part_may_be_left_out(tmp_path: Path, part: str) -> None:
    """A number without its unit, range, source, page or mark fails to load."""
    with pytest.raises(SettingsError) as caught:
        read(tmp_path, **{part: None})
    assert f"number.toml:1:1: number.{part} is missing" in str(caught.value)


@pytest.mark.parametrize(
    ("part", "text", "said"),
    [
        ("value", "1", "number: value 1 must lie between low 2 and high 4.5"),
        ("value", "5", "number: value 5 must lie between"),
        ("low", "9", "must lie between"),
        ("value", '"3"', 'number.value = "3": allowed is a number'),
        ("value", "true", "number.value = true: allowed is a number"),
        ("high", "inf", "number.high = inf: allowed is a plain number"),
        ("unit", '""', 'number.unit = "": allowed is 1 or more characters'),
        ("source", '"me"', "allowed is 3 or more characters"),
        ("page", '""', "allowed is 1 or more characters"),
        ("mark", '"certain"', "allowed is 'published', 'published, seen in excerpt'"),
    ],
)
def test_a_part_must_make_sense(
    tmp_path: Path, part: str, text: str, said: str
) -> None:
    """Out of its range, of another type, empty, or of an unknown mark."""
    with pytest.raises(SettingsError) as caught:
        read(tmp_path, **{part: text})
    assert said in str(caught.value)


@pytest.mark.parametrize(
    ("quantity", "value", "unit", "expected"),
    [
        # 1 km/h = 1000/3600 m/s exactly (SI Brochure, 9th ed., table 8: the hour).
        (Quantity.WIND_10M, 36.0, "km/h", 10.0),
        (Quantity.GUST_10M, 10.0, "m/s", 10.0),
        (Quantity.RELATIVE_HUMIDITY, 40.0, "%", 40.0),
    ],
)
def test_units_are_turned_inside(
    quantity: Quantity, value: float, unit: str, expected: float
) -> None:
    """Stated in the unit of a label, held in that of the model."""
    assert math.isclose(inside(quantity, value, unit), expected)


@pytest.mark.parametrize("quantity", Quantity)
def test_every_quantity_has_units_and_refuses_others(quantity: Quantity) -> None:
    """A quantity in a unit it does not have is a fault that names its own."""
    allowed = " or ".join(STATED_UNITS[quantity])
    with pytest.raises(ValueError, match="is stated in") as caught:
        inside(quantity, 1.0, "furlong")
    assert allowed in str(caught.value)


@pytest.mark.parametrize("quantity", Quantity)
def test_a_bound_is_sensible_or_yes_and_no(quantity: Quantity) -> None:
    """Each end of the range passes and a step past it does not, in every unit."""
    for unit, factor in STATED_UNITS[quantity].items():
        if unit == "yes/no":
            assert "hold = true" in str(sensible(quantity, 1.0, unit))
            continue
        lowest, highest = (end / factor for end in SENSIBLE[quantity])
        assert sensible(quantity, lowest, unit) is None
        assert sensible(quantity, highest, unit) is None
        for bad in (lowest - 1, highest + 1):
            assert unit in str(sensible(quantity, bad, unit))
