"""Delta T against published psychrometric values and humid-air libraries."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from forecaster.domain.air.delta_t import (
    FROST_AIR_WET_BULB,
    delta_t,
    delta_t_from_dew_point,
    wet_bulb,
)


def test_published_depressions(check_values: Any) -> None:
    """Delta T is the published wet-bulb depression, within the printed rounding."""
    for check in check_values("air_delta_t"):
        assert check.agrees(delta_t(**check.numbers())), check.label


def test_published_wet_bulbs(check_values: Any) -> None:
    """The wet bulb is that of published outputs, at several pressures."""
    for check in check_values("air_wet_bulb"):
        assert check.agrees(wet_bulb(**check.numbers())), check.label


def test_published_humidity_ratio(check_values: Any) -> None:
    """The wet bulb of the handbook's humidity ratio is the handbook's wet bulb."""
    for check in check_values("air_humidity_ratio"):
        dry, pressure = check.number("air_temperature"), check.number("pressure")
        ratio = check.number("humidity_ratio")
        vapour = ratio * pressure / (0.621945 + ratio)
        # Over the published saturation pressure at 30 °C, 42.47 hPa (ASHRAE 2017 ch. 1
        # table 3, from memory), good to 0.03 %.
        humidity = 100.0 * vapour / 42.47
        assert check.agrees(wet_bulb(dry, humidity, pressure)), check.label


def test_real_gas_library_on_a_dense_grid() -> None:
    """CoolProp's real-gas wet bulb is met within 0.05 K wherever it is above 1 °C."""
    from CoolProp.HumidAirProp import HAPropsSI

    temperature, humidity, pressure = (
        each.ravel()
        for each in np.meshgrid(
            np.linspace(-5.0, 45.0, 51),
            np.linspace(5.0, 100.0, 20),
            np.linspace(850.0, 1050.0, 5),
        )
    )
    kelvin, pascal = temperature + 273.15, pressure * 100.0
    reference = (
        HAPropsSI("Twb", "T", kelvin, "R", humidity / 100.0, "P", pascal) - 273.15
    )
    liquid = reference > FROST_AIR_WET_BULB
    assert liquid.sum() > 3500
    error = np.abs(wet_bulb(temperature, humidity, pressure) - reference)
    assert error[liquid].max() < 0.05


def test_handbook_library(psychrolib: Any) -> None:
    """PsychroLib's wet bulb, from the same handbook, is met within 0.002 K."""
    rng = np.random.default_rng(7)
    temperature = rng.uniform(5.0, 45.0, 300)
    humidity = rng.uniform(5.0, 100.0, 300)
    pressure = rng.uniform(850.0, 1050.0, 300)
    reference = np.array(
        [
            psychrolib.GetTWetBulbFromRelHum(t, h / 100.0, p * 100.0)
            for t, h, p in zip(temperature, humidity, pressure, strict=True)
        ]
    )
    liquid = reference > FROST_AIR_WET_BULB
    assert liquid.sum() > 200
    error = np.abs(wet_bulb(temperature, humidity, pressure) - reference)
    # PsychroLib stops its bisection at 0.001 K.
    assert error[liquid].max() < 0.002


def test_another_definition_is_near() -> None:
    """MetPy's moist-adiabatic wet bulb is another definition, yet within 1 K.

    Its documentation gives 20.3937601 °C for 32 °C, dew point 15 °C, 993 hPa.
    """
    assert 32.0 - delta_t_from_dew_point(32.0, 15.0, 993.0) == pytest.approx(
        20.3937601, abs=1.0
    )


def test_saturated_air_has_none() -> None:
    """At 100 % Delta T is exactly zero, and a rounding overshoot counts as 100."""
    temperature = np.linspace(-40.0, 60.0, 101)
    assert np.all(delta_t(temperature, 100.0, 1000.0) == 0.0)
    assert np.all(delta_t(temperature, 101.0, 1000.0) == 0.0)


@pytest.mark.parametrize("humidity", [-0.1, 101.1, np.nan, np.inf, -np.inf])
def test_impossible_humidity_is_unknown(humidity: float) -> None:
    """Humidity that cannot be gives NaN, never a number."""
    assert np.isnan(delta_t(20.0, humidity, 1000.0))


@pytest.mark.parametrize("pressure", [101.3, 101325.0, 0.0, np.nan, np.inf])
def test_wrong_unit_of_pressure_is_unknown(pressure: float) -> None:
    """Pressure in kPa or Pa, or none, gives NaN."""
    assert np.isnan(delta_t(20.0, 50.0, pressure))


@pytest.mark.parametrize("temperature", [-40.1, 60.1, 293.15, np.nan, np.inf])
def test_wrong_unit_of_temperature_is_unknown(temperature: float) -> None:
    """Temperature in kelvin, or none, gives NaN."""
    assert np.isnan(delta_t(temperature, 50.0, 1000.0))


def test_bone_dry_air_has_a_wet_bulb() -> None:
    """At 0 % the library wet bulb is met: there is no humidity it cannot take."""
    from CoolProp.HumidAirProp import HAPropsSI

    kelvin = HAPropsSI("Twb", "T", 313.15, "R", 0.0, "P", 101325.0)
    assert wet_bulb(40.0, 0.0, 1013.25) == pytest.approx(kelvin - 273.15, abs=0.05)


def test_dew_point_and_humidity_are_one_door(psychrolib: Any) -> None:
    """The dew point PsychroLib gives for a humidity leads to that humidity's value."""
    dew = psychrolib.GetTDewPointFromRelHum(25.0, 0.5)
    from_dew_point = delta_t_from_dew_point(25.0, dew, 1013.25)
    assert from_dew_point == pytest.approx(25.0 - 17.889432, abs=0.002)


def test_dew_point_above_the_air() -> None:
    """A dew point a hair above the air is saturated air; well above it is unknown."""
    assert delta_t_from_dew_point(20.0, 20.1, 1000.0) == 0.0
    assert np.isnan(delta_t_from_dew_point(20.0, 21.0, 1000.0))


def test_shapes_broadcast() -> None:
    """Members, hours and one pressure broadcast; nothing at all is fine too."""
    temperature = np.full((3, 1), 25.0)
    humidity = np.full(4, 50.0)
    assert delta_t(temperature, humidity, 1013.25).shape == (3, 4)
    assert delta_t(np.empty(0), np.empty(0), 1013.25).shape == (0,)
