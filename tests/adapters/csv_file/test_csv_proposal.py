"""Proposed mappings: what a header shows, what it cannot, and no silent use."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

import pytest

from forecaster.errors import DataError, InputMissingError, SettingsError
from forecaster.sources.csv_file import read_csv
from forecaster.sources.csv_proposal import propose

if TYPE_CHECKING:
    from pathlib import Path


def proposed(folder: Path, text: str) -> dict[str, Any]:
    """The proposal for a table, as values."""
    path = folder / "station.csv"
    path.write_text(text, encoding="utf-8")
    return tomllib.loads(propose(path))


def test_a_plain_header_shows_columns_and_units(tmp_path: Path) -> None:
    """ISO time, units in brackets, a soil sensor that is not the air."""
    found = proposed(
        tmp_path,
        "Timestamp,Soil Temp (C),Air Temp (C),RH (%),Wind Speed (km/h),"
        "Wind Gust (km/h),Wind Dir (deg),Rain (mm),Pressure (hPa)\n"
        "2026-10-12 07:00,9.1,11.4,88,5.4,9,225,0,1012.1\n"
        "2026-10-12 08:00,9.2,13.1,79,7.2,12,230,0.2,1012.0\n",
    )
    assert found["time"] == {
        "columns": ["Timestamp"], "format": "%Y-%m-%d %H:%M", "zone": "?",
    }  # fmt: skip
    assert found["columns"] == {
        "air_temperature": {"column": "Air Temp (C)", "unit": "degC"},
        "relative_humidity": {"column": "RH (%)", "unit": "percent"},
        "wind_speed": {"column": "Wind Speed (km/h)", "unit": "km/h"},
        "wind_gust": {"column": "Wind Gust (km/h)", "unit": "km/h"},
        "wind_from": {"column": "Wind Dir (deg)", "unit": "degree"},
        "rain": {"column": "Rain (mm)", "unit": "mm"},
        "pressure": {"column": "Pressure (hPa)", "unit": "hPa", "at": "?"},
    }


def test_a_title_semicolons_decimal_commas_and_compass_letters(tmp_path: Path) -> None:
    """As loggers set to other countries write, with their own missing mark."""
    found = proposed(
        tmp_path,
        "Station 3\nDate;Time;Temp;Hum;Wind;Dir;Rain\n"
        "13/10/2026;07:00;11,4;88;5,4;SW;0\n13/10/2026;08:00;13,1;--;7,2;W;2\n",
    )
    assert found["table"]["separator"] == ";"
    assert found["table"]["decimal"] == ","
    assert found["table"]["skip_rows"] == 1
    assert found["table"]["missing"] == ["", "--"]
    assert found["time"]["columns"] == ["Date", "Time"]
    assert found["time"]["format"] == "%d/%m/%Y %H:%M"
    assert found["columns"]["wind_from"]["unit"] == "compass"
    assert found["columns"]["air_temperature"]["unit"] == "?"


@pytest.mark.parametrize(
    ("date", "form"),
    [
        ("13/10/2026 7:00", "%d/%m/%Y %H:%M"),
        ("10/13/2026 7:00 AM", "%m/%d/%Y %I:%M %p"),
        ("03/04/2026 07:00", "?"),
        ("2026-10-12T07:00:00Z", "%Y-%m-%dT%H:%M:%SZ"),
        ("12 Oct 2026 07:00", "?"),
    ],
)
def test_the_order_of_day_and_month_is_never_guessed(
    tmp_path: Path, date: str, form: str
) -> None:
    """Third of April or fourth of March: only a person can tell."""
    found = proposed(tmp_path, f"time,temp\n{date},11.4\n{date},11.5\n")
    assert found["time"]["format"] == form


def test_a_proposal_is_not_read_before_a_person_confirmed_it(tmp_path: Path) -> None:
    """First every question is a fault, then the missing confirmation is."""
    text = "time,temp (C)\n2026-10-12 07:00,11.4\n2026-10-12 08:00,13.0\n"
    (tmp_path / "station.csv").write_text(text, encoding="utf-8")
    mapping = tmp_path / "station.toml"
    draft = propose(tmp_path / "station.csv")
    mapping.write_text(draft, encoding="utf-8")
    with pytest.raises(SettingsError) as refused:
        read_csv(mapping)
    message = str(refused.value)
    for key in ("confirmed", "label", "wind_height_m", "zone", "latitude"):
        assert key in message
    for question, answer in (
        ('label = "?"', 'label = "start"'),
        ('wind_height_m = "?"', "wind_height_m = 10"),
        ('zone = "?"           # "UTC"', 'zone = "UTC"           #'),
        ('latitude = "?"', "latitude = -37.6"),
        ('longitude = "?"', "longitude = 143.9"),
        ('elevation_m = "?"', "elevation_m = 420"),
        ('zone = "?"           # the', 'zone = "Australia/Melbourne"  # the'),
        ('publisher = "?"', 'publisher = "us"'),
        ('licence = "?"', 'licence = "own"'),
    ):
        assert question in draft
        draft = draft.replace(question, answer)
    mapping.write_text(draft, encoding="utf-8")
    with pytest.raises(SettingsError, match="confirmed = true"):
        read_csv(mapping)
    mapping.write_text(
        draft.replace("confirmed = false", "confirmed = true"), encoding="utf-8"
    )
    assert read_csv(mapping).frame.air_temperature.tolist() == [11.4, 13.0]


def test_tables_without_a_header_are_left_to_a_person(tmp_path: Path) -> None:
    """Only numbers, or no weather: one clear error each."""
    path = tmp_path / "numbers.csv"
    path.write_text("1,2,3\n4,5,6\n7,8,9\n", encoding="utf-8")
    with pytest.raises(DataError, match="no header"):
        propose(path)
    path.write_text("name,colour\na,b\nc,d\n", encoding="utf-8")
    with pytest.raises(DataError, match="no time column"):
        propose(path)
    path.write_text("time,colour\n2026-10-12 07:00,b\n", encoding="utf-8")
    with pytest.raises(DataError, match="no weather column"):
        propose(path)
    with pytest.raises(InputMissingError):
        propose(tmp_path / "absent.csv")


def test_a_cell_too_long_for_a_table_is_one_clear_error(tmp_path: Path) -> None:
    """Longer than Python's csv reader takes (131,072, its documented field limit)."""
    path = tmp_path / "long.csv"
    path.write_text(f"time,temp\n2026-10-12T07:00,{'1' * 140_000}\n", "utf-8")
    with pytest.raises(DataError, match=r"long\.csv: not a comma-separated table"):
        propose(path)
