"""Broken tables and mappings: one clear error each, and flat memory."""

from __future__ import annotations

import os
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from forecaster.errors import (
    DataError,
    ForecasterError,
    InputMissingError,
    SettingsError,
)
from forecaster.sources.csv_file import read_csv
from forecaster.sources.text_file import LARGEST_FILE, screen

Foreign = Callable[..., Path]
HEAD = "time,temp\n"
ROW = "2026-01-01 05:00,20\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", ["the file is empty"]),
        ("\n\n", ["weather.csv:1: no header", "skip_rows"]),
        (HEAD, ["a header but no rows"]),
        (HEAD + "\n\n", ["only empty rows"]),
        ("time;temp\n2026-01-01 05:00;20\n", ["1 × ';'", 'separator = ";"']),
        ("time\ttemp\n2026-01-01 05:00\t20\n", ['separator = "\\t" (tab)']),
        ("nothing\n1\n", ['"nothing"', "check separator and skip_rows"]),
        ("time,tempp,rh\n1,2,3\n", ['no column "temp"', '"tempp"', "the header has"]),
        ("time,temp,temp\n1,2,3\n", ['"temp" stands twice']),
        (HEAD + ROW + "2026-01-01 06:00,1,2\n", ["weather.csv:3: 3 cells", "has 2"]),
        (HEAD + "2026-01-01 06:00,12,3\n", [":2: ", "decimals are commas"]),
        (HEAD + '2026-01-01 06:00,"12,3"\n', [":2:temp", "decimal comma"]),
        (HEAD + "2026-01-01 06:00,warm\n", [':2:temp: "warm"', "missing in [table]"]),
        (HEAD + "2026-01-01 06:00,True\n", ['"True"', "is not a number"]),
        (HEAD + "2026-01-01 06:00,inf\n", ['"inf"', "is not a number"]),
        (HEAD + '"2026-01-01 05:00,20\n' + ROW, ["quotation mark"]),
        (HEAD + '2026-01-01 05:00,"20\n2026-01-01 06:00,"21\n', ["quotation mark"]),
        (HEAD + ROW + "2026-01-01\0,1\n", ["weather.csv:3", "NUL"]),
        (("time,temp,rem\n" + ROW).encode() + b"\xe9\xff\n", ["not utf-8", "cp1252"]),
        ("\ufefftime,temp\n".encode("utf-16"), ["UTF-16", 'encoding = "utf-16"']),
    ],
)
def test_broken_tables(foreign: Foreign, text: str | bytes, said: list[str]) -> None:
    """Each kind of damage is one DataError (65) that says what to do."""
    with pytest.raises(DataError) as caught:
        read_csv(foreign(text))
    for words in said:
        assert words in str(caught.value)
    assert caught.value.exit_code == 65
    assert len(str(caught.value).splitlines()) <= 20


def test_many_faults_stay_short(foreign: Foreign) -> None:
    """Five hundred bad cells and a header of fifty names make a short message."""
    rows = "".join(f"2026-01-{n // 24 + 1:02d} {n % 24:02d}:00,x\n" for n in range(500))
    with pytest.raises(DataError, match="and 490 more") as caught:
        read_csv(foreign(HEAD + rows))
    assert len(str(caught.value).splitlines()) <= 20
    names = ",".join(f"c{n}" for n in range(50))
    with pytest.raises(DataError, match="and 38 more") as caught:
        read_csv(foreign(f"{names}\n"))
    assert len(str(caught.value)) < 2000


def test_decimal_point_where_a_comma_was_promised(foreign: Foreign) -> None:
    """With decimal = ",", 12.5 in the file is refused, not read as 125."""
    path = foreign(
        "time;temp\n2026-01-01 05:00;12.5\n", table={"separator": ";", "decimal": ","}
    )
    with pytest.raises(DataError, match="has a decimal point"):
        read_csv(path)


def test_european_table(foreign: Foreign) -> None:
    """Semicolons, decimal commas, an older encoding, missing codes: all declared."""
    text = "Zeit;Lufttemp °C\n01.06.2026 05:00;12,5\n01.06.2026 06:00;-99,90\n"
    text += "01.06.2026 07:00;--\n01.06.2026 08:00;NaN\n"
    path = foreign(
        text.encode("cp1252"),
        table={
            "separator": ";",
            "decimal": ",",
            "encoding": "cp1252",
            "missing": ["", "--", "-99.9"],
        },
        time={"columns": ["Zeit"], "format": "%d.%m.%Y %H:%M"},
        columns={"air_temperature": {"column": "Lufttemp °C", "unit": "degC"}},
    )
    frame = read_csv(path).frame
    np.testing.assert_array_equal(frame.air_temperature, [12.5, np.nan, np.nan, np.nan])


def test_logger_table(foreign: Foreign) -> None:
    """A line above the header and two below it, UTF-16, rows ending in a comma."""
    text = "logger 7\ntime,temp\nTS,Deg C\n,Avg\n2026-01-01 05:00,20,\n"
    text += "2026-01-01 06:00,21,\n"
    path = foreign(
        text.encode("utf-16"),
        table={"skip_rows": 1, "skip_below_header": 2, "encoding": "utf-16"},
    )
    imported = read_csv(path)
    assert imported.frame.air_temperature.tolist() == [20.0, 21.0]
    assert imported.report.rows == 2


def test_line_numbers_are_those_of_the_file(foreign: Foreign) -> None:
    """Skipped lines and blank lines are counted when a fault is named."""
    text = "logger 7\ntime,temp\nTS,Deg C\n2026-01-01 05:00,20\n\n2026-01-01 06:00,x\n"
    path = foreign(text, table={"skip_rows": 1, "skip_below_header": 1})
    with pytest.raises(DataError, match=r"weather\.csv:6:temp"):
        read_csv(path)


def test_only_some_rows(foreign: Foreign) -> None:
    """Rows of another station are left out; none left is an error."""
    text = "time,temp,id\n2026-01-01 05:00,20,7\n2026-01-01 05:00,30,8\n"
    frame = read_csv(foreign(text, table={"only": {"id": 8}})).frame
    assert frame.air_temperature.tolist() == [30.0]
    with pytest.raises(DataError, match=r"no row has id = 9; check \[table.only\]"):
        read_csv(foreign(text, table={"only": {"id": 9}}))


def test_missing_and_odd_files(foreign: Foreign, tmp_path: Path) -> None:
    """No file, a folder and a pipe are InputMissingError (66), and nothing hangs."""
    mapping = foreign(HEAD + ROW)
    table = tmp_path / "weather.csv"
    table.unlink()
    with pytest.raises(InputMissingError, match="no such file") as caught:
        read_csv(mapping)
    assert caught.value.exit_code == 66
    table.mkdir()
    with pytest.raises(InputMissingError, match="is a folder"):
        read_csv(mapping)
    table.rmdir()
    os.mkfifo(table)
    with pytest.raises(InputMissingError, match="not a plain file"):
        read_csv(mapping)
    with pytest.raises(InputMissingError):
        read_csv(tmp_path / "no.toml")


def test_unreadable_file(foreign: Foreign, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file that may not be opened is InputMissingError with the system's reason."""
    path = foreign(HEAD + ROW).with_name("weather.csv")

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(InputMissingError, match="Permission denied"):
        screen(path)


def peak_mib(call: Callable[[], object]) -> float:
    """Largest memory Python held during a call [MiB]."""
    tracemalloc.start()
    try:
        call()
        return tracemalloc.get_traced_memory()[1] / 2**20
    finally:
        tracemalloc.stop()


def test_a_line_without_end(foreign: Foreign, tmp_path: Path) -> None:
    """80 MiB without a line end is refused after the first, with little memory."""
    mapping = foreign(HEAD)
    with (tmp_path / "weather.csv").open("wb") as file:
        for _ in range(80):
            file.write(b"1," * 2**19)

    def refused() -> None:
        with pytest.raises(DataError, match="longer than 1,048,576 characters"):
            read_csv(mapping)

    assert peak_mib(refused) < 8


def test_a_file_of_nothing(foreign: Foreign, tmp_path: Path) -> None:
    """A sparse file of 80 MiB of NUL bytes is refused at once."""
    mapping = foreign(HEAD)
    with (tmp_path / "weather.csv").open("wb") as file:
        file.truncate(80 * 2**20)
    with pytest.raises(DataError, match=r"weather\.csv:1: holds a NUL"):
        read_csv(mapping)


def test_a_file_too_large(foreign: Foreign, tmp_path: Path) -> None:
    """More than 512 MiB is refused by its size alone."""
    mapping = foreign(HEAD)
    with (tmp_path / "weather.csv").open("wb") as file:
        file.truncate(LARGEST_FILE + 1)
    with pytest.raises(DataError, match="split the file"):
        read_csv(mapping)


def test_screening_a_large_good_file_needs_little_memory(tmp_path: Path) -> None:
    """8 MiB of rows are counted line by line in flat memory."""
    path = tmp_path / "weather.csv"
    path.write_text((HEAD + ROW) * (8 * 2**20 // len(HEAD + ROW)), encoding="utf-8")
    size = path.stat().st_size
    assert peak_mib(lambda: screen(path)) < 4
    assert screen(path).lines == 2 * size // len(HEAD + ROW)


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        ({"table": {"label": "middle"}}, "table.label"),
        ({"table": {"separator": ",,"}}, "table.separator"),
        ({"table": {"separator": ",", "decimal": ","}}, "must differ"),
        ({"table": {"encoding": "rot13"}}, "is not an encoding"),
        ({"table": {"encoding": "klingon"}}, "is not an encoding"),
        ({"table": {"wind_hight_m": 2}}, "did you mean wind_height_m?"),
        ({"time": {"zone": "Australia/Nowhere"}}, "is not a zone"),
        ({"time": {"zone": "+99:00"}}, "is not a zone"),
        ({"time": {"zone": "/etc/passwd"}}, "is not a zone"),
        ({"time": {"zone": None}}, "give either a zone"),
        ({"time": {"format": "%Y-%m-%d"}}, "year, month, day and hour"),
        ({"time": {"format": "%Y-%m-%d %I:%M"}}, "needs %p"),
        ({"time": {"format": "%Y-%m-%d %Q"}}, "%Q is not understood"),
        ({"time": {"format": "mixed"}}, "year, month, day and hour"),
        ({"place": {"latitude": 138.7, "longitude": -34.5}}, "are swapped"),
        ({"place": {"zone": "+09:30"}}, "no summer time"),
        ({"place": {"latitude": 95}}, "place.latitude"),
        ({"place": {"latitude": -34.5, "longitude": 238.0}}, "place.longitude"),
        (
            {
                "place": {
                    "latitude": -73.8,
                    "longitude": 40.6,
                    "zone": "America/New_York",
                }
            },
            "does not fit the zone America/New_York",
        ),
        ({"place": {"longitude": -138.7}}, "minus sign"),
        ({"columns": {"pressure": {"column": "p", "unit": "hPa"}}}, "pressure.at"),
        ({"columns": {"air_temprature": {"column": "t", "unit": "degC"}}}, "did you"),
        ({"origin": {"licence": None}}, "licence is missing"),
    ],
)
def test_mapping_faults(
    foreign: Foreign, parts: dict[str, dict[str, object]], said: str
) -> None:
    """Each fault of a mapping file is a SettingsError (78) with its line."""
    with pytest.raises(SettingsError) as caught:
        read_csv(foreign(HEAD + ROW, **parts))
    assert said in str(caught.value)
    assert caught.value.exit_code == 78
    assert "mapping.toml:" in str(caught.value)


def test_a_mapping_without_columns(foreign: Foreign) -> None:
    """A mapping that names no column is told which to name."""
    path = foreign(HEAD + ROW)
    text = path.read_text(encoding="utf-8")
    path.write_text(text[: text.index("air_temperature")], encoding="utf-8")
    with pytest.raises(SettingsError, match="at least one column"):
        read_csv(path)


def test_a_place_may_be_printed_in_utc(foreign: Foreign) -> None:
    """UTC says nothing about the longitude, so no misfit is suspected."""
    assert read_csv(foreign(HEAD + ROW, place={"zone": "UTC"})).place.zone == "UTC"


def test_compass_letters_that_are_none(foreign: Foreign) -> None:
    """A direction that is no compass point is named with its line."""
    columns = {"wind_from": {"column": "temp", "unit": "compass"}}
    with pytest.raises(DataError, match="sixteen compass points") as caught:
        read_csv(foreign(HEAD + ROW, columns=columns))
    assert 'weather.csv:2:temp: "20"' in str(caught.value)


def test_all_faults_of_a_mapping_at_once(foreign: Foreign) -> None:
    """Two faults in two tables are two lines of one message."""
    path = foreign(HEAD + ROW, table={"label": "x"}, place={"latitude": 95})
    with pytest.raises(SettingsError) as caught:
        read_csv(path)
    assert len(caught.value.faults) == 2


def test_rubbish_never_becomes_a_traceback(foreign: Foreign) -> None:
    """Three hundred random files are read or refused with an error of ours."""
    rng = np.random.default_rng(5)
    letters = np.frombuffer(b'0123456789-:., ;"\n\n\rtimemp\t\xe9\x00', dtype=np.uint8)
    for number in range(300):
        body = rng.choice(letters[: -2 if number % 2 else None], 80).tobytes()
        path = foreign((HEAD + ROW).encode() + body)
        try:
            read_csv(path)
        except ForecasterError as error:
            assert str(error)  # noqa: PT017 any of our errors will do, none is also fine
            assert len(str(error).splitlines()) <= 20  # noqa: PT017 likewise
