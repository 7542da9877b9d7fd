"""What each Open-Meteo product asks for and becomes."""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import parse_qs, urlsplit

import numpy as np
import pytest

from forecaster.domain.quality.flags import Flag
from forecaster.domain.weather import Origin
from forecaster.errors import RefusedError, UnusableError
from forecaster.sources import (
    openmeteo_archive,
    openmeteo_ensemble,
    openmeteo_forecast,
    openmeteo_previous,
    openmeteo_profile,
)

if TYPE_CHECKING:
    from forecaster.domain.weather import WeatherFrame
    from forecaster.sources.request import Parsed
    from tests.adapters.services.conftest import Case

SHIFTED = {
    "wind_gusts_10m": "wind_gust",
    "precipitation": "rain",
    "precipitation_probability": "rain_chance",
    "shortwave_radiation": "radiation",
}


def frame_of(parsed: Parsed) -> WeatherFrame:
    """The table, which must be there."""
    assert parsed.frame is not None
    return parsed.frame


def floats(values: list[float | None]) -> np.ndarray:
    """A JSON list as numpy alone reads it."""
    return np.array(values, dtype=np.float64)


def asked(case: Case) -> dict[str, str]:
    """The parameters of a URL."""
    query = parse_qs(urlsplit(case.request.url).query)
    return {name: values[0] for name, values in query.items()}


@pytest.mark.parametrize(
    "product", ["forecast", "profile", "ensemble", "previous", "archive"]
)
def test_every_request_is_in_gmt_and_our_units(
    cases: dict[str, Case], product: str
) -> None:
    """GMT, m/s, °C and mm, never a zone and never the service's wet bulb."""
    query = asked(cases[product])
    assert query["timezone"] == "GMT"
    assert query["wind_speed_unit"] == "ms"
    assert query["temperature_unit"] == "celsius"
    assert query["precipitation_unit"] == "mm"
    assert (query["latitude"], query["longitude"]) == ("-34.5330", "138.7500")
    assert "wet_bulb" not in cases[product].request.url
    assert cases[product].request.headers == {}


def test_the_profile_names_one_model_and_the_height(cases: dict[str, Case]) -> None:
    """The service's mix takes 80 m from another model than 2 m (its source)."""
    assert asked(cases["forecast"])["elevation"] == "68"
    assert "models" not in asked(cases["forecast"])
    assert asked(cases["profile"])["elevation"] == "68"
    assert asked(cases["profile"])["models"] == "icon_global"


def test_the_forecast_lies_on_rows_that_begin_at_their_label(forecast: Case) -> None:
    """Instants stay; sums, means, maxima and chances move one hour back."""
    hourly = forecast.document["hourly"]
    frame = frame_of(forecast.read(forecast.body))
    count = len(frame)
    for variable in openmeteo_forecast.VARIABLES:
        if variable.ours == "dew_point":
            continue
        theirs = floats(hourly[variable.theirs])[:count]
        ours = getattr(frame, variable.ours)
        if variable.theirs in SHIFTED:
            np.testing.assert_array_equal(ours[:-1], theirs[1:])
            assert np.isnan(ours[-1])
        else:
            share = 100 if variable.ours in {"cloud", "low_cloud"} else 1
            np.testing.assert_allclose(ours, theirs / share, atol=1e-12)
    moved = [v for v in openmeteo_forecast.VARIABLES if v.valid.name != "INSTANT"]
    assert {v.theirs for v in moved} == set(SHIFTED)
    assert (frame.origin == Origin.FORECAST).all()
    assert np.isnan(frame.air_temperature_80m).all()


def test_what_is_dropped_is_marked_in_the_row_its_value_would_stand_in(
    forecast: Case,
) -> None:
    """Label 40: a wind of 99 m/s in row 40, rain of 300 mm and its gust in row 39."""
    document = forecast.document
    wrong = {"wind_speed_10m": 99.0, "precipitation": 300.0, "wind_gusts_10m": 99.0}
    for name, value in wrong.items():
        document["hourly"][name][40] = value
    frame = frame_of(forecast.read(document))
    assert set(frame.marks) == {"wind_speed", "rain", "wind_gust"}
    for name, row in (("wind_speed", 40), ("rain", 39), ("wind_gust", 39)):
        marks = frame.marks_of(name)
        assert np.flatnonzero(marks.bits).tolist() == [row]
        assert marks.bits[row] == Flag.OUT_OF_RANGE
        assert marks.given[row] == (300.0 if name == "rain" else 99.0)
        assert np.isnan(getattr(frame, name)[row])


def test_members_are_marked_one_by_one(cases: dict[str, Case]) -> None:
    """The third member's wind alone; (members, hours)."""
    document = cases["ensemble"].document
    document["hourly"]["wind_speed_10m_member02"][9] = -1.0
    frame = frame_of(cases["ensemble"].read(document))
    marks = frame.marks_of("wind_speed")
    assert np.argwhere(marks.bits).tolist() == [[2, 9]]
    assert marks.given[2, 9] == -1.0
    assert np.argwhere(np.isnan(frame.wind_speed)).tolist() == [[2, 9]]


def test_the_forecast_tells_where_hours_are_drawn_in(forecast: Case) -> None:
    """Asked 20:30: the run of 06:00, so 3 h from 90 h and 6 h from 144 h after it."""
    frame = frame_of(forecast.read(forecast.body))
    assert str(frame.provenance.issued) == "2026-09-14T06:00:00"
    assert "run assumed" in frame.provenance.notes[0]
    change = np.flatnonzero(np.diff(frame.native_step)) + 1
    assert [str(each) for each in frame.time[change]] == [
        "2026-09-18T00:00:00",
        "2026-09-20T06:00:00",
    ]
    assert sorted(set(frame.native_step.tolist())) == [1, 3, 6]


def test_the_profile_holds_two_temperatures_of_one_model(
    cases: dict[str, Case],
) -> None:
    """Nothing else is filled; ICON is hourly to 78 h."""
    case = cases["profile"]
    hourly = case.document["hourly"]
    frame = frame_of(case.read(case.body))
    count = len(frame)
    np.testing.assert_array_equal(
        frame.air_temperature, floats(hourly["temperature_2m"])[:count]
    )
    np.testing.assert_array_equal(
        frame.air_temperature_80m, floats(hourly["temperature_80m"])[:count]
    )
    assert np.isnan(frame.wind_speed).all()
    first = frame.time[frame.native_step > 1][0]
    assert str(first) == "2026-09-17T12:00:00"
    assert "icon_global" in frame.provenance.source


def test_the_profile_of_a_model_without_80_m_is_unusable(
    cases: dict[str, Case],
) -> None:
    """The one variable it is for is "undefined"."""
    document = cases["profile"].document
    document["hourly_units"]["temperature_80m"] = "undefined"
    document["hourly"]["temperature_80m"] = [None] * len(document["hourly"]["time"])
    with pytest.raises(UnusableError, match="air_temperature_80m"):
        cases["profile"].read(document)


def test_members_stand_in_order_with_the_control_first(
    cases: dict[str, Case],
) -> None:
    """(members, hours): no ending, _member01, _member02 …; rain moved in each."""
    case = cases["ensemble"]
    hourly = case.document["hourly"]
    frame = frame_of(case.read(case.body))
    assert frame.air_temperature.shape == frame.rain.shape == (5, len(frame))
    assert frame.cloud.shape == (5, len(frame))
    assert frame.origin.shape == (len(frame),)
    for member in range(5):
        ending = f"_member{member:02d}" if member else ""
        np.testing.assert_array_equal(
            frame.air_temperature[member], floats(hourly["temperature_2m" + ending])
        )
        np.testing.assert_array_equal(
            frame.rain[member, :-1], floats(hourly["precipitation" + ending])[1:]
        )
    assert (frame.native_step >= 3).all()


def test_members_left_out_or_alone_are_unusable(cases: dict[str, Case]) -> None:
    """A gap in the numbers, no members, no control; another quantity may lack one."""
    case = cases["ensemble"]
    for gone, said in (
        (["temperature_2m_member02"], "without a gap"),
        ([f"temperature_2m_member0{n}" for n in range(1, 5)], "members are none"),
        (["temperature_2m"], "air_temperature is known in 0%"),
        (["precipitation_member03"], "rain is known in 0%"),
    ):
        document = case.document
        for name in gone:
            del document["hourly"][name]
        with pytest.raises(UnusableError, match=said):
            case.read(document)
    document = case.document
    del document["hourly"]["wind_gusts_10m_member03"]
    gusts = frame_of(case.read(document)).wind_gust
    assert np.isnan(gusts[3]).all()
    assert not np.isnan(gusts[2, :-1]).any()
    for name in list(document["hourly"]):
        if name.startswith("wind_gusts"):
            del document["hourly"][name]
    assert np.isnan(frame_of(case.read(document)).wind_gust).all()


def test_previous_days_lie_on_the_hours_they_were_forecast_for(
    cases: dict[str, Case],
) -> None:
    """Day k of label t in row t, rain a row back; holes stay; day 7 has nothing."""
    case = cases["previous"]
    hourly = case.document["hourly"]
    parsed = case.read(case.body)
    newest = frame_of(parsed)
    assert list(parsed.leads) == [1, 2, 3, 4, 5, 6]
    for day, frame in parsed.leads.items():
        np.testing.assert_array_equal(frame.time, newest.time)
        np.testing.assert_array_equal(
            frame.wind_speed, floats(hourly[f"wind_speed_10m_previous_day{day}"])
        )
        rain = floats(hourly[f"precipitation_previous_day{day}"])
        np.testing.assert_array_equal(frame.rain[:-1], rain[1:])
    assert np.isnan(parsed.leads[3].wind_speed).sum() == 7
    steps = [parsed.leads[day].native_step[0] for day in parsed.leads]
    assert steps == [1, 1, 1, 3, 3, 6]


def test_the_archive_is_cut_into_local_days(cases: dict[str, Case]) -> None:
    """Local solar days, 9 h ahead at 138.75° E: 15:00 to 14:00 UTC, by a plain loop."""
    case = cases["archive"]
    document = case.document
    hourly = document["hourly"]
    days = case.read(case.body).days
    assert days is not None
    found: dict[str, list[tuple[float | None, float | None]]] = {}
    labels = hourly["time"]
    for at, label in enumerate(labels[:-1]):
        local = np.datetime64(label, "h") + 9
        day = str(local.astype("datetime64[D]"))
        found.setdefault(day, []).append(
            (hourly["temperature_2m"][at], hourly["precipitation"][at + 1])
        )
    assert str(days.day[0]) == "2026-01-01"
    assert str(days.day[-1]) == "2026-01-09"
    for at, day in enumerate(days.day[:-1]):
        rows = found[str(day)]
        assert len(rows) == 24
        temperatures = [each for each, _ in rows if each is not None]
        assert days.tmax[at] == max(temperatures)
        assert days.tmin[at] == min(temperatures)
        rain = sum(each for _, each in rows if each is not None)
        assert days.rain[at] == pytest.approx(rain, abs=1e-9)


def test_archive_days_with_holes_are_missing(cases: dict[str, Case]) -> None:
    """Under 20 known hours no extremes, any unknown hour no rain; never zero."""
    case = cases["archive"]
    for gone, known in ((4, True), (5, False)):
        document = case.document
        first = document["hourly"]["time"].index("2026-01-02T15:00")
        for name in ("temperature_2m", "precipitation"):
            document["hourly"][name][first : first + gone] = [None] * gone
        days = case.read(document).days
        assert days is not None
        at = int(np.flatnonzero(days.day == np.datetime64("2026-01-03"))[0])
        assert bool(np.isfinite(days.tmax[at])) is known
        assert np.isnan(days.rain[at])
        assert np.isfinite(days.tmax[at + 1])


def test_a_day_of_impossible_rain_is_missing(cases: dict[str, Case]) -> None:
    """24 hours of 100 mm each pass one by one; their sum is over any day's bound."""
    document = cases["archive"].document
    first = document["hourly"]["time"].index("2026-01-02T16:00")
    document["hourly"]["precipitation"][first : first + 24] = [100.0] * 24
    parsed = cases["archive"].read(document)
    assert parsed.days is not None
    assert np.isnan(parsed.days.rain[2])
    assert np.isfinite(parsed.days.rain[[1, 3]]).all()
    assert "rain of a day outside" in parsed.warnings[0]


def test_the_archive_asks_for_one_year_at_a_time(cases: dict[str, Case]) -> None:
    """A past year from the day before to the day after; this year as far as it went."""
    place = cases["archive"].request.place
    made = np.datetime64("2026-09-14T20:30", "s")
    old = openmeteo_archive.request(place, made, year=1998)
    assert "start_date=1997-12-31" in old.url
    assert "end_date=1999-01-01" in old.url
    assert "models=era5_seamless" in old.url
    new = openmeteo_archive.request(place, made, year=2026)
    assert "end_date=2026-09-13" in new.url
    assert old.fresh_for > 1000 * new.fresh_for
    for year in (1939, 2027):
        with pytest.raises(RefusedError, match="not between 1940 and now"):
            openmeteo_archive.request(place, made, year=year)


def test_the_archive_of_another_year_or_of_hours_is_unusable(
    cases: dict[str, Case],
) -> None:
    """Hours of the wrong year; fewer hours than one local day."""
    case = cases["archive"]
    document = case.document
    document["hourly"]["time"] = [
        each.replace("2026-", "2025-").replace("2025-12-31", "2024-12-31")
        for each in document["hourly"]["time"]
    ]
    with pytest.raises(UnusableError, match="asked for 2026"):
        case.read(document)
    with pytest.raises(UnusableError, match="no whole day"):
        case.read(case.first_hours(15 + 23))


def test_previous_runs_ask_for_seven_days_before(cases: dict[str, Case]) -> None:
    """Each name plain and with each ending; 1 to 92 days back."""
    names = asked(cases["previous"])["hourly"].split(",")
    assert len(names) == len(set(names)) == 8 * len(openmeteo_previous.VARIABLES)
    assert "wind_speed_10m_previous_day7" in names
    place, made = cases["previous"].request.place, cases["previous"].request.made
    for days in (0, 93):
        with pytest.raises(RefusedError, match="1 to 92"):
            openmeteo_previous.request(place, made, past_days=days)


def test_changes_of_clocks_and_half_hours_change_nothing(forecast: Case) -> None:
    """Weeks of 4 October 2026 and 5 April 2026, three zones, all UTC.

    Half-hour zones print other labels, not other data: the same answer gives the same
    rows whatever the place's clock.
    """
    from dataclasses import replace

    plain = frame_of(forecast.read(forecast.body))
    for first in ("2026-10-01", "2026-04-02"):
        shift = np.datetime64(first) - np.datetime64("2026-09-12")
        document = forecast.document
        document["hourly"]["time"] = [
            str(np.datetime64(label, "m") + shift)
            for label in document["hourly"]["time"]
        ]
        for zone in ("Australia/Adelaide", "Australia/Sydney", "Australia/Lord_Howe"):
            place = replace(forecast.request.place, zone=zone)
            request = replace(
                forecast.request, place=place, made=forecast.request.made + shift
            )
            frame = frame_of(replace(forecast, request=request).read(document))
            np.testing.assert_array_equal(frame.time, plain.time + shift)
            np.testing.assert_array_equal(frame.rain, plain.rain)
            np.testing.assert_array_equal(frame.wind_speed, plain.wind_speed)


def test_the_maps_on_top_name_each_variable_asked_for() -> None:
    """The table a reader sees and the table that is used are the same."""
    for module in (
        openmeteo_profile,
        openmeteo_ensemble,
        openmeteo_archive,
        openmeteo_previous,
    ):
        for variable in module.VARIABLES:
            assert variable.theirs in (module.__doc__ or "")
    page = openmeteo_forecast.__doc__ or ""
    for variable in openmeteo_forecast.VARIABLES:
        assert variable.theirs in page.replace("…_low", "cloud_cover_low")
