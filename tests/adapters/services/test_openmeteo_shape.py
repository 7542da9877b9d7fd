"""The shape rules all Open-Meteo answers share, on every product."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from forecaster.errors import PartialError, RefusedError, UnusableError
from forecaster.sources import openmeteo_forecast
from forecaster.sources.openmeteo import (
    ICON,
    IFS,
    Access,
    native_steps,
    newest_run,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.adapters.services.conftest import Case

PRODUCTS = ("forecast", "profile", "ensemble", "previous", "archive")


def put(name: str, value: object) -> Callable[[Any], None]:
    """Set a member of the document."""
    return lambda document: document.__setitem__(name, value)


def hourly(name: str, at: int, value: object) -> Callable[[Any], None]:
    """Set one value of the hourly block."""
    return lambda document: document["hourly"][name].__setitem__(at, value)


def unit(name: str, value: object) -> Callable[[Any], None]:
    """Set one unit."""
    return lambda document: document["hourly_units"].__setitem__(name, value)


@pytest.mark.parametrize("product", PRODUCTS)
@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (put("utc_offset_seconds", 34_200), "34200 s from UTC"),
        (put("utc_offset_seconds", False), "asked for GMT"),
        (put("utc_offset_seconds", 0.0), "asked for GMT"),
        (put("timezone", "Australia/Adelaide"), "asked for GMT"),
        (put("timezone", ["GMT"]), "asked for GMT"),
        (put("latitude", -35.0), "not within 30 km"),
        (put("latitude", "-34.5"), "not within 30 km"),
        (put("longitude", None), "not within 30 km"),
        (put("longitude", 10**400), "not within 30 km"),
        (put("hourly", None), "no block 'hourly'"),
        (put("hourly_units", []), "no block 'hourly_units'"),
        (unit("time", "unixtime"), "times are in 'unixtime'"),
        (unit("temperature_2m", "°F"), "in °F, asked for °C"),
        (unit("temperature_2m", None), "in None, asked for °C"),
        (unit("temperature_2m", "undefined"), "in undefined, asked for °C"),
        (lambda document: document["hourly"].pop("time"), "no list of 1 to"),
        (lambda document: document["hourly"].pop("temperature_2m"), "air_temperature"),
        (lambda document: document["hourly"]["temperature_2m"].pop(), "must be equal"),
        (lambda document: document["hourly"].update(other=[1]), "must be equal"),
        (lambda document: document["hourly"].update(other=1), "no values"),
        (hourly("time", 0, "2026-09-14"), "is no whole hour"),
        (hourly("time", 0, 1_789_000_000), "is no whole hour"),
        (hourly("time", 0, "2026-13-14T00:00"), "is no whole hour"),
        (hourly("time", 3, "NaT"), "time 3 is 'NaT'"),
        (hourly("time", 3, None), "time 3 is None"),
        (lambda document: document["hourly"]["time"].reverse(), "time 1 is"),
        (hourly("temperature_2m", 2, "12.5"), "[2] is '12.5', not a number"),
        (hourly("temperature_2m", 2, True), "[2] is True, not a number"),
        (hourly("temperature_2m", 2, [1]), "[2] is [1], not a number"),
        (hourly("temperature_2m", 2, 10**400), "too large"),
    ],
)
def test_a_wrong_shape_is_unusable(
    cases: dict[str, Case],
    product: str,
    spoil: Callable[[Any], None],
    said: str,
) -> None:
    """Clock, place, blocks, units, lengths, times and types."""
    document = cases[product].document
    spoil(document)
    with pytest.raises(UnusableError) as caught:
        cases[product].read(document)
    assert said in str(caught.value)
    assert str(caught.value).startswith("Open-Meteo ")


@pytest.mark.parametrize("product", PRODUCTS)
def test_hours_twice_left_out_or_half_are_unusable(
    cases: dict[str, Case], product: str
) -> None:
    """Each label must be one hour after the one before."""
    for at, label in ((4, 3), (4, 5)):
        document = cases[product].document
        document["hourly"]["time"][at] = document["hourly"]["time"][label]
        with pytest.raises(UnusableError, match=f"time {at} is"):
            cases[product].read(document)
    document = cases[product].document
    times = document["hourly"]["time"]
    document["hourly"]["time"] = [each.replace(":00", ":30") for each in times]
    with pytest.raises(UnusableError, match="is no whole hour"):
        cases[product].read(document)


@pytest.mark.parametrize(("wrong", "factor"), [("km/h", 3.6), ("mp/h", 2.23694)])
def test_another_wind_unit_than_asked_is_unusable(
    cases: dict[str, Case], wrong: str, factor: float
) -> None:
    """Mph is labelled ``mp/h`` (Open-Meteo sdk, unit table)."""
    for product in ("forecast", "ensemble", "previous"):
        document = cases[product].document
        document["hourly_units"]["wind_speed_10m"] = wrong
        document["hourly"]["wind_speed_10m"] = [
            None if each is None else each * factor
            for each in document["hourly"]["wind_speed_10m"]
        ]
        with pytest.raises(UnusableError, match=f"is in {wrong}, asked for m/s"):
            cases[product].read(document)


def test_an_error_document_is_refused(cases: dict[str, Case]) -> None:
    """The body of the service's 400, under any status."""
    body = b'{"error":true,"reason":"Cannot initialize ForecastVariable"}'
    for product in PRODUCTS:
        with pytest.raises(RefusedError, match="Cannot initialize"):
            cases[product].read(body)


def test_an_undefined_variable_is_absent(forecast: Case) -> None:
    """Unit "undefined" and all null; missing, never zero."""
    document = forecast.document
    document["hourly_units"]["cloud_cover_low"] = "undefined"
    count = len(document["hourly"]["time"])
    document["hourly"]["cloud_cover_low"] = [None] * count
    del document["hourly"]["wind_gusts_10m"]
    frame = forecast.read(document).frame
    assert frame is not None
    assert np.isnan(frame.low_cloud).all()
    assert np.isnan(frame.wind_gust).all()
    assert not np.isnan(frame.cloud).any()


@pytest.mark.parametrize(
    "name",
    ["temperature_2m", "relative_humidity_2m", "wind_speed_10m", "precipitation"],
)
def test_a_required_variable_that_is_absent_or_thin_is_unusable(
    forecast: Case, name: str
) -> None:
    """Absent, undefined, or null in over a tenth of the first 72 hours from now."""
    document = forecast.document
    del document["hourly"][name]
    with pytest.raises(UnusableError, match="has no"):
        forecast.read(document)
    document = forecast.document
    document["hourly_units"][name] = "undefined"
    document["hourly"][name] = [None] * len(document["hourly"]["time"])
    with pytest.raises(UnusableError, match="has no"):
        forecast.read(document)
    now = document["hourly"]["time"].index("2026-09-14T20:00")
    for nulls, accepted in ((7, True), (8, False)):
        document = forecast.document
        document["hourly"][name][now + 10 : now + 10 + nulls] = [None] * nulls
        if accepted:
            frame = forecast.read(document).frame
            assert frame is not None
        else:
            with pytest.raises(UnusableError, match="89% of the first 72"):
                forecast.read(document)


@pytest.mark.parametrize(
    "name", ["relative_humidity_2m", "wind_speed_10m", "precipitation"]
)
def test_without_what_hours_are_judged_by_dates_can_be_read(
    forecast: Case, name: str
) -> None:
    """Refused as a whole; read for dates, no hour keeps humidity and wind together.

    Rain that is known stays: it is added up by the day.
    """
    document = forecast.document
    del document["hourly"][name]
    with pytest.raises(PartialError, match="has no"):
        forecast.read(document)
    parsed = replace(forecast, parse=openmeteo_forecast.parse_dates).read(document)
    whole, part = forecast.read(forecast.body).frame, parsed.frame
    assert whole is not None
    assert part is not None
    np.testing.assert_array_equal(part.air_temperature, whole.air_temperature)
    assert np.isnan(part.wind_speed).all()
    assert np.isnan(part.relative_humidity).all()
    if name != "precipitation":
        np.testing.assert_array_equal(part.rain, whole.rain)
    assert "hours without humidity, wind or rain are unknown" in parsed.warnings[-1]


def test_read_for_dates_a_whole_answer_is_the_same(forecast: Case) -> None:
    """Nothing is taken out of what lacks nothing."""
    dates = replace(forecast, parse=openmeteo_forecast.parse_dates)
    here, there = forecast.read(forecast.body), dates.read(forecast.body)
    assert here.frame is not None
    assert there.frame is not None
    for name in ("air_temperature", "wind_speed", "relative_humidity", "rain"):
        np.testing.assert_array_equal(
            getattr(here.frame, name), getattr(there.frame, name)
        )
    assert here.warnings == there.warnings


def test_what_cannot_be_weather_is_no_partial_answer(forecast: Case) -> None:
    """Without temperature, with it frozen, or in km/h: of no use for dates either."""
    dates = replace(forecast, parse=openmeteo_forecast.parse_dates)
    bare = forecast.document
    del bare["hourly"]["wind_speed_10m"], bare["hourly"]["temperature_2m"]
    frozen = forecast.document
    del frozen["hourly"]["wind_speed_10m"]
    frozen["hourly"]["temperature_2m"] = [9.0] * len(frozen["hourly"]["time"])
    units = forecast.document
    del units["hourly"]["precipitation"]
    units["hourly_units"]["wind_speed_10m"] = "km/h"
    for document, said in (
        (bare, "has no air_temperature"),
        (frozen, "the same for 48 hours"),
        (units, "is in km/h"),
    ):
        for case in (forecast, dates):
            with pytest.raises(UnusableError, match=said) as caught:
                case.read(document)
            assert not isinstance(caught.value, PartialError)


def test_a_whole_answer_of_nulls_is_unusable(cases: dict[str, Case]) -> None:
    """Nothing at all is not weather."""
    for product in PRODUCTS:
        document = cases[product].document
        for name, values in document["hourly"].items():
            if name != "time":
                document["hourly"][name] = [None] * len(values)
        with pytest.raises(UnusableError):
            cases[product].read(document)


def test_nulls_are_missing_and_the_empty_tail_is_cut(forecast: Case) -> None:
    """A null in the middle is NaN; null last hours shorten the table."""
    document = forecast.document
    hours = len(document["hourly"]["time"])
    document["hourly"]["wind_speed_10m"][100] = None
    parsed = forecast.read(document)
    assert parsed.frame is not None
    assert len(parsed.frame) == hours - 5
    assert np.isnan(parsed.frame.wind_speed[100])
    assert np.isnan(parsed.frame.wind_speed).sum() == 1
    assert "last 5 hours are empty" in " ".join(parsed.warnings)


def test_other_times_are_unusable(forecast: Case) -> None:
    """Last year's hours, and hours that begin tomorrow; six hours are used."""
    for year in ("2025", "2027"):
        document = forecast.document
        document["hourly"]["time"] = [
            each.replace("2026", year) for each in document["hourly"]["time"]
        ]
        with pytest.raises(UnusableError, match="asked at 2026-09-14T20:30"):
            forecast.read(document)
    short = forecast.first_hours(48 + 20 + 6)
    frame = forecast.read(short).frame
    assert frame is not None
    assert str(frame.time[-1]) == "2026-09-15T01:00:00"


def test_numbers_that_cannot_be_are_missing_and_counted(forecast: Case) -> None:
    """Missing-value codes, negative rain, overflow: that hour only, never zero."""
    document = forecast.document
    values = {
        "temperature_2m": 99.9,
        "relative_humidity_2m": 130,
        "wind_speed_10m": -1,
        "precipitation": -0.2,
        "surface_pressure": 101_325,
        "cloud_cover": -9999,
    }
    for name, value in values.items():
        document["hourly"][name][90] = value
    body = json_with(document, "shortwave_radiation", 90, "1e999")
    parsed = forecast.read(body)
    frame = parsed.frame
    assert frame is not None
    for name in ("air_temperature", "relative_humidity", "wind_speed", "pressure"):
        assert np.isnan(getattr(frame, name)[90]), name
    assert np.isnan(frame.cloud[90])
    assert np.isnan(frame.rain[89])
    assert np.isnan(frame.radiation[89])
    told = " ".join(parsed.warnings)
    for name in ("air_temperature", "relative_humidity", "wind_speed", "rain", "cloud"):
        assert f"{name} outside" in told, name


def json_with(document: Any, name: str, at: int, token: str) -> bytes:
    """The document with a bare token in one place."""
    import json

    document["hourly"][name][at] = 424_242
    return json.dumps(document).replace("424242", token).encode()


def test_damp_gusts_and_dew_points_that_contradict(forecast: Case) -> None:
    """101 % is 100 %; a gust below its wind, a humidity with dew point above air go."""
    document = forecast.document
    hour = document["hourly"]
    hour["relative_humidity_2m"][80] = 101
    hour["wind_gusts_10m"][81] = hour["wind_speed_10m"][81] - 0.1
    hour["dew_point_2m"][82] = hour["temperature_2m"][82] + 0.6
    hour["dew_point_2m"][83] = hour["temperature_2m"][83] + 0.4
    parsed = forecast.read(document)
    frame = parsed.frame
    assert frame is not None
    assert frame.relative_humidity[80] == 100
    assert np.isnan(frame.wind_gust[80])
    assert not np.isnan(frame.wind_speed[81])
    assert np.isnan(frame.relative_humidity[82])
    assert not np.isnan(frame.relative_humidity[83])
    assert len(parsed.warnings) == 4


def test_a_frozen_temperature_and_another_unit_are_unusable(forecast: Case) -> None:
    """48 equal hours; a median over 40 "°C" or 12 "m/s"."""
    document = forecast.document
    document["hourly"]["temperature_2m"][60:107] = [9.4] * 47
    forecast.read(document)
    document["hourly"]["temperature_2m"][60:108] = [9.4] * 48
    with pytest.raises(UnusableError, match="the same for 48 hours"):
        forecast.read(document)
    for name, factor, shift, said in (
        ("temperature_2m", 1.8, 32, "°F"),
        ("wind_speed_10m", 3.6, 8, "km/h"),
    ):
        document = forecast.document
        document["hourly"][name] = [
            None if each is None else min(each * factor + shift, 51.9)
            for each in document["hourly"][name]
        ]
        with pytest.raises(UnusableError, match=f"probably in {said}"):
            forecast.read(document)


def test_kelvin_is_unusable(forecast: Case) -> None:
    """Every value is outside what air can be, so the first hours are empty."""
    document = forecast.document
    document["hourly"]["temperature_2m"] = [
        None if each is None else each + 273.15
        for each in document["hourly"]["temperature_2m"]
    ]
    with pytest.raises(UnusableError):
        forecast.read(document)


def test_the_cell_is_told_and_an_absent_height_is_not_a_number(forecast: Case) -> None:
    """The answer's coordinates are the grid cell's; height is left out if unknown."""
    document = forecast.document
    parsed = forecast.read(document)
    assert parsed.cell is not None
    assert (parsed.cell.latitude, parsed.cell.elevation) == (-34.516697, 68.0)
    del document["elevation"]
    cell = forecast.read(document).cell
    assert cell is not None
    assert np.isnan(cell.elevation)


def several(forecast: Case, answered: dict[str, str]) -> tuple[Case, Any]:
    """A request for two models, and a document with the endings of ``answered``."""
    from dataclasses import replace

    request = openmeteo_forecast.request(
        forecast.request.place,
        forecast.request.made,
        models=["ecmwf_ifs", "icon_global"],
    )
    plain = forecast.document
    document = {**plain, "hourly": {"time": plain["hourly"]["time"]}}
    document["hourly_units"] = {"time": "iso8601"}
    for ending in answered:
        for name, values in plain["hourly"].items():
            if name != "time":
                document["hourly"][name + ending] = values
                document["hourly_units"][name + ending] = plain["hourly_units"][name]
    return replace(forecast, request=request), document


def test_models_are_told_apart_by_exact_names(forecast: Case) -> None:
    """``_icon_global_eps`` is not ``_icon_global``; the first named model wins."""
    case, document = several(forecast, {"_icon_global": "", "_ecmwf_ifs": ""})
    document["hourly"]["temperature_2m_ecmwf_ifs"] = [
        None if each is None else each + 1
        for each in document["hourly"]["temperature_2m_ecmwf_ifs"]
    ]
    frame = case.read(document).frame
    single = forecast.read(forecast.body).frame
    assert frame is not None
    assert single is not None
    np.testing.assert_allclose(frame.air_temperature, single.air_temperature + 1)
    assert "ecmwf_ifs" in frame.provenance.source
    case, document = several(forecast, {"_icon_global": ""})
    other = case.read(document).frame
    assert other is not None
    assert "icon_global" in other.provenance.source
    case, document = several(forecast, {"_icon_global_eps": ""})
    with pytest.raises(UnusableError, match="none answered"):
        case.read(document)


def test_one_of_two_models_without_its_name_is_unusable(forecast: Case) -> None:
    """A model is missing and the ending is gone: nobody knows which."""
    case, document = several(forecast, {"": ""})
    with pytest.raises(UnusableError, match="answered but is not named"):
        case.read(document)


def test_several_places_are_unusable(forecast: Case) -> None:
    """Three places come as a list; we ask for one."""
    three = [forecast.document, {**forecast.document, "location_id": 1}]
    with pytest.raises(UnusableError, match="one list"):
        forecast.read(three)


def test_steps_follow_the_lead_time_as_published() -> None:
    """IFS 1 h to 90 h, 3 h to 144 h, then 6 h; ICON 1 h to 78 h, then 3 h."""
    run = np.datetime64("2026-09-14T06:00", "s")
    lead = np.array([-48, 0, 77, 78, 89, 90, 143, 144, 300])
    time = run + lead * np.timedelta64(3600, "s")
    np.testing.assert_array_equal(
        native_steps(time, run, IFS), [1, 1, 1, 1, 1, 3, 3, 6, 6]
    )
    np.testing.assert_array_equal(
        native_steps(time, run, ICON), [1, 1, 1, 3, 3, 3, 3, 3, 3]
    )


def test_the_newest_run_is_one_surely_served() -> None:
    """Runs at 00, 06, 12 and 18 UTC, taken to be served nine hours later."""
    for made, run in (
        ("2026-09-14T20:30", "2026-09-14T06:00"),
        ("2026-09-14T21:00", "2026-09-14T12:00"),
        ("2026-09-15T03:00", "2026-09-14T18:00"),
    ):
        assert str(newest_run(np.datetime64(made, "s"))) == f"{run}:00"


def test_a_key_goes_to_the_customers_host_and_never_into_the_url(
    forecast: Case,
) -> None:
    """Open-Meteo: keys work on hosts beginning with ``customer-``."""
    place, made = forecast.request.place, forecast.request.made
    access = Access(key="k3y", contact="grazier@farm.net.au")
    request = openmeteo_forecast.request(place, made, access=access)
    assert request.url.startswith("https://customer-api.open-meteo.com/v1/forecast?")
    assert request.secrets == {"apikey": "k3y"}
    assert "grazier@farm.net.au" in request.headers["User-Agent"]
    assert "k3y" not in request.url + repr(request) + repr(access)
    local = Access(base_url="http://127.0.0.1:8080")
    own = openmeteo_forecast.request(place, made, access=local)
    assert own.url.startswith("http://127.0.0.1:8080/v1/forecast?")
    assert own.secrets == {}


def test_impossible_requests_are_refused(forecast: Case) -> None:
    """Days outside what is published, and models whose steps are not known."""
    place, made = forecast.request.place, forecast.request.made
    for past, ahead in ((-1, 3), (93, 3), (0, 0), (0, 17)):
        with pytest.raises(RefusedError, match="0 to 92 and 1 to 16"):
            openmeteo_forecast.request(place, made, past_days=past, forecast_days=ahead)
    with pytest.raises(RefusedError, match="some_model"):
        openmeteo_forecast.request(place, made, models=["some_model"])
