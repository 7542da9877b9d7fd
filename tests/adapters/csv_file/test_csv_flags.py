"""Flags of single reports reach the hours their values stand in; worked out by hand."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest

from forecaster.domain.quality.flags import Flag
from forecaster.sources.csv_file import read_csv

Foreign = Callable[..., Path]

NAN = np.nan
COLUMNS = {
    "wind_speed": {"column": "wind", "unit": "m/s"},
    "rain": {"column": "rain", "unit": "mm"},
    "radiation": {"column": "sun", "unit": "W/m^2"},
}


def rows(step: int, cells: Sequence[str]) -> str:
    """A table of the columns from 05:00 on, every ``step`` minutes."""
    lines = ["time,wind,rain,sun"]
    for number, each in enumerate(cells):
        hour, minute = divmod(300 + step * number, 60)
        lines.append(f"2026-01-01 {hour:02d}:{minute:02d},{each}")
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize(("label", "hour"), [("start", "06"), ("end", "05")])
def test_flags_move_with_sums(foreign: Foreign, label: str, hour: str) -> None:
    """Hourly: 300 mm at 06:00 is of the hour the label marks; a wind stays at 06:00."""
    text = rows(60, ["3,0,0", "50,300,0", "3,0,0"])
    frame = read_csv(foreign(text, columns=COLUMNS, table={"label": label})).frame
    rain = frame.marks_of("rain")
    (row,) = np.flatnonzero(rain.bits).tolist()
    assert str(frame.time[row]) == f"2026-01-01T{hour}:00:00"
    assert (rain.bits[row], rain.given[row]) == (Flag.OUT_OF_RANGE, 300.0)
    assert np.isnan(frame.rain[row])
    wind = frame.marks_of("wind_speed")
    (row,) = np.flatnonzero(wind.bits).tolist()
    assert str(frame.time[row]) == "2026-01-01T06:00:00"
    assert wind.given[row] == 50.0


def test_an_hour_of_fine_rows_has_the_flags_of_all_of_them(foreign: Foreign) -> None:
    """Two of four rains refused: no sum, the larger is shown; night zeros are clipped.

    The wind of 05:30 stands in no hour, so neither does what was said against it.
    """
    cells = [
        "3,0,-2",
        "3,130,-3",
        "50,200,5",
        "3,0,6",
        "3,0,7",
        "3,1,7",
        *["3,0,0"] * 2,
    ]
    frame = read_csv(foreign(rows(15, cells), columns=COLUMNS)).frame
    np.testing.assert_array_equal(frame.rain, [NAN, 1.0, NAN])
    rain = frame.marks_of("rain")
    assert rain.bits.tolist() == [Flag.OUT_OF_RANGE, 0, 0]
    np.testing.assert_array_equal(rain.given, [200.0, NAN, NAN])
    sun = frame.marks_of("radiation")
    assert sun.bits.tolist() == [Flag.CLIPPED, 0, 0]
    assert frame.radiation[0] == (0 + 0 + 5 + 6) / 4
    assert sun.given[0] == -2.0
    assert (
        "wind_speed" not in frame.marks or not frame.marks_of("wind_speed").bits.any()
    )
    np.testing.assert_array_equal(frame.wind_speed, [3.0, 3.0, 3.0])


def test_a_sound_table_carries_no_marks(foreign: Foreign) -> None:
    """Nothing is stored where nothing was said."""
    frame = read_csv(foreign(rows(60, ["3,0,0", "4,1,9"]), columns=COLUMNS)).frame
    assert frame.marks == {}
