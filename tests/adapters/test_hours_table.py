"""Our own table of hours: exact both ways, every fault named with its place."""

from __future__ import annotations

import csv
import statistics
import subprocess
import sys
import time
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from forecaster.domain.weather import HOUR, QUANTITIES, Origin, Provenance, WeatherFrame
from forecaster.errors import DataError, InputMissingError, OutputError
from forecaster.sources.hours_table import HEADER, read_hours, write_hours

if TYPE_CHECKING:
    from pathlib import Path

START = np.datetime64("2026-10-12T07:00:00", "s")
PROVENANCE = Provenance("a farm", "own data", START)
LIMITS = {
    "air_temperature": (-25, 55),
    "relative_humidity": (0, 100),
    "pressure": (850, 1060),
    "wind_speed": (0, 45),
    "wind_from": (0, 360),
    "wind_gust": (0, 80),
    "rain": (0, 120),
    "rain_chance": (0, 100),
    "cloud": (0, 1),
    "low_cloud": (0, 1),
    "radiation": (0, 1400),
    "air_temperature_80m": (-25, 55),
}


def table(tmp_path: Path, text: str) -> Path:
    """A file with this text."""
    path = tmp_path / "hours.csv"
    path.write_text(text, encoding="utf-8")
    return path


def read(path: Path) -> WeatherFrame:
    """The frame of a file."""
    return read_hours(path, provenance=PROVENANCE)


def frame_of(columns: dict[str, list[float]], origin: list[int]) -> WeatherFrame:
    """A frame from lists."""
    return WeatherFrame(
        time=START + np.arange(len(origin)) * HOUR,
        **{name: np.array(values) for name, values in columns.items()},
        origin=np.array(origin, dtype=np.uint8),
        provenance=PROVENANCE,
        marks={},
    )


def same(one: WeatherFrame, other: WeatherFrame) -> bool:
    """Whether two frames hold the same hours, values and origins."""
    return all(
        np.array_equal(getattr(one, q), getattr(other, q), equal_nan=True)
        for q in QUANTITIES
    ) and bool(
        np.array_equal(one.time, other.time)
        and np.array_equal(one.origin, other.origin)
    )


@st.composite
def frames(draw: st.DrawFn) -> WeatherFrame:
    """Any frame within the allowed ranges, with missing values."""
    size = draw(st.integers(1, 6))
    columns = {
        name: draw(
            st.lists(
                st.one_of(st.just(float("nan")), st.floats(low, high)),
                min_size=size,
                max_size=size,
            )
        )
        for name, (low, high) in LIMITS.items()
    }
    origin = draw(st.lists(st.sampled_from([0, 1, 2, 3]), min_size=size, max_size=size))
    return frame_of(columns, origin)


@settings(max_examples=60, deadline=None)
@given(frame=frames())
def test_round_trip_is_exact(
    frame: WeatherFrame, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """What is written reads back bit for bit, origins and missing values too."""
    path = tmp_path_factory.mktemp("round") / "hours.csv"
    write_hours(frame, path)
    again = read(path)
    assert same(frame, again)
    write_hours(again, path.with_name("again.csv"))
    assert path.read_bytes() == path.with_name("again.csv").read_bytes()


def test_pandas_reads_the_same_numbers(tmp_path: Path) -> None:
    """A general table reader sees the hours and numbers that we see."""
    rng = np.random.default_rng(7)
    columns = {
        name: np.round(rng.uniform(low, high, 400), 2).tolist()
        for name, (low, high) in LIMITS.items()
    }
    columns["rain"][3] = float("nan")
    path = tmp_path / "hours.csv"
    write_hours(frame_of(columns, [1] * 399 + [2]), path)
    theirs = pd.read_csv(path)
    assert list(theirs.columns) == list(HEADER)
    ours = read(path)
    times = pd.to_datetime(theirs["time_utc"]).dt.tz_localize(None)
    np.testing.assert_array_equal(ours.time, times.to_numpy().astype("datetime64[s]"))
    for name in QUANTITIES:
        np.testing.assert_allclose(getattr(ours, name), theirs[name], rtol=1e-14)
    assert theirs["origin"].iloc[-1] == "forecast"


def test_left_out_hours_become_missing_rows(tmp_path: Path) -> None:
    """Two hours left out are NaN rows of origin MISSING between the others."""
    path = table(
        tmp_path,
        "time_utc,air_temperature\n2026-10-12T07:00Z,15.5\n2026-10-12T10:00Z,\n"
        "2026-10-12T11:00:00Z,16\n",
    )
    frame = read(path)
    np.testing.assert_array_equal(
        frame.air_temperature, [15.5, np.nan, np.nan, np.nan, 16.0]
    )
    assert frame.origin.tolist() == [
        Origin.OBSERVED,
        Origin.MISSING,
        Origin.MISSING,
        Origin.MISSING,
        Origin.OBSERVED,
    ]
    assert frame.time[-1] == np.datetime64("2026-10-12T11:00:00")
    assert np.isnan(frame.rain).all()


def test_columns_may_stand_in_any_order_and_with_spaces(tmp_path: Path) -> None:
    """Order, spaces, a byte-order mark, CRLF and blank lines change nothing."""
    path = tmp_path / "hours.csv"
    path.write_bytes(
        b"\xef\xbb\xbforigin, rain ,time_utc\r\nforecast, 0.2 ,2026-10-12T07:00Z\r\n"
        b"\r\nobserved,,2026-10-12T08:00Z\r\n"
    )
    frame = read(path)
    np.testing.assert_array_equal(frame.rain, [0.2, np.nan])
    assert frame.origin.tolist() == [Origin.FORECAST, Origin.OBSERVED]


def test_equal_rows_are_kept_once(tmp_path: Path) -> None:
    """A row that stands twice with the same values counts once."""
    row = "2026-10-12T07:00Z,15.5,\n"
    path = table(tmp_path, f"time_utc,air_temperature,rain\n{row}{row}")
    assert len(read(path)) == 1


HEAD = "time_utc,air_temperature,relative_humidity,origin\n"
GOOD = "2026-10-12T07:00Z,15.5,60,observed\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            HEAD + GOOD + "2026-10-12T08:00Z,abc,60,observed\n",
            ["hours.csv:3:air_temperature", '"abc"', "not a number", "-25 to 55 °C"],
        ),
        (
            HEAD + GOOD + "\n2026-10-12T08:00Z,99,60,observed\n",
            ["hours.csv:4:air_temperature", '"99"', "out of range", "-25 to 55 °C"],
        ),
        (HEAD + GOOD + "2026-10-12T08:00Z,1,101,\n", [":3:relative_humidity", "100"]),
        (HEAD + GOOD + "2026-10-12T08:00Z,nan,60,\n", ['"nan"', "not a number"]),
        (HEAD + GOOD + "2026-10-12T08:00Z,1_0,60,\n", ['"1_0"', "not a number"]),
        (HEAD + GOOD + "2026-10-12T08:00Z,inf,60,\n", ['"inf"', "out of range"]),
        (HEAD + GOOD + "2026-10-12T08:00Z,0x1A,60,\n", ['"0x1A"', "not a number"]),
        (HEAD + GOOD + "2026-10-12T06:00Z,1,60,\n", [":3:time_utc", "sort the rows"]),
        (HEAD + GOOD + "2026-10-12T07:00Z,1,60,\n", ["line 2", "different values"]),
        (HEAD + GOOD + "2026-10-12T07:30Z,1,60,\n", [":3:time_utc", "whole UTC hour"]),
        (HEAD + GOOD + "2026-10-12T08:00,1,60,\n", ["not a UTC time", "with the Z"]),
        (HEAD + GOOD + "2026-02-30T08:00Z,1,60,\n", ["not a UTC time"]),
        (HEAD + GOOD + "2026-10-12T08:00:00Zoo,1,60,\n", ["not a UTC time"]),
        (HEAD + GOOD + "3026-10-12T08:00Z,1,60,\n", ["more than a century"]),
        (HEAD + GOOD + "2026-10-12T08:00Z,1,60,guess\n", ['"guess"', "forecast"]),
        (HEAD + GOOD + "2026-10-12T08:00Z,1,60\n", [":3: 3 cells", "header has 4"]),
        ("time_utc,air_temp\n", ['"air_temp"', "did you mean air_temperature?"]),
        ("time_utc,rain,rain\n", ['"rain" stands twice']),
        ("rain,cloud\n0,1\n", ["column time_utc is missing"]),
        (HEAD, ["no rows"]),
        ("\n\n", ["no header"]),
        ("", ["empty"]),
        ("time_utc,rain\n2026-10-12T07:00Z,1\0\n", ["hours.csv:2", "NUL"]),
    ],
)
def test_faults_say_where_what_and_what_to_do(
    tmp_path: Path, text: str, said: list[str]
) -> None:
    """Each fault is one DataError that names the place and what is allowed."""
    with pytest.raises(DataError) as caught:
        read(table(tmp_path, text))
    for words in said:
        assert words in str(caught.value)
    assert caught.value.exit_code == 65


def test_many_faults_are_one_short_message(tmp_path: Path) -> None:
    """A hundred bad cells are counted; the message stays under twenty lines."""
    rows = "".join(f"2026-10-12T{h % 24:02d}:00Z,x,60,\n" for h in range(100))
    with pytest.raises(DataError, match="and 90 more") as caught:
        read(table(tmp_path, HEAD + rows))
    assert len(str(caught.value).splitlines()) < 20


def test_a_lone_wide_cell_is_refused(tmp_path: Path) -> None:
    """A cell beyond what the csv reader takes is a clear error, not a traceback."""
    wide = "9" * 200_000
    with pytest.raises(DataError, match="not a comma-separated table"):
        read(table(tmp_path, f"time_utc,rain\n2026-10-12T07:00Z,{wide}\n"))
    with pytest.raises(DataError, match="not a comma-separated table"):
        read(table(tmp_path, f"time_utc,{wide}\n"))


def test_missing_file_and_folder(tmp_path: Path) -> None:
    """A file that is not there and a folder are InputMissingError, exit code 66."""
    for path in (tmp_path / "no.csv", tmp_path):
        with pytest.raises(InputMissingError) as caught:
            read(path)
        assert caught.value.exit_code == 66


def test_failed_write_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """If the disk fills up half way, the older file is whole and nothing is left."""
    path = tmp_path / "hours.csv"
    frame = frame_of({name: [1.0 * low] for name, (low, _) in LIMITS.items()}, [1])
    write_hours(frame, path)
    before = path.read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OutputError, match="No space left") as caught:
        write_hours(frame, path)
    assert caught.value.exit_code == 73
    assert path.read_bytes() == before
    assert [each.name for each in tmp_path.iterdir()] == ["hours.csv"]


def test_write_into_no_folder_is_an_output_error(tmp_path: Path) -> None:
    """A folder that does not exist is told as such."""
    frame = frame_of({name: [1.0 * low] for name, (low, _) in LIMITS.items()}, [1])
    with pytest.raises(OutputError, match="cannot be written"):
        write_hours(frame, tmp_path / "no" / "hours.csv")


def test_reading_needs_no_pandas(tmp_path: Path) -> None:
    """The daily program reads hours and days without the slow imports."""
    path = table(tmp_path, HEAD + GOOD)
    code = (
        "import sys, pathlib, numpy as np\n"
        "from forecaster.sources.hours_table import read_hours\n"
        "import forecaster.sources.days_table, forecaster.sources.csv_file\n"
        "from forecaster.domain.weather import Provenance\n"
        "now = np.datetime64('2026-01-01', 's')\n"
        "read_hours(pathlib.Path(sys.argv[1]), provenance=Provenance('a', 'b', now))\n"
        "print(sorted({'pandas', 'metpy', 'pint'} & set(sys.modules)))\n"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code, str(path)],
        capture_output=True,
        text=True,
        check=True,
    )
    assert ran.stdout == "[]\n"


def test_reading_is_not_much_slower_than_the_csv_module(tmp_path: Path) -> None:
    """5,000 full rows take at most ten bare passes of the standard csv reader."""
    rng = np.random.default_rng(1)
    columns = {
        name: np.round(rng.uniform(low, high, 5000), 1).tolist()
        for name, (low, high) in LIMITS.items()
    }
    path = tmp_path / "hours.csv"
    write_hours(frame_of(columns, [1] * 5000), path)
    ours, bare = [], []
    for _ in range(7):
        start = time.process_time()
        read(path)
        ours.append(time.process_time() - start)
        start = time.process_time()
        with path.open(newline="", encoding="utf-8") as text:
            rows = list(csv.reader(text))
        bare.append(time.process_time() - start)
    assert len(rows) == 5001
    assert statistics.median(ours) < 10 * statistics.median(bare)


def test_an_origin_left_out_in_a_middle_column_is_no_fault(tmp_path: Path) -> None:
    """A row with a value and no word for it is observed, wherever the column stands."""
    path = table(
        tmp_path,
        "time_utc,origin,air_temperature\n"
        "2026-10-12T07:00Z,,12.0\n"
        "2026-10-12T08:00Z,forecast,13.0\n",
    )
    frame = read(path)
    assert frame.origin.tolist() == [Origin.OBSERVED, Origin.FORECAST]
    assert frame.air_temperature.tolist() == [12.0, 13.0]
