"""Flags go with their rows through every join, cut and fill between file and page."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from forecaster.domain.marks import Marks
from forecaster.domain.place import Place
from forecaster.domain.quality.flags import Flag
from forecaster.domain.sourced import Mark, Sourced
from forecaster.domain.spraying.hours import judge
from forecaster.domain.spraying.limits import Limit, Quantity, Rank, Side
from forecaster.domain.weather import (
    HOUR,
    Origin,
    Provenance,
    WeatherFrame,
    empty_columns,
)
from forecaster.service.refusals import refused_values
from forecaster.service.station import laid_over
from forecaster.service.weather import replayed, with_pressure

NAN = np.nan
START = np.datetime64("2026-10-12T00:00", "s")
HILL = Place(-37.6, 143.9, 420.0, "Australia/Melbourne")


def table(first: int, air: list[float], given: list[float]) -> WeatherFrame:
    """Hours from ``first`` on; winds beside which a number stands were refused."""
    stood = np.array(given, np.float64)
    bits = np.where(np.isnan(stood), 0, int(Flag.OUT_OF_RANGE)).astype(np.uint16)
    columns = empty_columns(len(air)) | {"air_temperature": np.array(air, np.float64)}
    return WeatherFrame(
        time=START + (first + np.arange(len(air))) * HOUR,
        **columns,
        origin=np.full(len(air), Origin.OBSERVED, np.uint8),
        provenance=Provenance("a test", "none", START),
        marks={"wind_speed": Marks(bits, stood)},
    )


def test_a_station_laid_over_a_service_brings_its_flags() -> None:
    """Row by row: the station's where it knows the temperature, else the service's.

    Hours 0 to 3 of the service, 2 to 5 of the station; of hour 3 the station lost the
    temperature, so that its row, refused wind and all, is not used.
    """
    service = table(0, [1, 2, 3, 4], [50, NAN, 60, 70])
    station = table(2, [5, NAN, 6, 7], [NAN, 80, NAN, 90])
    joined = laid_over(service, station)
    np.testing.assert_array_equal(joined.air_temperature, [1, 2, 5, 4, 6, 7])
    wind = joined.marks_of("wind_speed")
    np.testing.assert_array_equal(wind.given, [50, NAN, NAN, 70, NAN, 90])
    assert (wind.bits != 0).tolist() == [True, False, False, True, False, True]


def test_flags_of_either_table_are_kept_where_the_other_has_none() -> None:
    """A column only one of them says anything about."""
    bare = replace(table(0, [1, 2], [NAN, NAN]), marks={})
    for joined in (
        laid_over(bare, table(1, [3, 4], [50, NAN])),
        laid_over(table(1, [3, 4], [50, NAN]), bare.between(START, START + HOUR)),
    ):
        wind = joined.marks_of("wind_speed")
        np.testing.assert_array_equal(wind.given, [NAN, 50, NAN])


def test_a_replayed_record_keeps_its_flags() -> None:
    """Before and after the moment it is cut at."""
    frame = table(0, [1, 2, 3], [50, NAN, 60])
    again = replayed(frame, START + HOUR)
    np.testing.assert_array_equal(again.marks_of("wind_speed").given, [50, NAN, 60])


@pytest.mark.parametrize("bare", [True, False])
def test_only_unknown_hours_name_refused_values(*, bare: bool) -> None:
    """Two hours lack a wind: one was refused, the other never measured."""
    frame = replace(
        table(0, [1, 2, 3], [NAN, 50, NAN]), wind_speed=np.array([4, NAN, NAN])
    )
    frame = replace(frame, marks={}) if bare else frame
    number = Sourced(5.0, "m/s", 5.0, 5.0, "a test", "a page", Mark.USER)
    limit = Limit("a", Quantity.WIND_10M, Side.MAX, 5.0, number, Rank.LAW, "a", 1.0)
    judgement = judge(frame.time[1:], frame.wind_speed[None, 1:], [limit])
    found = refused_values(frame, judgement)
    assert [[each.given for each in hour] for hour in found] == [
        [] if bare else [50],
        [],
    ]


def test_a_pressure_from_the_elevation_is_marked() -> None:
    """The standard atmosphere at 420 m as pvlib computes it; other flags stay.

    An hour without a temperature gets none.
    """
    from pvlib.atmosphere import alt2pres

    frame = table(0, [1, NAN, 3], [50, NAN, NAN])
    frame = replace(frame, pressure=np.array([NAN, NAN, 970.0]))
    filled = with_pressure(frame, HILL)
    np.testing.assert_allclose(
        filled.pressure, [alt2pres(420.0) / 100, NAN, 970.0], atol=0.1
    )
    said = filled.marks_of("pressure")
    assert said.bits.tolist() == [int(Flag.WORKED_OUT), 0, 0]
    assert np.isnan(said.given).all()
    assert filled.marks_of("wind_speed").given[0] == 50
    assert with_pressure(filled.between(START, START + HOUR), HILL).marks.keys() == {
        "pressure",
        "wind_speed",
    }
