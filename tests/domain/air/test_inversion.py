"""The inversion rule: worked cases, edges of its phases and missing inputs.

Sources and marks of the thresholds are in docs/method/inversion.md; the cases here are
worked by hand from the rule written there.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from forecaster.domain.air.class_tables import Ceiling
from forecaster.domain.air.inversion import HIGH, LOW, MODERATE, HourAir, risk
from forecaster.domain.air.stability import (
    insolation_class,
    net_radiation_index,
    turner_class,
)

KMH = 1.0 / 3.6
NAN = float("nan")


def _air(**changes: Any) -> HourAir:
    """A settled midday hour, with what a test changes."""
    settled: dict[str, Any] = {
        "wind_speed": 12 * KMH,
        "air_temperature": 22.0,
        "air_temperature_80m": 20.4,
        "dew_point": 10.0,
        "cloud": 0.2,
        "low_cloud": 0.1,
        "radiation": 850.0,
        "rain": 0.0,
        "elevation": 60.0,
        "hours_since_sunrise": 6.0,
        "hours_since_sunset": 17.0,
        "hours_to_sunset": 7.0,
        "windy_night": False,
        "risen": 3.0,
        "hollow": False,
    }
    values = settled | changes
    return HourAir(**{name: np.asarray(value) for name, value in values.items()})


def _night(**changes: Any) -> HourAir:
    """A windy overcast night hour, with what a test changes."""
    night: dict[str, Any] = {
        "wind_speed": 16 * KMH,
        "air_temperature": 12.0,
        "air_temperature_80m": 11.3,
        "dew_point": 8.0,
        "cloud": 1.0,
        "low_cloud": 1.0,
        "radiation": 0.0,
        "elevation": -40.0,
        "hours_since_sunrise": 20.0,
        "hours_since_sunset": 8.0,
        "hours_to_sunset": 14.0,
        "windy_night": True,
    }
    return _air(**(night | changes))


def _evening(**changes: Any) -> HourAir:
    """A well-mixed hour that ends 1.5 h before sunset."""
    evening: dict[str, Any] = {
        "wind_speed": 13 * KMH,
        "air_temperature": 21.0,
        "air_temperature_80m": 20.1,
        "radiation": 250.0,
        "elevation": 14.0,
        "hours_since_sunrise": 11.0,
        "hours_since_sunset": 22.0,
        "hours_to_sunset": 1.5,
    }
    return _air(**(evening | changes))


def _morning(**changes: Any) -> HourAir:
    """A well-mixed hour that starts 1.5 h after sunrise."""
    morning: dict[str, Any] = {
        "wind_speed": 13 * KMH,
        "air_temperature": 13.0,
        "air_temperature_80m": 12.1,
        "radiation": 280.0,
        "elevation": 17.0,
        "hours_since_sunrise": 1.5,
        "hours_since_sunset": 13.0,
        "hours_to_sunset": 10.5,
    }
    return _air(**(morning | changes))


def _worked(check: Any) -> HourAir:
    return _air(
        wind_speed=check.number("wind") * KMH,
        air_temperature=check.number("t2"),
        air_temperature_80m=check.number("t80"),
        dew_point=check.number("t2") - 5.0,
        cloud=check.number("cloud"),
        low_cloud=check.number("low"),
        radiation=check.number("rad"),
        elevation=check.number("sun"),
        hours_since_sunrise=check.number("since_rise"),
        hours_since_sunset=check.number("since_set"),
        hours_to_sunset=check.number("to_set"),
        windy_night=bool(check.number("windy")),
    )


def test_worked_cases(check_values: Any) -> None:
    """The twelve worked hours get their risk."""
    checks = check_values("air_inversion_risk")
    assert len(checks) == 12
    for check in checks:
        assert check.agrees(risk(_worked(check))), check.label


def test_worked_gradients_and_classes(check_values: Any) -> None:
    """The gradient and Turner class written beside each worked hour are right."""
    for check in check_values("air_inversion_risk"):
        warmer = check.number("t80") - check.number("t2")
        assert 100 * warmer / 78 == pytest.approx(check.number("gradient"), abs=0.006)
        rise, down = check.number("since_rise"), check.number("since_set")
        night = down < rise or rise <= 1 or check.number("to_set") <= 1
        low = check.number("low") >= 7 / 8
        index = net_radiation_index(
            insolation_class(check.number("sun")),
            check.number("cloud"),
            Ceiling.LOW if low else Ceiling.HIGH,
            night=night,
        )
        letter = "ABCDEFG"[int(turner_class(check.number("wind") * KMH, index)) - 1]
        assert letter == check.inputs["turner"], check.label


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, LOW),
        ({"low_cloud": 7 / 8}, LOW),
        ({"low_cloud": 0.8}, MODERATE),
        ({"low_cloud": 0.8, "rain": 0.2}, LOW),
        ({"low_cloud": 0.8, "rain": 0.1}, MODERATE),
        ({"windy_night": False}, MODERATE),
        ({"wind_speed": 10 * KMH}, MODERATE),
        ({"windy_night": False, "low_cloud": 0.5, "cloud": 0.9}, HIGH),
        ({"low_cloud": 0.0, "cloud": 0.41}, MODERATE),
        ({"low_cloud": 0.0, "cloud": 0.4}, HIGH),
        # Turner's E: more than 4/10 cloud, not overcast, under 3.4 m/s.
        ({"cloud": 0.9, "low_cloud": 0.9, "wind_speed": 3.1}, MODERATE),
        ({"cloud": 0.9, "low_cloud": 0.9, "wind_speed": 3.4}, LOW),
        ({"air_temperature_80m": 13.3}, MODERATE),
        ({"air_temperature_80m": 13.1}, LOW),
        ({"wind_speed": 2 * KMH}, HIGH),
        ({"hollow": True}, MODERATE),
        ({"cloud": NAN}, MODERATE),
        ({"low_cloud": NAN}, MODERATE),
        ({"cloud": NAN, "low_cloud": NAN}, HIGH),
        ({"air_temperature_80m": NAN, "radiation": NAN}, LOW),
        ({"dew_point": NAN}, LOW),
        ({"wind_speed": 5 * KMH, "dew_point": 11.0}, HIGH),
        ({"wind_speed": 5 * KMH, "dew_point": 10.9}, MODERATE),
    ],
)
def test_night(changes: dict[str, Any], expected: float) -> None:
    """At night only cloud and steady wind together lower the risk to low."""
    assert risk(_night(**changes)) == expected


@pytest.mark.parametrize("cloud", [0.0, 0.2, 0.4])
@pytest.mark.parametrize("low_cloud", [0.0, 1.0, NAN])
def test_a_clear_night_is_never_low(cloud: float, low_cloud: float) -> None:
    """Under 4/10 cloud no wind, rain or gradient makes a night low."""
    air = _night(cloud=cloud, low_cloud=low_cloud, rain=5.0, wind_speed=20.0)
    assert risk(air) >= MODERATE


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, LOW),
        ({"wind_speed": 10.9 * KMH}, MODERATE),
        ({"radiation": 174.0}, MODERATE),
        ({"radiation": NAN}, MODERATE),
        ({"air_temperature_80m": 20.3}, MODERATE),
        ({"air_temperature_80m": NAN}, MODERATE),
        ({"air_temperature_80m": 20.7}, HIGH),
        ({"wind_speed": 2.9 * KMH}, HIGH),
        ({"risen": 9.0, "air_temperature_80m": 20.3}, MODERATE),
        ({"hollow": True}, LOW),
        ({"hollow": True, "radiation": 174.0}, HIGH),
    ],
)
def test_evening_shoulder(changes: dict[str, Any], expected: float) -> None:
    """Before the night the hour is moderate unless wind, sun and lapse show mixing."""
    assert risk(_evening(**changes)) == expected


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, LOW),
        ({"wind_speed": 8 * KMH}, MODERATE),
        ({"wind_speed": 8 * KMH, "risen": 6.0}, LOW),
        ({"wind_speed": 6 * KMH, "risen": 6.0}, LOW),
        ({"wind_speed": 5.9 * KMH, "risen": 6.0}, MODERATE),
        ({"wind_speed": 8 * KMH, "risen": 5.9}, MODERATE),
        ({"wind_speed": 8 * KMH, "risen": NAN}, MODERATE),
        ({"risen": 8.0, "air_temperature_80m": 13.0}, HIGH),
        ({"risen": 8.0, "air_temperature_80m": NAN, "radiation": NAN}, LOW),
    ],
)
def test_morning_shoulder(changes: dict[str, Any], expected: float) -> None:
    """After the night warming by 6 K with some wind also shows the air mixed."""
    assert risk(_morning(**changes)) == expected


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, LOW),
        ({"wind_speed": 2.9 * KMH}, MODERATE),
        ({"air_temperature_80m": 21.7}, MODERATE),
        ({"air_temperature_80m": 22.1}, MODERATE),
        ({"air_temperature_80m": 22.1, "wind_speed": 10 * KMH}, HIGH),
        ({"wind_speed": 5 * KMH, "dew_point": 21.0}, MODERATE),
        ({"wind_speed": 7 * KMH, "dew_point": 21.0}, LOW),
        ({"hollow": True}, LOW),
        ({"hollow": True, "wind_speed": 10 * KMH}, MODERATE),
        ({"air_temperature_80m": NAN}, LOW),
        ({"air_temperature_80m": NAN, "wind_speed": 10 * KMH}, LOW),
        (
            {"air_temperature_80m": NAN, "wind_speed": 10 * KMH, "radiation": 150.0},
            MODERATE,
        ),
        ({"air_temperature_80m": NAN, "radiation": NAN}, LOW),
        (
            {"air_temperature_80m": NAN, "radiation": NAN, "wind_speed": 10 * KMH},
            MODERATE,
        ),
    ],
)
def test_day(changes: dict[str, Any], expected: float) -> None:
    """By day the risk is low unless calm, not lapsing, or weakly lit and unproved."""
    assert risk(_air(**changes)) == expected


def test_edges_of_the_evening() -> None:
    """2 h before sunset the shoulder starts, 1 h before it the night."""
    air = _evening(wind_speed=8 * KMH, hours_to_sunset=[2.1, 2.0, 1.1, 1.0, 0.0, -0.5])
    assert risk(air).tolist() == [LOW, MODERATE, MODERATE, HIGH, HIGH, HIGH]


def test_edges_of_the_morning() -> None:
    """The night ends 1 h after sunrise; the shoulder waits for the sun, but not on."""
    hours = [0.5, 1.0, 1.1, 2.0, 2.1, 4.0, 4.1]
    low_sun = _morning(wind_speed=8 * KMH, elevation=15.0, hours_since_sunrise=hours)
    expected = [HIGH, HIGH, MODERATE, MODERATE, MODERATE, MODERATE, LOW]
    assert risk(low_sun).tolist() == expected
    high_sun = replace(low_sun, elevation=np.asarray(20.0))
    expected = [HIGH, HIGH, MODERATE, MODERATE, LOW, LOW, LOW]
    assert risk(high_sun).tolist() == expected
    unknown_sun = replace(low_sun, elevation=np.asarray(NAN))
    assert risk(unknown_sun).tolist() == risk(low_sun).tolist()


def test_unknown_wind_is_unknown() -> None:
    """Without the wind nothing is said, whatever else is known."""
    for build in (_air, _night, _evening, _morning):
        assert np.isnan(risk(build(wind_speed=NAN)))


@pytest.mark.parametrize(
    "name", ["hours_since_sunrise", "hours_since_sunset", "hours_to_sunset"]
)
def test_unknown_clock_counts_as_night(name: str) -> None:
    """An hour whose place in the day is unknown gets the night's caution."""
    assert risk(_air(**{name: NAN})) == HIGH


def test_unknown_temperature_is_not_reassuring() -> None:
    """Without the air temperature no gradient and no warming can lower the risk."""
    air = _morning(air_temperature=NAN, risen=NAN)
    assert risk(air) == MODERATE
