"""SILO's daily CSV: excuses, averages, notes beside the data, the 9 am day.

Shapes: SILO, "File formats and samples", and answers recorded in the tests of the R
package weatherOz.
"""

from __future__ import annotations

import csv
from dataclasses import replace
from io import StringIO
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.domain.place import Place
from forecaster.errors import RefusedError, UnusableError
from forecaster.sources import silo
from forecaster.sources.days_table import DayOrigin
from forecaster.sources.strict_json import LARGEST

if TYPE_CHECKING:
    from forecaster.sources.days_table import DaysTable
    from forecaster.sources.request import Parsed
    from tests.adapters.services.conftest import Case

MADE = np.datetime64("2026-09-14T20:30", "s")


@pytest.fixture
def days(cases: dict[str, Case]) -> Case:
    """Twelve days, the last one an average."""
    return cases["silo"]


def table_of(parsed: Parsed) -> DaysTable:
    """The days, which must be there."""
    assert parsed.days is not None
    return parsed.days


def changed(case: Case, old: str, new: str) -> bytes:
    """The answer with one text replaced, which must be there."""
    text = case.body.decode()
    assert old in text
    return text.replace(old, new, 1).encode()


def test_days_keep_the_services_dates(days: Case) -> None:
    """Rain and minimum to 9 am, maximum from 9 am, under the date given; nothing moves.

    Bureau of Meteorology, "About the Climate Extremes Tables": rain of 5 February fell
    from 9 am on the 4th to 9 am on the 5th; the maximum of 10 June is from 9 am on.
    """
    table = table_of(days.read(days.body))
    rows = list(csv.DictReader(StringIO(days.body.decode())))
    assert [str(each) for each in table.day] == [row["YYYY-MM-DD"] for row in rows]
    assert table.rain.tolist() == [float(row["daily_rain"]) for row in rows]
    assert table.tmax[:-1].tolist() == [float(row["max_temp"]) for row in rows][:-1]
    assert table.tmin[:-1].tolist() == [float(row["min_temp"]) for row in rows][:-1]


def test_the_long_term_average_is_no_weather(days: Case) -> None:
    """Code 75: missing and counted, rain of the same day kept."""
    parsed = days.read(days.body)
    table = table_of(parsed)
    assert np.isnan(table.tmax[-1])
    assert np.isnan(table.tmin[-1])
    assert not np.isnan(table.rain).any()
    assert len(parsed.warnings) == 2
    assert all("long-term average (1 values)" in each for each in parsed.warnings)


def test_notes_that_go_on_below_the_days_are_not_days(cases: dict[str, Case]) -> None:
    """Rows without a date carry notes when the days are fewer than the notes."""
    parsed = cases["silo short"].read(cases["silo short"].body)
    table = table_of(parsed)
    assert len(table) == 2
    assert table.tmax.tolist() == [18.4, 18.4]
    assert parsed.cell is not None
    assert (parsed.cell.latitude, parsed.cell.elevation) == (-34.55, 68.0)


def test_a_byte_order_mark_and_windows_line_ends_are_read(days: Case) -> None:
    """Neither changes the days."""
    body = b"\xef\xbb\xbf" + days.body.replace(b"\n", b"\r\n")
    np.testing.assert_array_equal(
        table_of(days.read(body)).tmax, table_of(days.read(days.body)).tmax
    )


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (b"", "empty"),
        (b"Sorry, the station number is not known\n", "a page instead of data"),
        (
            b"<html><head><title>Request Rejected</title></head></html>",
            "a page instead",
        ),
        (b"Request Rejected. Your support ID is: 1\n", "a page instead of data"),
        (b"\xff\xfe\n", "not UTF-8"),
        (b"\n", "the columns are"),
        (b"latitude,longitude\n", "the columns are latitude,longitude"),
        (b" " * (LARGEST + 1), "bytes"),
    ],
)
def test_what_is_not_the_table_is_unusable(days: Case, body: bytes, said: str) -> None:
    """Excuses come with status 200."""
    with pytest.raises(UnusableError, match=r"^SILO: ") as caught:
        days.read(body)
    assert said in str(caught.value)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("min_temp,min_temp_source", "min_temp,vp_source", "the columns are"),
        ("2026-09-05", "2026-09-04", "asked for each from"),
        ("2026-09-01", "2026-08-31", "asked for each from"),
        ("2026-09-05", "05/09/2026", "asked for each from"),
        ("2026-09-05", "", "asked for each from"),
        ("2026-09-01", "\x1b[31m", "'\\x1b[31m' to '2026-09-12'"),
        (" -34.5500", " -35.5500", "not within 30 km"),
        (" 138.7500", " 138,7500", "cells, not"),
        (" 138.7500", " east", "longitude of '2026-09-01' is 'east'"),
        ("extracted=20260915", "", "notes missing: extracted="),
        ("Please see the pages of the service", "dataset=", "notes missing: the last"),
        ('"reference=RXN"', '"reference=RXN', "not CSV"),
        (",25,", ",", "cells, not"),
        ("    0.0,25", "    1_0,25", "daily_rain of"),
        ("    0.0,25", "    nan,25", "daily_rain of"),
    ],
)
def test_a_wrong_cell_is_unusable(days: Case, old: str, new: str, said: str) -> None:
    """Header, dates, place, numbers and the notes that show the answer is whole."""
    with pytest.raises(UnusableError) as caught:
        days.read(changed(days, old, new))
    assert said in str(caught.value)


def test_empty_strange_and_contradicting_values_are_missing(days: Case) -> None:
    """Never zero, each counted: empty, -99.9, unknown code, minimum over maximum."""
    lines = days.body.decode().splitlines()
    head = lines[0].split(",")
    rows = [line.split(",") for line in lines]
    for row, column, value in (
        (3, "daily_rain", ""),
        (4, "daily_rain", "-99.9"),
        (5, "max_temp_source", "13"),
        (6, "min_temp", "40.0"),
        (7, "max_temp", "99.9"),
        (8, "daily_rain", "-0.0"),
    ):
        rows[row][head.index(column)] = value
    body = "".join(",".join(row) + "\n" for row in rows).encode()
    parsed = days.read(body)
    table = table_of(parsed)
    assert np.isnan(table.rain[[2, 3]]).all()
    assert np.isnan(table.tmax[[4, 5, 6]]).all()
    assert np.isnan(table.tmin[5])
    assert not np.signbit(table.rain[7])
    told = " ".join(parsed.warnings)
    for said in ("outside 0 to 1000 mm", "code is not known", "minimum above"):
        assert said in told


def test_an_unreadable_height_is_not_a_number(days: Case) -> None:
    """The note is free text; the days do not depend on it."""
    cell = days.read(changed(days, "  68.0 m", "unknown")).cell
    assert cell is not None
    assert np.isnan(cell.elevation)


def test_the_address_holds_no_mail_and_no_password(days: Case) -> None:
    """The e-mail and the fixed word travel beside the URL, on the 0.05 degree grid."""
    request = days.request
    assert request.secrets == {
        "username": "grazier@farm.net.au",
        "password": "api_request",
    }
    assert "grazier" not in request.url + repr(request)
    assert "password" not in request.url
    assert "latitude=-34.5500" in request.url
    assert "start=20260901" in request.url
    assert "comment=RXN" in request.url


def test_days_asked_for_end_two_days_ago(days: Case) -> None:
    """The last one or two are not surely there, so the whole span can be demanded."""
    request = silo.request(
        days.request.place,
        MADE,
        first_day=np.datetime64("2026-09-01"),
        last_day=np.datetime64("2026-09-30"),
        contact="grazier@farm.net.au",
    )
    assert "finish=20260912" in request.url
    assert replace(days, request=request).read(days.body).days is not None


@pytest.mark.parametrize(
    ("first", "last", "contact", "said"),
    [
        ("1888-12-31", "1990-01-01", "grazier@farm.net.au", "it has them from"),
        ("2026-09-14", "2026-09-20", "grazier@farm.net.au", "no days from"),
        ("2020-01-01", "2020-12-31", "", "an e-mail address"),
        ("2020-01-01", "2020-12-31", "https://farm.net.au", "an e-mail address"),
        ("2020-01-01", "2020-12-31", "me@example.com", "your own address"),
    ],
)
def test_impossible_requests_are_refused(
    days: Case, first: str, last: str, contact: str, said: str
) -> None:
    """Before anything goes on the wire."""
    with pytest.raises(RefusedError, match=said):
        silo.request(
            days.request.place,
            MADE,
            first_day=np.datetime64(first),
            last_day=np.datetime64(last),
            contact=contact,
        )


def test_a_place_outside_the_grid_is_refused() -> None:
    """The grid covers 112 to 154° E and 10 to 44° S."""
    with pytest.raises(RefusedError, match="outside Australia"):
        silo.request(
            Place(40.0, -74.0, 10.0, "America/New_York"),
            MADE,
            first_day=np.datetime64("2020-01-01"),
            last_day=np.datetime64("2020-12-31"),
            contact="grazier@farm.net.au",
        )


@pytest.mark.parametrize("contact", ["grazier@farm.net.au", "a@b.au"])
@pytest.mark.parametrize("echo", ["{}", "{} said %40 {}", "<p>{}</p>"])
def test_no_message_repeats_the_mail_address(
    days: Case, contact: str, echo: str
) -> None:
    """Whatever the service's excuse says, even an address too short to hide in bodies.

    The address is contact data of a person.
    """
    request = replace(
        days.request, secrets={"username": contact, "password": "api_request"}
    )
    body = f"Sorry, no such user: {echo.format(contact, contact.upper())}\n".encode()
    with pytest.raises(UnusableError, match="a page instead of data") as caught:
        replace(days, request=request).read(body)
    assert contact.lower() not in str(caught.value).lower()
    assert caught.value.__cause__ is None


@pytest.mark.parametrize(
    ("made", "newest"),
    [
        # 1 January 1970 was a Thursday, so weeks end with one; two days must be past.
        ("2026-10-10T00:00", "2026-10-08"),
        ("2026-10-09T23:59", "2026-10-01"),
        ("2026-10-16T20:00", "2026-10-08"),
        ("2026-10-17T00:00", "2026-10-15"),
    ],
)
def test_a_span_ends_with_a_whole_week(made: str, newest: str) -> None:
    """So that its address, and with it the answer, holds for a week."""
    assert silo.newest_week(np.datetime64(made, "s")) == np.datetime64(newest, "D")


@pytest.mark.parametrize(
    ("latitude", "longitude", "inside"),
    [
        (-37.6, 142.3, True),
        (-44.0, 112.0, True),
        (-10.0, 154.0, True),
        (-44.01, 147.0, False),
        (-9.99, 142.0, False),
        (-35.0, 111.99, False),
        (-43.5, 172.6, False),
    ],
)
def test_the_grid_covers_a_box(
    latitude: float, longitude: float, *, inside: bool
) -> None:
    """112 to 154° E, 10 to 44° S (SILO, frequently asked questions)."""
    place = Place(latitude, longitude, 0.0, "Australia/Melbourne")
    assert silo.covers(place) is inside


def test_on_our_days_rain_moves_back_and_extremes_stay(days: Case) -> None:
    """Rain dated the 2nd is mostly of the 1st; the last day has none yet."""
    dated = table_of(days.read(days.body))
    ours = silo.on_solar_days(dated)
    np.testing.assert_array_equal(ours.rain[:-1], dated.rain[1:])
    assert np.isnan(ours.rain[-1])
    np.testing.assert_array_equal(ours.tmax, dated.tmax)
    np.testing.assert_array_equal(ours.tmin, dated.tmin)
    assert (ours.warmth_from == DayOrigin.SILO).all()
    assert (ours.rain_from == DayOrigin.SILO).all()
