"""Reports at any minute put on hours; expected values worked out by hand."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from forecaster.errors import DataError
from forecaster.sources.csv_file import read_csv

Foreign = Callable[..., Path]

COLUMNS = {
    "air_temperature": {"column": "temp", "unit": "degC"},
    "wind_gust": {"column": "gust", "unit": "m/s"},
    "rain": {"column": "rain", "unit": "mm"},
    "radiation": {"column": "sun", "unit": "W/m^2"},
}
NAN = np.nan


def rows(cells: list[str]) -> str:
    """A table with a short time and the four columns."""
    return "\n".join(["time,temp,gust,rain,sun", *cells]) + "\n"


def test_label_start(foreign: Foreign) -> None:
    """With the label at the start, sums stay in the row of their label."""
    text = rows(["2026-01-01 05:00,20,4,0.2,100", "2026-01-01 06:00,21,5,0.4,200"])
    frame = read_csv(foreign(text, columns=COLUMNS)).frame
    np.testing.assert_array_equal(frame.air_temperature, [20, 21])
    np.testing.assert_array_equal(frame.rain, [0.2, 0.4])


def test_label_end(foreign: Foreign) -> None:
    """With the label at the end, sums go one row back and instants stay."""
    text = rows(["2026-01-01 05:00,20,4,0.2,100", "2026-01-01 06:00,21,5,0.4,200"])
    frame = read_csv(foreign(text, columns=COLUMNS, table={"label": "end"})).frame
    assert str(frame.time[0]) == "2026-01-01T04:00:00"
    np.testing.assert_array_equal(frame.air_temperature, [NAN, 20, 21])
    np.testing.assert_array_equal(frame.rain, [0.2, 0.4, NAN])
    np.testing.assert_array_equal(frame.wind_gust, [4, 5, NAN])
    np.testing.assert_array_equal(frame.radiation, [100, 200, NAN])


def test_label_end_without_sums_adds_no_hour(foreign: Foreign) -> None:
    """A table of instants alone has no hour before its first label."""
    text = "time,temp\n2026-01-01 05:00,20\n"
    assert len(read_csv(foreign(text, table={"label": "end"})).frame) == 1


def test_airport_minutes(foreign: Foreign) -> None:
    """Reports at 10:51 and 11:51 stand for 11:00 and 12:00; 11:20 is left out."""
    text = rows(
        [
            "2026-01-01 10:51,20,4,0.2,1",
            "2026-01-01 11:20,99,9,9.9,9",
            "2026-01-01 11:51,21,5,0.4,2",
            "2026-01-01 12:51,22,6,0.6,3",
        ]
    ).replace("99,9,9.9", "30,9,9.9")
    imported = read_csv(foreign(text, columns=COLUMNS, table={"label": "end"}))
    frame = imported.frame
    assert str(frame.time[0]) == "2026-01-01T10:00:00"
    np.testing.assert_array_equal(frame.air_temperature, [NAN, 20, 21, 22])
    np.testing.assert_array_equal(frame.rain, [0.2, 0.4, 0.6, NAN])
    assert "4 reports not on a UTC hour" in imported.report.text()
    assert "1 reports left out" in imported.report.text()


def test_half_hour_zone(foreign: Foreign) -> None:
    """Whole hours of Adelaide lie at half past in UTC; each in the hour it lies in."""
    text = rows(["2026-06-01 10:00,12,4,0.2,1", "2026-06-01 11:00,13,5,0.4,2"])
    path = foreign(text, columns=COLUMNS, time={"zone": "Australia/Adelaide"})
    frame = read_csv(path).frame
    assert str(frame.time[0]) == "2026-06-01T00:00:00"
    np.testing.assert_array_equal(frame.air_temperature, [12, 13])
    np.testing.assert_array_equal(frame.rain, [0.2, 0.4])


@pytest.mark.parametrize("label", ["start", "end"])
def test_ten_minute_rows(foreign: Foreign, label: str) -> None:
    """Six rows make an hour: rain summed, gust the highest, radiation the mean."""
    begin = 0 if label == "start" else 10
    cells = []
    for number in range(12):
        minutes = begin + 10 * number
        time = f"2026-01-01 {5 + minutes // 60:02d}:{minutes % 60:02d}"
        gust, sun = 3 + number, 100 * number
        cells.append(f"{time},{10 + number},{gust},0.2,{sun}")
    path = foreign(rows(cells), columns=COLUMNS, table={"label": label})
    frame = read_csv(path).frame
    first = int(np.flatnonzero(frame.time == np.datetime64("2026-01-01T05:00:00"))[0])
    np.testing.assert_allclose(frame.rain[first : first + 2], [1.2, 1.2])
    np.testing.assert_array_equal(frame.wind_gust[first : first + 2], [8, 14])
    np.testing.assert_array_equal(frame.radiation[first : first + 2], [250, 850])
    at_six = frame.air_temperature[first + 1]
    assert at_six == (16 if label == "start" else 15)


def test_an_hour_with_a_row_missing_has_no_rain_sum(foreign: Foreign) -> None:
    """Five of six ten-minute rows do not make a sum; a missing cell neither.

    The last row, at 07:50, is also the nearest to 08:00: an hour without sums.
    """
    cells = [
        f"2026-01-01 {5 + n // 6:02d}:{n % 6}0,10,3,{'' if n == 13 else 0.2},1"
        for n in range(18)
        if n != 2
    ]
    frame = read_csv(foreign(rows(cells), columns=COLUMNS)).frame
    np.testing.assert_allclose(frame.rain, [NAN, 1.2, NAN, NAN])
    np.testing.assert_array_equal(frame.wind_gust, [NAN, 3, 3, NAN])


def test_coarse_and_crooked_steps_are_refused(foreign: Foreign) -> None:
    """Three-hourly rows and rows every seven minutes are not hours."""
    coarse = [
        f"2026-01-{day:02d} {hour:02d}:00,1"
        for day in (1, 2)
        for hour in range(0, 24, 3)
    ]
    with pytest.raises(DataError, match="3 h apart"):
        read_csv(foreign("time,temp\n" + "\n".join(coarse)))
    crooked = [f"2026-01-01 05:{minute:02d},1" for minute in range(0, 60, 7)]
    with pytest.raises(DataError, match="7 min apart"):
        read_csv(foreign("time,temp\n" + "\n".join(crooked)))


def every(minutes: float, count: int) -> str:
    """A table of temperature and rain with rows so many minutes apart."""
    start = np.datetime64("2026-01-01T05:00:00", "s")
    times = start + np.round(np.arange(count) * minutes * 60).astype("timedelta64[s]")
    cells = [f"{str(time).replace('T', ' ')},20,3,0.2,1" for time in times]
    return rows(cells)


SECONDS = {"format": "%Y-%m-%d %H:%M:%S"}


@pytest.mark.parametrize("minutes", [31, 35, 40, 45, 50, 55, 59])
def test_steps_between_half_an_hour_and_an_hour_are_refused(
    foreign: Foreign, minutes: int
) -> None:
    """Some hours hold two such rows: the rain of one would be lost without a word."""
    path = foreign(every(minutes, 100), columns=COLUMNS, time=SECONDS)
    with pytest.raises(DataError, match=f"usually {minutes} min apart") as caught:
        read_csv(path)
    assert "steps of 5, 10, 15, 30 or 60 minutes" in str(caught.value)
    assert caught.value.exit_code == 65


@pytest.mark.parametrize("count", [2, 3, 4])
def test_a_few_rows_forty_minutes_apart_are_refused(
    foreign: Foreign, count: int
) -> None:
    """However short the table is."""
    with pytest.raises(DataError, match="usually 40 min apart"):
        read_csv(foreign(every(40, count), columns=COLUMNS, time=SECONDS))


def test_reports_at_any_time_are_refused(foreign: Foreign) -> None:
    """Hourly on average, 20 to 100 minutes apart, at no one minute of the hour."""
    minutes = np.cumsum(np.random.default_rng(1).integers(20, 101, 60))
    cells = [
        f"2026-01-{1 + (300 + m) // 1440:02d} {(300 + m) // 60 % 24:02d}:{m % 60:02d}"
        ",20,3,0.2,1"
        for m in minutes.tolist()
    ]
    with pytest.raises(DataError, match="neither hourly nor"):
        read_csv(foreign(rows(cells), columns=COLUMNS))


@pytest.mark.parametrize("minutes", [10, 60])
def test_seconds_of_jitter_are_no_other_step(foreign: Foreign, minutes: int) -> None:
    """A logger a few seconds late or early keeps the rain of every hour."""
    count = 240 // minutes
    start = np.datetime64("2026-01-01T05:00:00", "s")
    times = start + np.arange(count) * np.timedelta64(minutes * 60, "s")
    off = np.random.default_rng(2).integers(-4, 5, count).astype("timedelta64[s]")
    cells = [f"{str(time).replace('T', ' ')},20,3,0.6,1" for time in times + off]
    frame = read_csv(foreign(rows(cells), columns=COLUMNS, time=SECONDS)).frame
    np.testing.assert_allclose(frame.rain[:4], [0.6 * 60 / minutes] * 4)


def test_hourly_reports_may_come_some_minutes_apart(foreign: Foreign) -> None:
    """Airports report at 51 to 54 past: every hour has its own rain."""
    past = [51, 53, 52, 51, 54, 51, 52]
    cells = [
        f"2026-01-01 {5 + n:02d}:{minute},20,3,{n}.0,1" for n, minute in enumerate(past)
    ]
    frame = read_csv(foreign(rows(cells), columns=COLUMNS)).frame
    assert frame.rain.tolist() == [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0]


def test_unsorted_rows_are_sorted(foreign: Foreign) -> None:
    """Newest first is a common order and no fault."""
    text = "time,temp\n2026-01-01 06:00,2\n2026-01-01 05:00,1\n"
    frame = read_csv(foreign(text)).frame
    np.testing.assert_array_equal(frame.air_temperature, [1, 2])


def test_doubled_rows(foreign: Foreign) -> None:
    """Equal rows count once and are counted; different ones name both lines."""
    row = "2026-01-01 05:00,1\n"
    imported = read_csv(foreign("time,temp\n" + row + row))
    assert imported.report.count("row stands twice", "time") == 1
    assert len(imported.frame) == 1
    path = foreign("time,temp\n" + row + "2026-01-01 05:00,2\n")
    with pytest.raises(DataError, match="lines 2 and 3"):
        read_csv(path)


def test_missing_hours_are_counted_by_quantity(foreign: Foreign) -> None:
    """A gap of two hours and an empty cell, in the report and in its text."""
    text = "time,temp\n2026-01-01 05:00,1\n2026-01-01 08:00,\n2026-01-01 09:00,3\n"
    report = read_csv(foreign(text)).report
    assert (report.rows, report.hours, report.hours_missing) == (3, 5, 3)
    assert dict(report.gaps)["air_temperature"] == 3
