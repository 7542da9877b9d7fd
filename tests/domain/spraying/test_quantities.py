"""What an hour is measured by, worked by hand on short tables."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from forecaster.domain.place import Place
from forecaster.domain.sourced import Mark, Sourced
from forecaster.domain.spraying import quantities
from forecaster.domain.spraying.limits import Limit, Quantity, Rank, Side
from forecaster.domain.spraying.quantities import Exposure
from forecaster.domain.weather import (
    QUANTITIES,
    Origin,
    Provenance,
    WeatherFrame,
    empty_columns,
)

NAN = math.nan
HAMILTON = Place(-37.65, 142.06, 200.0, "Australia/Melbourne")
NOTHING_NEAR = Exposure(np.zeros(360, dtype=bool))
NORTH_WIND_BARRED = np.zeros(360, dtype=bool)
NORTH_WIND_BARRED[[350, 359, 0, 10]] = True


def frame(
    hours: int = 6, start: str = "2026-10-12T00", **columns: object
) -> WeatherFrame:
    """A mild, dry, breezy day; any column may be given."""
    time = np.datetime64(start, "s") + np.arange(hours) * np.timedelta64(3600, "s")
    values = empty_columns(hours)
    mild = {
        "air_temperature": 18.0,
        "relative_humidity": 50.0,
        "pressure": 1000.0,
        "wind_speed": 3.5,
        "wind_from": 0.0,
        "rain": 0.0,
    }
    for name, value in {**mild, **columns}.items():
        values[name] = np.broadcast_to(np.asarray(value, float), (hours,)).copy()
    assert set(values) == set(QUANTITIES)
    return WeatherFrame(
        time=time,
        **values,
        origin=np.full(hours, Origin.FORECAST, dtype=np.uint8),
        provenance=Provenance("a test", "none", np.datetime64("2026-10-11T18:00", "s")),
        marks={},
    )


@pytest.mark.parametrize(
    ("rain", "needed", "expected"),
    [
        # one dry hour, then rain: fewer than two, and it is known
        ([0, 0, 1, 0, 0, 0], 2, [1, 0, 0, 2, NAN, NAN]),
        # dry to the end: enough where the end is far enough away, else not known
        ([0, 0, 0, 0, 0, 0], 3, [5, 4, 3, NAN, NAN, NAN]),
        # an unknown hour ends what is known; rain after it is too late to matter
        ([0, 0, NAN, 0, 1, 0], 1, [1, NAN, NAN, 0, 0, NAN]),
        # unknown, but rain comes before three dry hours whatever it held
        ([0, NAN, 1, 0, 0, 0], 3, [1, NAN, 0, NAN, NAN, NAN]),
        # 0.1 mm is no rain, 0.2 mm is
        ([0, 0.1, 0.2, 0, 0, 0], 1, [1, 0, 0, 2, 1, NAN]),
        # nothing needed: only rain in the hour itself counts
        ([1, 0, 0, 0, 0, 0], 0, [0, 4, 3, 2, 1, 0]),
    ],
)
def test_rain_free_hours(
    rain: list[float], needed: float, expected: list[float]
) -> None:
    """Dry hours afterwards, counted by hand."""
    found = quantities.rain_free_hours(np.array(rain, float), needed)
    np.testing.assert_array_equal(found, expected)


def test_wind_side_bars_the_sides_that_carry_drift_over() -> None:
    """North wind is barred, east wind is not, a missing side is not known."""
    exposure = Exposure(NORTH_WIND_BARRED)
    found = quantities.wind_side(frame(3, wind_from=[359.6, 90.0, NAN]), exposure)
    np.testing.assert_array_equal(found, [1.0, 0.0, NAN])


def test_nothing_near_means_no_side_is_barred() -> None:
    """Even where the side is missing."""
    found = quantities.wind_side(frame(2, wind_from=NAN), NOTHING_NEAR)
    np.testing.assert_array_equal(found, [0.0, 0.0])
    light = quantities.light_wind_side(frame(2, wind_speed=1.0), NOTHING_NEAR)
    np.testing.assert_array_equal(light, [0.0, 0.0])


def test_unsurveyed_surroundings_are_not_known() -> None:
    """Nobody has said what lies around: the side cannot be judged."""
    unknown = Exposure(np.zeros(360, dtype=bool), known=False)
    assert np.isnan(quantities.wind_side(frame(2), unknown)).all()


def test_below_three_metres_a_second_every_side_may_be_downwind() -> None:
    """3 m/s is steady enough, 2.99 is not, a missing wind is not known."""
    exposure = Exposure(NORTH_WIND_BARRED)
    found = quantities.light_wind_side(frame(3, wind_speed=[2.99, 3.0, NAN]), exposure)
    np.testing.assert_array_equal(found, [1.0, 0.0, NAN])


def test_lowest_in_last_is_told_only_where_it_can_be() -> None:
    """Two hours back and now; a gap leaves it unknown unless it was cold already."""
    temperature = np.array([5.0, 1.0, 4.0, NAN, 6.0, 7.0, 8.0])
    found = quantities.lowest_in_last(temperature, 2, 2.0)
    np.testing.assert_array_equal(found, [NAN, 1.0, 1.0, 1.0, NAN, NAN, 6.0])


def test_rain_in_last_is_told_only_where_it_can_be() -> None:
    """Two hours before; a gap leaves it unknown unless enough had fallen already."""
    fall = np.array([5.0, 0.0, NAN, 9.0, 1.0, 2.0])
    found = quantities.rain_in_last(fall, 2, 8.0)
    np.testing.assert_array_equal(found, [NAN, NAN, 5.0, NAN, 9.0, 10.0])


def test_weather_age_counts_from_the_issue_and_only_for_forecasts() -> None:
    """Issued 18:00, now 00:00: 6 h; observed hours have no age."""
    table = frame(2)
    now = table.time[0]
    np.testing.assert_array_equal(quantities.weather_age(table, now), [6.0, 6.0])
    seen = replace(table, origin=np.array([Origin.OBSERVED, Origin.FORECAST], np.uint8))
    np.testing.assert_array_equal(quantities.weather_age(seen, now), [0.0, 6.0])


def test_an_unknown_issue_time_makes_the_age_unknown() -> None:
    """Without an issue time a forecast's age is NaN, so its hours are unknown."""
    table = frame(2)
    unissued = replace(
        table, provenance=replace(table.provenance, issued=np.datetime64("NaT", "s"))
    )
    assert np.isnan(quantities.weather_age(unissued, table.time[0])).all()


def test_each_limit_gets_the_quantity_it_names() -> None:
    """Values stack in the order of the limits, whatever they measure."""
    number = Sourced(1, "1", 1, 1, "a test", "a page", Mark.ASSUMED)

    def of(quantity: Quantity, bound: float, horizon: float = 0.0) -> Limit:
        return Limit(
            quantity.value, quantity, Side.MAX, bound, number, Rank.ADVICE, "w", 1.0,
            horizon=horizon,
        )  # fmt: skip

    table = frame(6, rain_chance=[0, 10, 80, 0, 0, 0], wind_from=0.0, wind_speed=2.0)
    air = quantities.measure(table, HAMILTON, table.time[0])
    limits = [
        of(Quantity.WIND_10M, 5.0),
        of(Quantity.RAIN_FREE_HOURS, 2.0),
        of(Quantity.RAIN_CHANCE_AHEAD, 20.0, horizon=1.0),
        of(Quantity.WIND_SIDE, 1.0),
        of(Quantity.LIGHT_WIND_SIDE, 1.0),
        of(Quantity.SUN_ELEVATION, 0.0),
        of(Quantity.RAIN_LAST_24H, 10.0),
        of(Quantity.RAIN_LAST_72H, 25.0),
        of(Quantity.LOWEST_TEMPERATURE_48H, 20.0),
    ]
    found = quantities.values(air, limits, Exposure(NORTH_WIND_BARRED))
    np.testing.assert_array_equal(found[0], np.full(6, 2.0))
    np.testing.assert_array_equal(found[1], [5, 4, 3, 2, NAN, NAN])
    np.testing.assert_array_equal(found[2][:3], [10.0, 80.0, 80.0])
    np.testing.assert_array_equal(found[3], np.ones(6))
    np.testing.assert_array_equal(found[4], np.ones(6))
    # 00:00 UTC is 10 in the morning at Hamilton, Victoria: the sun is well up.
    assert found[5][0] > 30.0
    assert np.isnan(found[6:8]).all()
    np.testing.assert_array_equal(found[8], np.full(6, 18.0))


def test_wind_at_two_metres_is_the_neutral_log_law_over_grass() -> None:
    """Ratio 0.723 at z0 = 0.03 m: ln(2/0.03) / ln(10/0.03)."""
    table = frame(1, wind_speed=10.0)
    air = quantities.measure(table, HAMILTON, table.time[0])
    expected = 10.0 * math.log(2 / 0.03) / math.log(10 / 0.03)
    assert air.measured[Quantity.WIND_2M][0] == pytest.approx(expected)


def test_a_missing_hour_of_rain_leaves_wet_leaves_unknown() -> None:
    """The last two hours must both be known."""
    table = frame(4, rain=[5.0, NAN, 1.0, 0.0])
    air = quantities.measure(table, HAMILTON, table.time[0])
    assert np.isnan(air.measured[Quantity.RAIN_LAST_2H][3])


def test_an_ensemble_is_measured_member_by_member() -> None:
    """Every quantity has the shape of the table, and each row is as if alone."""
    single = frame(30, wind_speed=4.0)
    members = WeatherFrame(
        time=single.time,
        **{
            n: np.stack([getattr(single, n), getattr(single, n) + 1])
            for n in QUANTITIES
        },
        origin=single.origin,
        provenance=single.provenance,
        marks={},
    )
    number = Sourced(1, "1", 1, 1, "a test", "a page", Mark.ASSUMED)
    limits = [
        Limit(q.value, q, Side.MAX, 5.0, number, Rank.ADVICE, "w", 1.0, horizon=2.0)
        for q in Quantity
    ]
    exposure = Exposure(NORTH_WIND_BARRED)
    together = quantities.values(
        quantities.measure(members, HAMILTON, single.time[0]), limits, exposure
    )
    alone = quantities.values(
        quantities.measure(single, HAMILTON, single.time[0]), limits, exposure
    )
    assert together.shape == (2, len(limits), 30)
    np.testing.assert_array_equal(together[0], alone)
