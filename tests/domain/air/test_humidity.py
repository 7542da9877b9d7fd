"""Vapour pressure, humidity and dew point against handbook and libraries."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from forecaster.domain.air.delta_t import (
    dew_point,
    relative_humidity,
    saturation_vapour_pressure,
)


def test_published_saturation_pressure(check_values: Any) -> None:
    """The handbook's table is met within the 300 ppm it claims."""
    for check in check_values("air_saturation_vapour_pressure"):
        assert check.agrees(saturation_vapour_pressure(**check.numbers())), check.label


@pytest.mark.parametrize("temperature", [-60.1, 200.1, np.nan])
def test_saturation_pressure_out_of_range(temperature: float) -> None:
    """Outside the formula's range the saturation pressure is unknown."""
    assert np.isnan(saturation_vapour_pressure(temperature))


def test_supercooled_water_not_ice() -> None:
    """Below freezing it is over water: MetPy's liquid curve, above its solid one."""
    import metpy.calc
    from metpy.units import units

    kelvin = units.Quantity(263.15, "K")
    ours = float(saturation_vapour_pressure(-10.0))
    liquid = metpy.calc.saturation_vapor_pressure(kelvin, phase="liquid").m_as("hPa")
    solid = metpy.calc.saturation_vapor_pressure(kelvin, phase="solid").m_as("hPa")
    assert ours == pytest.approx(liquid, rel=0.005)
    assert ours > 1.05 * solid


def test_dew_point_of_the_handbook_library(psychrolib: Any) -> None:
    """PsychroLib's dew point is met within 0.002 K above freezing."""
    for temperature, humidity in [
        (10.0, 60.0),
        (25.0, 50.0),
        (40.0, 20.0),
        (45.0, 95.0),
    ]:
        reference = psychrolib.GetTDewPointFromRelHum(temperature, humidity / 100.0)
        assert dew_point(temperature, humidity) == pytest.approx(reference, abs=0.002)


def test_humidity_from_dew_point_of_a_library() -> None:
    """CoolProp's relative humidity from a dew point is met within 0.1 %."""
    from CoolProp.HumidAirProp import HAPropsSI

    reference = 100.0 * HAPropsSI("R", "T", 298.15, "D", 283.15, "P", 101325.0)
    assert relative_humidity(25.0, 10.0) == pytest.approx(reference, abs=0.1)


@pytest.mark.parametrize("humidity", [0.0, -5.0, 102.0, np.nan])
def test_no_dew_point(humidity: float) -> None:
    """Air without vapour, or with an impossible humidity, has no dew point."""
    assert np.isnan(dew_point(20.0, humidity))


def test_dew_point_below_the_curve() -> None:
    """A dew point colder than the saturation curve reaches is unknown."""
    assert np.isnan(dew_point(-40.0, 0.5))


def test_unknown_stays_unknown() -> None:
    """A missing dew point or temperature gives a missing humidity."""
    got = relative_humidity([np.nan, 20.0], [10.0, np.nan])
    assert np.all(np.isnan(got))
