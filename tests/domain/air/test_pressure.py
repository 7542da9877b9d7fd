"""The standard atmosphere against the handbook's table."""

from __future__ import annotations

from typing import Any

import pytest

from forecaster.domain.air.pressure import standard_pressure


@pytest.mark.parametrize(
    ("elevation", "pressure"),
    [(-500, 1074.78), (0, 1013.25), (500, 954.61), (1000, 898.75), (4000, 616.40)],
)
def test_standard_pressure(elevation: float, pressure: float, psychrolib: Any) -> None:
    """ASHRAE Fundamentals 2017 ch. 1 Table 1, as tested by PsychroLib (1 Pa)."""
    assert standard_pressure(elevation) == pytest.approx(pressure, abs=0.02)
    reference = psychrolib.GetStandardAtmPressure(elevation) / 100
    assert standard_pressure(elevation) == pytest.approx(reference, abs=1e-3)


@pytest.mark.parametrize("elevation", [-5001.0, 11001.0, float("nan")])
def test_beyond_the_equation(elevation: float) -> None:
    """Outside its stated range nothing is returned."""
    with pytest.raises(ValueError, match="elevation"):
        standard_pressure(elevation)
