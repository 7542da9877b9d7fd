"""Errors of forecasts by age: assumed, measured, and drawn between."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from forecaster.domain.sourced import Mark, Sourced
from forecaster.domain.spraying.chance_basis import basis_of
from forecaster.domain.spraying.forecast_error import (
    ASSUMED,
    Measured,
    error_of,
    measured_of,
)
from forecaster.domain.spraying.limits import Limit, Quantity, Rank, Side

NUMBER = Sourced(1, "1", 1, 1, "a test", "a page", Mark.USER)
WIND = Limit(
    "wind", Quantity.WIND_10M, Side.MAX, 5.0, NUMBER, Rank.LAW, "wind", error=1.4
)
LOW_WIND = replace(WIND, id="low", quantity=Quantity.WIND_2M, error=1.1)
AIR = replace(WIND, id="air", quantity=Quantity.AIR_TEMPERATURE, error=1.5)
SIDE = replace(WIND, id="side", quantity=Quantity.WIND_SIDE)
MEASURED = {Quantity.WIND_10M: Measured((1.0, 3.0), (2.0, 3.6), (500, 400), "here")}


def test_assumed_errors_grow_as_stated() -> None:
    """1.0, 1.2, 1.5 and 1.8 times at 1, 3, 5 and 7 days; drawn straight between."""
    days = np.array([0.0, 1.0, 2.0, 3.0, 5.0, 7.0, 9.0, math.nan])
    found = error_of(WIND, days) / 1.4
    assert found[:-1].tolist() == pytest.approx([1, 1, 1.1, 1.2, 1.5, 1.8, 1.8])
    assert math.isnan(found[-1])


def test_measured_errors_are_met_and_grow_on_beyond_them() -> None:
    """At measured ages what was measured; past the last, 3.6 × 1.8 / 1.2 = 5.4."""
    found = error_of(WIND, np.array([1.0, 3.0, 7.0, 0.0]), MEASURED)
    assert found.tolist() == pytest.approx([2.0, 3.6, 5.4, 2.0])
    middle = error_of(WIND, np.array([2.0]), MEASURED)[0]
    assert 2.0 < middle < 3.6


def test_wind_at_2_m_errs_as_its_height_has_it() -> None:
    """ln(2/0.03) / ln(10/0.03), the neutral log law over grass, worked by math.log."""
    share = math.log(2 / 0.03) / math.log(10 / 0.03)
    found = error_of(LOW_WIND, np.array([1.0, 3.0]), MEASURED)
    assert found.tolist() == pytest.approx([2.0 * share, 3.6 * share])
    assert measured_of(Quantity.WIND_2M, MEASURED) is MEASURED[Quantity.WIND_10M]


def test_what_was_not_measured_stays_assumed() -> None:
    """Temperature beside a measured wind."""
    assert error_of(AIR, np.ones(1), MEASURED)[0] == 1.5
    assert measured_of(Quantity.AIR_TEMPERATURE, MEASURED) is None


def test_the_basis_lists_each_bounded_quantity_once() -> None:
    """Sides have no error; what is measured says against what."""
    again = replace(WIND, id="again", side=Side.MIN, bound=1.0)
    advice = replace(AIR, rank=Rank.ADVICE)
    found = basis_of([WIND, again, LOW_WIND, SIDE, advice], MEASURED, 7, "many")
    assert [each.quantity for each in found.errors] == [
        Quantity.WIND_10M,
        Quantity.WIND_2M,
    ]
    assert {each.measured for each in found.errors} == {"here"}
    assert (found.members, found.source) == (7, "many")
    assumed = basis_of([AIR], ASSUMED, 0, "one").errors[0]
    assert (assumed.measured, assumed.size[0]) == ("", 1.5)
    assert basis_of([SIDE], ASSUMED, 0, "one").errors == ()
