"""Clocks of foreign tables: zones, summer time, 24:00, typical years."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from forecaster.errors import DataError
from forecaster.sources.csv_file import read_csv

Foreign = Callable[..., Path]


def rows(times: list[str]) -> str:
    """A table whose temperatures count up from 1."""
    lines = [f"{time},{number}" for number, time in enumerate(times, 1)]
    return "\n".join(["time,temp", *lines]) + "\n"


def by_hour(path: Path) -> dict[str, float]:
    """Temperatures that are there, by UTC hour."""
    frame = read_csv(path).frame
    there = ~np.isnan(frame.air_temperature)
    times = np.datetime_as_string(frame.time[there], unit="m").tolist()
    return dict(zip(times, frame.air_temperature[there].tolist(), strict=True))


@pytest.mark.parametrize(
    ("zone", "utc"),
    [
        ("UTC", "2026-10-12T07:00"),
        ("+10:00", "2026-10-11T21:00"),
        ("-05:00", "2026-10-12T12:00"),
        ("Australia/Melbourne", "2026-10-11T20:00"),
        ("Australia/Perth", "2026-10-11T23:00"),
    ],
)
def test_zones(foreign: Foreign, zone: str, utc: str) -> None:
    """07:00 on 12 October 2026 in each kind of zone, as the zone's rule says."""
    path = foreign(rows(["2026-10-12 07:00"]), time={"zone": zone})
    assert by_hour(path) == {utc: 1.0}
    if "/" in zone:
        local = dt.datetime(2026, 10, 12, 7, tzinfo=ZoneInfo(zone))
        expected = local.astimezone(dt.UTC).strftime("%Y-%m-%dT%H:%M")
        assert expected == utc


@pytest.mark.parametrize("order", [1, -1], ids=["oldest first", "newest first"])
def test_doubled_autumn_hour(foreign: Foreign, order: int) -> None:
    """4 April 2027 in Melbourne: 02:00 stands twice and is told apart by order."""
    times = ["2027-04-04 01:00", "2027-04-04 02:00", "2027-04-04 02:00"]
    times += ["2027-04-04 03:00"]
    path = foreign(rows(times[::order]), time={"zone": "Australia/Melbourne"})
    found = by_hour(path)
    assert list(found) == [f"2027-04-03T{hour}:00" for hour in (14, 15, 16, 17)]
    assert list(found.values()) == [1.0, 2.0, 3.0, 4.0][::order]


def test_half_hour_summer_time(foreign: Foreign) -> None:
    """Lord Howe moves by half an hour: 01:30 stands twice, 02:00 once."""
    times = ["2027-04-04 01:00", "2027-04-04 01:30", "2027-04-04 01:30"]
    times += ["2027-04-04 02:00", "2027-04-04 02:30"]
    path = foreign(rows(times), time={"zone": "Australia/Lord_Howe"})
    found = by_hour(path)
    # +11:00 before, +10:30 after: half hours every half hour, nearest to the hour.
    assert found == {
        "2027-04-03T14:00": 1.0,
        "2027-04-03T15:00": 3.0,
        "2027-04-03T16:00": 5.0,
    }


def test_autumn_hour_that_stands_once_is_left_out(foreign: Foreign) -> None:
    """One 02:00 where the clock showed two: nobody knows which; it is counted."""
    times = ["2027-04-04 01:00", "2027-04-04 02:00", "2027-04-04 03:00"]
    path = foreign(rows(times), time={"zone": "Australia/Melbourne"})
    assert list(by_hour(path)) == ["2027-04-03T14:00", "2027-04-03T17:00"]
    report = read_csv(path).report
    assert report.hours_missing == 2
    reason = "autumn hour that the clock showed twice and the file once"
    assert report.count(reason, "time") == 1
    assert report.findings[0].examples[0].row == 3


def test_a_table_of_one_doubtful_hour_is_refused(foreign: Foreign) -> None:
    """If no row can be placed in time, the reason is given."""
    path = foreign(rows(["2027-04-04 02:00"]), time={"zone": "Australia/Melbourne"})
    with pytest.raises(DataError, match=r"no row is left.*showed twice"):
        read_csv(path)


def test_autumn_hour_three_times_is_refused(foreign: Foreign) -> None:
    """Three rows for an hour that came twice: all three lines are named."""
    path = foreign(rows(["2027-04-04 02:00"] * 3), time={"zone": "Australia/Melbourne"})
    with pytest.raises(DataError, match="more than twice") as caught:
        read_csv(path)
    for line in (2, 3, 4):
        assert f"weather.csv:{line}:" in str(caught.value)


def test_skipped_spring_hour_is_refused(foreign: Foreign) -> None:
    """4 October 2026, 02:00 to 02:59, never was in Adelaide; the line is named."""
    path = foreign(
        rows(["2026-10-04 01:00", "2026-10-04 02:00"]),
        time={"zone": "Australia/Adelaide"},
    )
    with pytest.raises(DataError, match="never showed") as caught:
        read_csv(path)
    assert "weather.csv:3:" in str(caught.value)
    assert "+09:30" in str(caught.value)


def test_offsets_in_every_row(foreign: Foreign) -> None:
    """A file that carries its offset needs no zone."""
    path = foreign(
        rows(["2026-10-04 01:00+1030", "2026-10-04 01:30+0930"]),
        time={"zone": None, "format": "%Y-%m-%d %H:%M%z"},
    )
    # 14:30 and 16:00 UTC; half past belongs to the hour it lies in.
    assert by_hour(path) == {"2026-10-03T14:00": 1.0, "2026-10-03T16:00": 2.0}


@pytest.mark.parametrize(
    ("form", "texts"),
    [
        ("%Y-%m-%d %H:%M", ["2026-12-31 23:00", "2026-12-31 24:00"]),
        ("%d/%m/%Y %H:%M:%S", ["31/12/2026 23:00:00", "31/12/2026 24:00:00"]),
        ("%d-%b-%y %H.%M", ["31-Dec-26 23.00", "31-Dec-26 24.00"]),
    ],
)
def test_twenty_four_is_midnight_of_the_next_day(
    foreign: Foreign, form: str, texts: list[str]
) -> None:
    """24:00 on New Year's Eve is 00:00 on New Year's Day, as ISO 8601:2000 had it."""
    path = foreign(rows(texts), time={"format": form})
    assert list(by_hour(path)) == ["2026-12-31T23:00", "2027-01-01T00:00"]


@pytest.mark.parametrize(
    "text", ["2026-12-31 24:30", "2026-12-31 25:00", "31/12/2026 23:00", "soon", ""]
)
def test_times_of_another_form_are_refused(foreign: Foreign, text: str) -> None:
    """What the format does not fit is named with its line, never guessed."""
    path = foreign(rows(["2026-12-31 22:00", text]))
    with pytest.raises(DataError, match="not like format") as caught:
        read_csv(path)
    assert "weather.csv:3:" in str(caught.value)


def test_twelve_hour_clock(foreign: Foreign) -> None:
    """12 AM is midnight and 12 PM is noon."""
    path = foreign(
        rows(["4/10/2026 12:00 AM", "4/10/2026 12:00 PM"]),
        time={"format": "%d/%m/%Y %I:%M %p"},
    )
    assert list(by_hour(path)) == ["2026-10-04T00:00", "2026-10-04T12:00"]


def test_typical_year_drops_a_day_it_does_not_have(foreign: Foreign) -> None:
    """29 February goes when the year has none, and is counted."""
    path = foreign(
        rows(["1996-02-28 23:00", "1996-02-29 00:00", "1987-03-01 00:00"]),
        table={"typical_year": 2005},
    )
    assert by_hour(path) == {"2005-02-28T23:00": 1.0, "2005-03-01T00:00": 3.0}
    report = read_csv(path).report
    assert report.count("29 February in a year without one", "time") == 1


def test_mistyped_year_is_refused(foreign: Foreign) -> None:
    """A span of a thousand years names both ends instead of filling memory."""
    path = foreign(rows(["2013-01-01 00:00", "2963-01-01 01:00"]))
    with pytest.raises(DataError, match=r"line 2.*line 3.*check the years"):
        read_csv(path)
