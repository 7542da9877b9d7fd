"""Thermal time against published figures, closed forms and two libraries."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pytest

from forecaster.domain.growth.thermal_time import (
    DENVER_150CM,
    Lags,
    daily_thermal_time,
    daily_thermal_time_from_extremes,
    hourly_from_extremes,
    response,
)

Rows = Callable[[str], list[Any]]


def sine_day(low: float, high: float, instants: int) -> np.ndarray:
    """A day that swings evenly between its extremes."""
    turn = 2 * np.pi * (np.arange(instants) + 0.5) / instants
    return (low + high) / 2 + (high - low) / 2 * np.sin(turn)


def baskerville_emin(low: float, high: float, base: float) -> float:
    """Degree-days of a sine day above a base it crosses, in closed form.

    Baskerville & Emin 1969, Ecology 50:514–517 (published; formula from memory).
    """
    mean, swing = (low + high) / 2, (high - low) / 2
    angle = np.arcsin((base - mean) / swing)
    area = (mean - base) * (np.pi / 2 - angle) + swing * np.cos(angle)
    return float(area / np.pi)


def test_response_matches_published_sine_days(check_values: Rows) -> None:
    """The mean response of a finely cut sine day gives TrenchR's printed values."""
    for row in check_values("growth_sine_days"):
        low, high, base, ceiling = (
            float(row.inputs[key]) for key in ("minimum", "maximum", "base", "ceiling")
        )
        found = response(sine_day(low, high, 20_000), base, ceiling).mean()
        assert found == pytest.approx(float(row.expected), abs=row.tolerance), row


@pytest.mark.parametrize(
    ("low", "high", "base"), [(-2, 10, 0), (-4, 8, 0), (2, 16, 5), (3, 20, 5)]
)
def test_response_matches_the_closed_form(low: float, high: float, base: float) -> None:
    """Below any ceiling the mean response is Baskerville and Emin's closed form."""
    found = response(sine_day(low, high, 20_000), base, 60.0).mean()
    assert found == pytest.approx(baskerville_emin(low, high, base), abs=1e-5)


@pytest.mark.parametrize(("low", "high"), [(-2, 10), (2, 16), (10, 30), (12, 36)])
def test_24_hours_are_fine_enough(low: float, high: float) -> None:
    """Twenty-four instants give the finely cut day within 0.1 °C d."""
    coarse = daily_thermal_time(sine_day(low, high, 24), 0.0, 26.0)
    fine = response(sine_day(low, high, 20_000), 0.0, 26.0).mean()
    assert coarse == pytest.approx(fine, abs=0.1)


def test_mean_days_match_published_tables(check_values: Rows) -> None:
    """Days of one temperature give the printed degree-day tables."""
    for row in check_values("growth_mean_days"):
        means = np.array([float(part) for part in row.inputs["fahrenheit"].split(",")])
        hours = np.repeat((means - 32) / 1.8, 24)
        base = (float(row.inputs["base_f"]) - 32) / 1.8
        found = daily_thermal_time(hours, base, 60.0).sum()
        assert found == pytest.approx(float(row.expected), abs=row.tolerance), row


@pytest.fixture
def units_put_back() -> Iterator[None]:
    """Pint's registry as it was: xclim makes its own that of the whole process.

    MetPy's constants stay in the registry they were made in, so that MetPy can no
    longer reckon with them once another library has changed it.
    """
    import pint

    shared: Any = pint.application_registry
    before = shared.get()
    yield
    shared.set(before)


# xclim reads a pandas name that pandas is about to drop; not ours to mend.
@pytest.mark.filterwarnings("ignore:The 'name' property is deprecated")
@pytest.mark.usefixtures("units_put_back")
def test_agrees_with_xclim() -> None:
    """On days of one temperature the season's sum is xclim's growing degree-days."""
    import pandas as pd
    import xarray as xr
    from xclim.indices import growing_degree_days

    means = np.random.default_rng(4).uniform(-5, 30, 180)
    series = xr.DataArray(
        means,
        dims="time",
        coords={"time": pd.date_range("2025-07-01", periods=180)},
        attrs={"units": "degC"},
    )
    expected = growing_degree_days(series, thresh="5 degC").item()
    hours = np.repeat(means[:, None], 24, axis=1)
    assert daily_thermal_time(hours, 5.0, 60.0).sum() == pytest.approx(expected)


@pytest.mark.usefixtures("pcse")
def test_agrees_with_pcse_response() -> None:
    """The response is WOFOST's table 0→0, 26→26, flat above."""
    from pcse.util import Afgen

    table = Afgen([0.0, 0.0, 26.0, 26.0, 45.0, 26.0])
    temperature = np.linspace(-10, 44, 217)
    expected = [table(each) for each in temperature.tolist()]
    np.testing.assert_allclose(response(temperature, 0.0, 26.0), expected, atol=1e-12)


def test_daily_curve_matches_published_values(check_values: Rows) -> None:
    """The hourly curve gives TrenchR's sine-exponential values."""
    for row in check_values("growth_daily_curve"):
        at = {key: float(value) for key, value in row.inputs.items()}
        days = np.ones(3)
        hourly = hourly_from_extremes(
            at["maximum"] * days,
            at["minimum"] * days,
            sunrise=at["sunrise"] * days,
            sunset=at["sunset"] * days,
            lags=Lags(at["lag_maximum"], at["lag_minimum"], at["decay"]),
        )
        found = hourly[1, int(at["hour"])]
        assert found == pytest.approx(float(row.expected), abs=row.tolerance), row


def test_night_falls_towards_the_next_morning() -> None:
    """A warm evening before a cold morning cools towards that morning's minimum."""
    hourly = hourly_from_extremes(
        np.array([20.0, 20.0]),
        np.array([10.0, 0.0]),
        sunrise=np.array([6.0, 6.0]),
        sunset=np.array([18.0, 18.0]),
    )
    assert hourly[0, 23] < 10.0
    assert hourly[1, 0] < hourly[0, 23]
    # Half past three of a 5–20 °C night is near 7 °C with the lags the right way
    # round and near 12 °C with them as misprinted (derived).
    steady = hourly_from_extremes(
        np.full(3, 20.0),
        np.full(3, 5.0),
        sunrise=np.full(3, 6.0),
        sunset=np.full(3, 18.0),
        lags=DENVER_150CM,
    )
    assert steady[1, 3] < 8.0


def test_missing_extremes_stay_missing() -> None:
    """A day without its maximum is NaN, and so are nights that rest on it."""
    maximum = np.full(5, 20.0)
    maximum[2] = np.nan
    daily = daily_thermal_time_from_extremes(
        maximum,
        np.full(5, 5.0),
        0.0,
        26.0,
        sunrise=np.full(5, 6.5),
        sunset=np.full(5, 17.5),
    )
    # Day 1 ends on its own sunset and day 2's minimum, both known.
    assert np.isnan(daily).tolist() == [False, False, True, True, False]


def test_a_day_needs_twenty_hours() -> None:
    """With four hours missing the others speak for the day; with five it is NaN."""
    day = np.full((2, 24), 10.0)
    day[0, :4] = np.nan
    day[1, :5] = np.nan
    found = daily_thermal_time(day, 0.0, 26.0)
    assert found[0] == 10.0
    assert np.isnan(found[1])


def test_flat_and_folded_hours_agree() -> None:
    """(traces, 24 × days) and (traces, days, 24) give the same days."""
    hours = np.random.default_rng(1).uniform(-5, 35, (3, 48))
    flat = daily_thermal_time(hours, 0.0, 26.0)
    folded = daily_thermal_time(hours.reshape(3, 2, 24), 0.0, 26.0)
    np.testing.assert_array_equal(flat, folded)


@pytest.mark.parametrize("shape", [(), (25,), (2, 30)])
def test_odd_hours_are_refused(shape: tuple[int, ...]) -> None:
    """Hours that do not make whole days are an error."""
    with pytest.raises(ValueError, match="whole days"):
        daily_thermal_time(np.zeros(shape), 0.0, 26.0)


def test_a_ceiling_below_the_base_is_refused() -> None:
    """A response with no rise is an error."""
    with pytest.raises(ValueError, match="above base"):
        response(np.array([10.0]), 5.0, 5.0)
