"""MET Norway's forecast: steps, periods that begin at their label, what is left out.

Shapes: MET Norway, "General point forecast JSON format" and "Locationforecast data
model".
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from forecaster.domain.place import Place
from forecaster.errors import RefusedError, UnusableError
from forecaster.sources import metno

if TYPE_CHECKING:
    from collections.abc import Callable

    from forecaster.domain.weather import WeatherFrame
    from forecaster.sources.request import Parsed
    from tests.adapters.services.conftest import Case


def frame_of(parsed: Parsed) -> WeatherFrame:
    """The table, which must be there."""
    assert parsed.frame is not None
    return parsed.frame


def steps(document: Any) -> list[Any]:
    """The steps of a document."""
    found: list[Any] = document["properties"]["timeseries"]
    return found


def instant(document: Any, at: int) -> dict[str, Any]:
    """The details of a step's instant."""
    found: dict[str, Any] = steps(document)[at]["data"]["instant"]["details"]
    return found


def test_each_step_stands_in_its_own_row(norway: Case) -> None:
    """A plain walk over the document finds every value at its time."""
    frame = frame_of(norway.read(norway.body))
    seen = 0
    for step in steps(norway.document):
        row = int(np.flatnonzero(frame.time == np.datetime64(step["time"][:-1]))[0])
        details = step["data"]["instant"]["details"]
        assert frame.air_temperature[row] == details["air_temperature"]
        assert frame.wind_speed[row] == details["wind_speed"]
        assert frame.wind_from[row] == details["wind_from_direction"]
        assert frame.cloud[row] == pytest.approx(details["cloud_area_fraction"] / 100)
        ahead = step["data"].get("next_1_hours")
        if ahead:
            assert frame.rain[row] == ahead["details"]["precipitation_amount"]
            seen += 1
        else:
            assert np.isnan(frame.rain[row])
    assert seen == 59


def test_after_the_switch_rows_between_steps_are_empty(norway: Case) -> None:
    """59 hourly steps, then every 6 h; nothing is drawn in or spread."""
    parsed = norway.read(norway.body)
    frame = frame_of(parsed)
    switch = np.datetime64("2026-09-17T07:00")
    np.testing.assert_array_equal(frame.native_step[frame.time < switch], 1)
    later = frame.time >= switch
    at_step = (frame.time[later] - switch).astype("timedelta64[h]").astype(int) % 6 == 0
    for name in ("air_temperature", "wind_speed", "relative_humidity", "cloud"):
        values = getattr(frame, name)[later]
        assert not np.isnan(values[at_step]).any()
        assert np.isnan(values[~at_step]).all()
    assert np.isnan(frame.rain[later]).all()
    np.testing.assert_array_equal(frame.native_step[later], 6)
    wet = sum(
        step["data"]["next_6_hours"]["details"]["precipitation_amount"]
        for step in steps(norway.document)
        if "next_6_hours" in step["data"] and "next_1_hours" not in step["data"]
    )
    assert f"{wet:.1f} mm in" in " ".join(parsed.warnings)


def test_what_is_dropped_is_marked_at_its_step(norway: Case) -> None:
    """An hourly step and one of the 6-hourly ones; rows between have no marks."""
    document = norway.document
    for at in (5, -2):
        instant(document, at)["wind_speed"] = 99.0
    frame = frame_of(norway.read(document))
    times = [np.datetime64(steps(document)[at]["time"][:-1]) for at in (5, -2)]
    marks = frame.marks_of("wind_speed")
    assert frame.time[marks.bits != 0].tolist() == [each.tolist() for each in times]
    assert marks.given[marks.bits != 0].tolist() == [99.0, 99.0]


def test_the_last_step_has_an_instant_and_no_period(norway: Case) -> None:
    """The published fencepost."""
    document = norway.document
    assert set(steps(document)[-1]["data"]) == {"instant"}
    frame = frame_of(norway.read(document))
    assert frame.air_temperature[-1] == instant(document, -1)["air_temperature"]
    assert np.isnan(frame.rain[-1])
    assert frame.native_step[-1] == 6


def test_absent_and_empty_details_are_missing(norway: Case) -> None:
    """Optional parts may be left out or ``{}``; gusts and chances are used if there."""
    frame = frame_of(norway.read(norway.body))
    assert np.isnan(frame.wind_gust).all()
    assert np.isnan(frame.rain_chance).all()
    assert np.isnan(frame.radiation).all()
    document = norway.document
    steps(document)[5]["data"]["next_1_hours"] = {"summary": {}}
    steps(document)[6]["data"]["next_1_hours"]["details"] = {}
    steps(document)[7]["data"] = {}
    instant(document, 8)["wind_speed_of_gust"] = 9.5
    ahead = steps(document)[8]["data"]["next_1_hours"]["details"]
    ahead["probability_of_precipitation"] = 40.0
    units = document["properties"]["meta"]["units"]
    units |= {"wind_speed_of_gust": "m/s", "probability_of_precipitation": "%"}
    frame = frame_of(norway.read(document))
    assert np.isnan(frame.rain[[5, 6, 7]]).all()
    assert np.isnan(frame.air_temperature[7])
    assert (frame.wind_gust[8], frame.rain_chance[8]) == (9.5, 40.0)
    for each in steps(document):
        for name in ("cloud_area_fraction_low", "air_pressure_at_sea_level"):
            each["data"].get("instant", {"details": {}})["details"].pop(name, None)
    frame = frame_of(norway.read(document))
    assert np.isnan(frame.low_cloud).all()
    assert np.isnan(frame.pressure).all()


def test_a_missing_hour_is_missing_and_its_step_is_two_hours(norway: Case) -> None:
    """One step left out among hourly ones is a hole, not a guess."""
    document = norway.document
    del steps(document)[10]
    frame = frame_of(norway.read(document))
    assert np.isnan(frame.air_temperature[10])
    np.testing.assert_array_equal(frame.native_step[8:12], [1, 2, 2, 1])


@pytest.mark.parametrize("elevation", [0.0, 68.0, 350.0, 900.0])
def test_station_pressure_is_that_of_metpy_within_the_weather(
    elevation: float,
) -> None:
    """MetPy's standard-atmosphere shift of 985 to 1035 hPa, within 0.6 hPa.

    MetPy goes to the height of the pressure and back, we scale: the two part by 0.6 hPa
    in a deep low at 900 m, far less than the day's weather moves the pressure.
    """
    from metpy.calc import add_height_to_pressure
    from metpy.units import units

    sea = np.array([985.0, 1000.0, 1013.25, 1020.0, 1035.0])
    oracle = add_height_to_pressure(
        units.Quantity(sea, "hPa"), units.Quantity(elevation, "m")
    )
    ours = metno.station_pressure(sea, elevation)
    np.testing.assert_allclose(ours, oracle.to("hPa").magnitude, atol=0.6)


def test_pressure_is_moved_to_the_height_asked_for(norway: Case) -> None:
    """Not the service's own: the paddock's height is what was asked.

    Expected: the standard atmosphere's share of sea-level pressure at 68 m,
    (1 − 2.25577e-5 × 68) ** 5.2559 (ASHRAE Fundamentals 2017 ch. 1 eq. 3, as in
    PsychroLib).
    """
    frame = frame_of(norway.read(norway.body))
    sea = instant(norway.document, 0)["air_pressure_at_sea_level"]
    share = (1 - 2.25577e-5 * 68) ** 5.2559
    assert frame.pressure[0] == pytest.approx(sea * share, abs=0.1)
    assert frame.pressure[0] == pytest.approx(
        metno.station_pressure(np.array(sea), 68.0), abs=1e-9
    )
    assert 7 < sea - frame.pressure[0] < 9  # about 8.3 m a hPa near sea level


def put(*path: Any) -> Callable[[Any], None]:
    """Set the place ``path[:-1]`` to ``path[-1]``."""

    def spoil(document: Any) -> None:
        inner = document
        for name in path[:-2]:
            inner = inner[name]
        inner[path[-2]] = path[-1]

    return spoil


META = ("properties", "meta")
STEP = ("properties", "timeseries")


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (put("geometry", None), "geometry is NoneType"),
        (put("geometry", "coordinates", [138.75]), "coordinates are"),
        (put("geometry", "coordinates", "138.75"), "coordinates are"),
        (put("geometry", "coordinates", [-34.533, 138.75, 70]), "not within 30 km"),
        (put("properties", []), "properties is list"),
        (put(*META, None), "meta is NoneType"),
        (put(*META, "units", None), "units is NoneType"),
        (put(*META, "units", "wind_speed", "km/h"), "wind_speed is in km/h"),
        (put(*META, "units", "air_temperature", "fahrenheit"), "in fahrenheit"),
        (put(*META, "units", "precipitation_amount", None), "in None"),
        (put(*META, "updated_at", "2026-09-14T22:00:00Z"), "check the clock"),
        (put(*META, "updated_at", "2026-09-14T19:48:12"), "no UTC time"),
        (put(*META, "updated_at", None), "no UTC time"),
        (put(*META, "updated_at", "2026-02-30T19:48:12Z"), "no UTC time"),
        (put(*STEP, []), "no list of 2 to"),
        (put(*STEP, {}), "no list of 2 to"),
        (put(*STEP, 4, None), "a step is None"),
        (put(*STEP, 4, "time", "2026-09-14T20:00:00Z"), "in order"),
        (put(*STEP, 4, "time", "2026-09-15T00:30:00Z"), "whole hours"),
        (put(*STEP, 4, "time", "2026-09-15T00:00:00+09:30"), "no UTC time"),
        (put(*STEP, 4, "time", None), "no UTC time"),
        (put(*STEP, -1, "time", "2026-09-30T00:00:00Z"), "at most 12 h"),
        (put(*STEP, 4, "data", []), "data is []"),
        (put(*STEP, 4, "data", "instant", None), "instant is None"),
        (put(*STEP, 4, "data", "next_1_hours", "details", 0), "details is 0"),
        (
            put(*STEP, 4, "data", "instant", "details", "wind_speed", "3"),
            "not a number",
        ),
        (
            put(*STEP, 4, "data", "instant", "details", "wind_speed", True),
            "not a number",
        ),
    ],
)
def test_a_wrong_shape_is_unusable(
    norway: Case, spoil: Callable[[Any], None], said: str
) -> None:
    """Place, blocks, units, times and types."""
    document = norway.document
    spoil(document)
    with pytest.raises(UnusableError) as caught:
        norway.read(document)
    assert said in str(caught.value)
    assert str(caught.value).startswith("MET Norway")


def test_thin_steps_are_unusable(norway: Case) -> None:
    """Over a tenth of the first steps without wind, or of the hours without rain."""
    document = norway.document
    for at in range(7):
        del instant(document, at)["wind_speed"]
    with pytest.raises(UnusableError, match="wind_speed is known in 8"):
        norway.read(document)
    document = norway.document
    for at in range(7):
        del steps(document)[at]["data"]["next_1_hours"]
    with pytest.raises(UnusableError, match="rain is known in 8"):
        norway.read(document)


def test_a_page_instead_of_data_is_unusable(norway: Case) -> None:
    """The body of the service's 400 is HTML (MET Norway, status codes)."""
    with pytest.raises(UnusableError, match="web page"):
        norway.read(b"<!DOCTYPE html><html><h1>Bad Request</h1></html>")


def test_a_forecast_of_another_day_is_unusable(norway: Case) -> None:
    """Asked a month later, the same answer is old."""
    later = replace(norway.request, made=norway.request.made + np.timedelta64(30, "D"))
    with pytest.raises(UnusableError, match="asked at"):
        replace(norway, request=later).read(norway.body)


def test_coordinates_are_cut_to_four_decimals_not_rounded() -> None:
    """Terms of service: more decimals are forbidden, truncate; height in metres."""
    made = np.datetime64("2026-09-14T20:30", "s")
    for degrees, text in (
        (138.75019999, "138.7501"),
        (138.7501, "138.7501"),
        (-34.53309, "-34.5330"),
        (-0.00004, "0.0000"),
    ):
        place = Place(degrees / 4 if degrees > 90 else degrees, degrees, 68.4, "UTC")
        request = metno.request(place, made, contact="grazier@farm.net.au")
        assert f"lon={text}" in request.url
        assert "altitude=68&" in request.url


def test_a_contact_is_needed_and_goes_into_the_header(norway: Case) -> None:
    """Terms of service: an identifying User-Agent with contact; no fakes."""
    place, made = norway.request.place, norway.request.made
    for contact in ("grazier@farm.net.au", "https://farm.net.au/weather"):
        request = metno.request(place, made, contact=contact)
        assert request.headers["User-Agent"].startswith("forecaster/")
        assert request.headers["User-Agent"].endswith(contact)
        assert contact not in request.url
        assert request.secrets == {}
    bad = [
        "",
        "me",
        "a b@c.au",
        "x@farm.au\r\nHost: y",
        "you@example.com",
        "your-mail@x.au",
    ]
    for contact in bad:
        with pytest.raises(RefusedError, match="contact is"):
            metno.request(place, made, contact=contact)


def test_the_map_on_top_names_each_variable() -> None:
    """The table a reader sees and the tables that are used are the same."""
    page = (metno.__doc__ or "").replace("…_low", "cloud_area_fraction_low")
    for variable in (*metno.INSTANT, *metno.HOUR_AHEAD):
        assert variable.theirs in page
        assert variable.unit in page
