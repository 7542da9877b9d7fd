"""Every cell of the published stability tables."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from forecaster.domain.air.class_tables import Ceiling, Sky
from forecaster.domain.air.stability import (
    bulk_richardson,
    insolation_class,
    net_radiation_index,
    pasquill_class,
    srdt_class_day,
    srdt_class_night,
    turner_class,
)

LETTERS = {"A": 1.0, "AB": 1.5, "B": 2.0, "BC": 2.5, "C": 3.0, "CD": 3.5} | {
    "D": 4.0,
    "E": 5.0,
    "F": 6.0,
    "G": 7.0,
}


def test_pasquill_table(check_values: Any) -> None:
    """Each cell and each edge of Pasquill's table."""
    checks = check_values("air_pasquill_class")
    assert len(checks) == 65
    for check in checks:
        got = pasquill_class(check.number("wind_speed"), Sky[check.inputs["sky"]])
        assert got == LETTERS[check.expected], check.label
    assert len({(c.expected, c.inputs["sky"]) for c in checks}) >= 14


@pytest.mark.parametrize(
    ("name", "function", "cells"),
    [
        ("air_turner_class", turner_class, 2 * 9 * 7),
        ("air_srdt_class_day", srdt_class_day, 2 * 2 * 5 * 4),
        ("air_srdt_class_night", srdt_class_night, 2 * 2 * 3 * 2),
    ],
)
def test_class_tables(check_values: Any, name: str, function: Any, cells: int) -> None:
    """Each cell of the table, at both ends of its row."""
    checks = check_values(name)
    assert len(checks) == cells
    for check in checks:
        got = function(*check.numbers().values())
        assert got == LETTERS[check.expected], check.label


@pytest.mark.parametrize(
    ("wind_speed", "index", "expected"),
    [
        (3.0, 3.0, 2.0),
        (1.5, -2.0, 7.0),
        (4.0, -1.0, 4.0),
        (4.0, -2.0, 5.0),
        (3.06, -2.0, 6.0),
        (3.06, -1.0, 5.0),
        (5.56, -2.0, 4.0),
    ],
)
def test_turner_between_the_printed_knots(
    wind_speed: float, index: float, expected: float
) -> None:
    """Rows of EPA-454/R-99-005 table 6-4: 11 km/h on a clear night is F."""
    assert turner_class(wind_speed, index) == expected


def test_insolation_classes(check_values: Any) -> None:
    """Each row of the table of sun elevations; a missing sun has no class."""
    for check in check_values("air_insolation_class"):
        assert check.agrees(insolation_class(**check.numbers())), check.label
    assert np.isnan(insolation_class(np.nan))


def test_net_radiation_index(check_values: Any) -> None:
    """Each step of the published procedure."""
    for check in check_values("air_net_radiation_index"):
        got = net_radiation_index(
            check.number("insolation"),
            check.number("cloud"),
            Ceiling[check.inputs["ceiling"]],
            night=bool(check.number("night")),
        )
        assert check.agrees(got), check.label


@pytest.mark.parametrize("missing", range(3))
def test_index_of_an_unknown_day_is_unknown(missing: int) -> None:
    """By day a missing sun, cloud or cloud base leaves the index unknown."""
    inputs = [3.0, 0.8, float(Ceiling.MIDDLE)]
    inputs[missing] = np.nan
    assert np.isnan(net_radiation_index(*inputs, night=False))


def test_night_index_needs_no_sun() -> None:
    """At night the insolation class is not read (EPA-454/R-99-005 section 6.4.1)."""
    assert net_radiation_index(np.nan, 0.2, Ceiling.HIGH, night=True) == -2.0


@pytest.mark.parametrize("function", [turner_class, srdt_class_day, srdt_class_night])
def test_unknown_inputs_have_no_class(function: Any) -> None:
    """A missing or negative wind, or a missing second input, has no class."""
    got = function([np.nan, -1.0, 3.0], [1.0, 1.0, np.nan])
    assert np.all(np.isnan(got))


def test_columns_outside_the_tables() -> None:
    """A sky, index or radiation that no table has gives no class."""
    assert np.all(np.isnan(pasquill_class(3.0, [-1.0, 5.0, np.nan])))
    assert np.all(np.isnan(turner_class(3.0, [5.0, -3.0])))
    assert np.isnan(srdt_class_day(3.0, -1.0))


def test_richardson_by_hand(check_values: Any) -> None:
    """The four layers worked by calculator, from stable to unstable."""
    for check in check_values("air_bulk_richardson"):
        low, high, calm, brisk = check.numbers().values()
        assert check.agrees(bulk_richardson((low, high), (calm, brisk))), check.label


def test_richardson_of_a_library() -> None:
    """For straight profiles it is MetPy's gradient Richardson number at mid-height."""
    import metpy.calc
    from metpy.units import units

    heights = np.array([2.0, 41.0, 80.0])
    temperatures, winds = (8.0, 11.0), (0.6, 4.0)
    theta = 273.15 + np.array(temperatures) + 0.0098 * heights[[0, 2]]
    middle = np.array([theta[0], theta.mean(), theta[1]])
    speed = np.array([winds[0], np.mean(winds), winds[1]])
    reference = metpy.calc.gradient_richardson_number(
        units.Quantity(heights, "m"),
        units.Quantity(middle, "K"),
        units.Quantity(speed, "m/s"),
        units.Quantity(np.zeros(3), "m/s"),
    )
    ours = bulk_richardson(temperatures, winds)
    assert ours == pytest.approx(reference[1].m, rel=1e-3)


def test_richardson_without_shear() -> None:
    """The number is not defined where the wind does not change with height."""
    assert np.isnan(bulk_richardson((8.0, 11.0), (2.0, 2.0)))
    assert np.isnan(bulk_richardson((np.nan, 11.0), (2.0, 3.0)))
