"""The weather commands as a user runs them, against the service on loopback."""

from __future__ import annotations

import json
import shutil
import tomllib
from typing import TYPE_CHECKING
from urllib.request import urlopen
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from forecaster.cli.main import exit_code
from forecaster.domain.spraying.limits import Quantity
from forecaster.service import clock, wiring
from forecaster.service.hindcast_view import farm_hindcast
from forecaster.service.open_weather import gather
from forecaster.settings.farm import load_farm
from forecaster.sources import openmeteo_previous
from forecaster.sources.openmeteo import Access

from .conftest import DAY, HOUR, value

if TYPE_CHECKING:
    from pathlib import Path

    from .conftest import Service


@pytest.fixture(autouse=True)
def _at_the_service_s_moment(
    service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The clock stands where the service's does."""
    monkeypatch.setattr(wiring, "utc_now", lambda: service[0].now)
    monkeypatch.setattr(clock, "utc_now", lambda: service[0].now)


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Standard output of a run that must succeed."""
    assert exit_code(list(arguments)) == 0, capsys.readouterr().err
    return capsys.readouterr().out


def refused(capsys: pytest.CaptureFixture[str], code: int, *arguments: str) -> str:
    """Standard error of a run that must fail with ``code``."""
    assert exit_code(list(arguments)) == code
    captured = capsys.readouterr()
    assert captured.out == ""
    assert "Traceback" not in captured.err
    return captured.err


def test_weather_in_three_forms(farm: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Text, JSON and a drawing of one report."""
    printed = run(capsys, "weather", "--farm", str(farm))
    assert "stretch" in printed
    tree = json.loads(run(capsys, "weather", "--farm", str(farm), "--format", "json"))
    assert tree["stretches"][0]["kind"] == "hours"
    drawn = run(capsys, "weather", "--farm", str(farm), "--format", "svg")
    assert ET.fromstring(drawn).tag.endswith("svg")  # noqa: S314 - our own drawing


def test_sources_prints_every_service_and_its_terms(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Names, licences, what each wants, and pages; nothing over 80 but addresses."""
    printed = run(capsys, "sources")
    for word in ("Open-Meteo", "MET Norway", "SILO", "non-commercial", "CC BY 4.0"):
        assert word in printed
    when = " ".join(printed[printed.index("\nSILO") :].split())
    assert "when where the farm lies in its grid (112 to 154° E, 10 to 44° S)" in when


def test_hindcast_asks_for_earlier_forecasts_and_scores_them(
    farm: Path, service: tuple[Service, str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Earlier forecasts are asked for; a text and three drawings come of them."""
    printed = run(capsys, "hindcast", "--farm", str(farm))
    assert any("previous_day7" in path for path in service[0].asked)
    assert "Delta T" in printed
    for plot in ("errors", "calls", "reliability"):
        drawn = run(
            capsys, "hindcast", "--farm", str(farm), "--format", "svg", "--plot", plot
        )
        assert ET.fromstring(drawn).tag.endswith("svg")  # noqa: S314 - our own drawing


def test_hindcast_finds_the_drift_that_was_put_in(
    farm: Path, service: tuple[Service, str]
) -> None:
    """Bias of wind by lead: 0.05 × 0.4 m/s a day, within the rounding of 0.01 m/s."""
    found = farm_hindcast(load_farm(farm), "glyphosate", service[0].now)
    assert [score.lead for score in found.leads] == list(openmeteo_previous.LEADS)
    assert list(openmeteo_previous.LEADS) == [1, 2, 3, 4, 5, 6, 7]
    for score in found.leads:
        assert score.errors[Quantity.WIND_10M].count > 0
        bias = float(score.errors[Quantity.WIND_10M].bias)
        assert bias == pytest.approx(0.02 * score.lead, abs=0.005)


def test_hindcast_of_a_saved_answer_asks_nothing(
    farm: Path,
    service: tuple[Service, str],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The same numbers as when the service is asked."""
    state, base = service
    asked = run(capsys, "hindcast", "--farm", str(farm))
    request = openmeteo_previous.request(
        load_farm(farm).place, state.now, access=Access(base), past_days=92
    )
    saved = tmp_path / "answer.json"
    with urlopen(request.url) as answer:  # noqa: S310 - our own loopback service
        saved.write_bytes(answer.read())
    before = len(state.asked)
    state.now += np.timedelta64(400, "D")
    again = run(capsys, "hindcast", "--farm", str(farm), "--saved", str(saved))
    assert again == asked
    assert len(state.asked) == before


def test_a_saved_answer_without_the_day_before_draws_no_chances(
    farm: Path,
    service: tuple[Service, str],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """One clear error, not a fault of the program."""
    request = openmeteo_previous.request(
        load_farm(farm).place, service[0].now, access=Access(service[1]), past_days=92
    )
    with urlopen(request.url) as answer:  # noqa: S310 - our own loopback service
        document = json.loads(answer.read())
    for block in (document["hourly"], document["hourly_units"]):
        for name in [name for name in block if name.endswith("previous_day1")]:
            del block[name]
    saved = tmp_path / "answer.json"
    saved.write_text(json.dumps(document), encoding="utf-8")
    place = ["hindcast", "--farm", str(farm), "--saved", str(saved)]
    drawn = [*place, "--format", "svg", "--plot", "reliability"]
    assert "no chances one day ahead" in refused(capsys, 65, *drawn)


def test_hindcast_says_what_it_lacks(
    farm: Path,
    service: tuple[Service, str],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Unknown active or plot, no confirmed label, rubbish, nothing to ask."""
    place = ["hindcast", "--farm", str(farm)]
    assert "known are" in refused(capsys, 64, *place, "--active", "water")
    assert "allowed is" in refused(
        capsys, 64, *place, "--plot", "pie", "--format", "svg"
    )
    assert "label of paraquat" in refused(capsys, 64, *place, "--active", "paraquat")
    rubbish = tmp_path / "rubbish.json"
    rubbish.write_text("{}", encoding="utf-8")
    refused(capsys, 76, *place, "--saved", str(rubbish))
    absent = str(tmp_path / "absent.json")
    assert "cannot be read" in refused(capsys, 66, *place, "--saved", absent)
    told = refused(capsys, 64, *place, "--dates", "barley_grass", "--format", "svg")
    assert "text only" in told
    service[0].down = True
    assert "no weather" in refused(capsys, 69, *place)


def test_dates_of_past_seasons_are_scored_from_the_archive(
    farm: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Three years all alike but for their weekdays: hardly any error, all in range."""
    printed = run(capsys, "hindcast", "--farm", str(farm), "--dates", "barley_grass")
    rows = [line.split() for line in printed.splitlines() if " d " in line]
    assert [row[0] for row in rows] == ["7", "14", "28", "56"]
    assert {row[2] for row in rows} == {"3"}
    assert all(abs(float(row[3])) <= 1.0 for row in rows)


def test_dates_need_a_weed_and_past_years(
    farm: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """An unknown weed, a farm without past years, a farm that asks nobody."""
    place = ["hindcast", "--farm", str(farm), "--dates"]
    assert "known are" in refused(capsys, 64, *place, "thistle")
    run(capsys, "init", str(tmp_path / "new"))
    new = ["hindcast", "--farm", str(tmp_path / "new")]
    assert "past years" in refused(capsys, 69, *new, "--dates", "barley_grass")
    assert "label of glyphosate" in refused(capsys, 64, *new)
    assert "asks no service" in refused(capsys, 64, "hindcast")


STATION = """
[table]
file = "station.csv"
label = "start"
wind_height_m = 10

[time]
columns = ["time"]
format = "%Y-%m-%dT%H:%M:%S"
zone = "UTC"

[place]
latitude = -37.595
longitude = 142.305
elevation_m = 420
zone = "Australia/Melbourne"

[origin]
publisher = "a test"
licence = "CC0"

[columns]
air_temperature = { column = "t", unit = "degC" }
relative_humidity = { column = "h", unit = "percent" }
wind_speed = { column = "v", unit = "m/s" }
wind_from = { column = "d", unit = "degree" }
rain = { column = "r", unit = "mm" }
"""
DAYS = 18


@pytest.fixture
def keeping(farm: Path, service: tuple[Service, str]) -> Path:
    """A farm that kept some weeks of forecasts, each day's, and its station's table.

    The station saw half a metre a second more wind than was forecast.
    """
    state = service[0]
    path = farm / "farm.toml"
    text = path.read_text("utf-8").replace(
        "years = 3", 'years = 0\nkeep_forecasts = true\nstation = "station.toml"'
    )
    path.write_text(text, "utf-8")
    start, names = (
        state.now,
        ("temperature_2m", "relative_humidity_2m", "wind_speed_10m"),
    )
    time = np.arange(start - 2 * DAY, start + (DAYS + 9) * DAY, HOUR).astype("M8[s]")
    rows = [
        ",".join(
            [
                str(each),
                *(f"{value(name, each):.2f}" for name in names[:2]),
                f"{value(names[2], each) + 0.5:.2f}",
                "200",
                f"{value('precipitation', each + HOUR):.1f}",
            ]
        )
        for each in time
    ]
    table = "\n".join(["time,t,h,v,d,r", *rows]) + "\n"
    (farm / "station.csv").write_text(table, "utf-8")
    (farm / "station.toml").write_text(STATION, "utf-8")
    for day in range(DAYS):
        state.now = start + day * DAY
        gather(load_farm(farm), state.now)
    return farm


def test_a_farm_that_keeps_its_forecasts_replays_them(
    keeping: Path, service: tuple[Service, str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Forecast, profile and members of each day; the bias put in; nothing is asked.

    The errors found are written, named in the farm file, and told with the chances.
    """
    kept = keeping / ".weather" / "forecasts"
    counts = {each.name: len(list(each.iterdir())) for each in kept.iterdir()}
    assert counts == {
        f"openmeteo-{name}": DAYS
        for name in ("forecast", "profile", "ensemble", "status")
    }
    asked = len(service[0].asked)
    found = farm_hindcast(load_farm(keeping), "glyphosate", service[0].now, kept=kept)
    assert [score.lead for score in found.leads] == list(range(8))
    assert found.notes == ()
    assert len(found.forecast) == 2
    for score in found.leads:
        wind = score.errors[Quantity.WIND_10M]
        assert wind.count > 24
        assert wind.bias == pytest.approx(-0.5, abs=0.006)
    place = ["hindcast", "--farm", str(keeping), "--kept", str(kept)]
    assert "Chances told 7 days ahead" in run(capsys, *place)
    assert len(service[0].asked) == asked
    # The first came at 20:00; its status named the run of 12:00. Without it the run
    # surely served nine hours before, of 06:00, is assumed.
    assert str(found.first) == "2026-10-11T12:00:00"
    bare = keeping / "bare"
    shutil.copytree(kept / "openmeteo-forecast", bare)
    found = farm_hindcast(load_farm(keeping), "glyphosate", service[0].now, kept=bare)
    assert str(found.first) == "2026-10-11T06:00:00"
    measured_errors_are_written_named_and_told(keeping, capsys)


def measured_errors_are_written_named_and_told(
    keeping: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """0.5 m/s is 1.8 km/h at each age; then chances rest on it, and pages say so."""
    kept, errors = keeping / ".weather" / "forecasts", keeping / "errors.toml"
    place = ["--farm", str(keeping)]
    run(capsys, "hindcast", *place, "--kept", str(kept), "--errors", str(errors))
    table = tomllib.loads(errors.read_text("utf-8"))
    assert table["wind_10m"]["lead_days"] == list(range(8))
    sizes = table["wind_10m"]["root_mean_square"]
    assert sizes == pytest.approx([1.8] * 8, abs=0.02)
    before = run(capsys, "explain", "P", *place)
    assert "wind at 10 m: error 5.0, 6.0, 7.5, 9.0 km/h at 1, 3, 5, 7 days." in before
    assert "assumed, not measured here" in " ".join(before.split())
    path = keeping / "farm.toml"
    named = path.read_text("utf-8").replace(
        "years = 0", 'years = 0\nerrors = "errors.toml"'
    )
    path.write_text(named, "utf-8")
    after = " ".join(run(capsys, "explain", "P", *place).split())
    assert "wind at 10 m: error 1.8, 1.8, 1.8, 1.8 km/h at 1, 3, 5, 7 days." in after
    assert "against a test" in after
    hours = " ".join(run(capsys, "hours", "P", *place).split())
    assert "the mean over 7 forecasts (Open-Meteo ensemble" in hours
    assert "wind at 10 m were measured here; others are assumed" in hours


def test_a_farm_that_did_not_ask_for_it_keeps_none(
    farm: Path, service: tuple[Service, str]
) -> None:
    """As shipped nothing piles up."""
    gather(load_farm(farm), service[0].now)
    assert (farm / ".weather" / "good").is_dir()
    assert not (farm / ".weather" / "forecasts").exists()


def test_hindcast_of_kept_forecasts_says_what_it_lacks(
    farm: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two ways at once, no folder, nothing observed or kept, errors of nothing."""
    place = ["hindcast", "--farm", str(farm)]
    kept, errors = str(tmp_path / "kept"), str(tmp_path / "e.toml")
    assert "leave one out" in refused(
        capsys, 64, *place, "--kept", kept, "--saved", kept
    )
    assert "--weather" in refused(capsys, 64, *place, "--kept", kept)
    (farm / "station.toml").write_text(STATION, "utf-8")
    rows = "time,t,h,v,d,r\n2026-10-11T00:00:00,12,60,4,200,0\n"
    (farm / "station.csv").write_text(rows, "utf-8")
    seen = ["--weather", str(farm / "station.toml")]
    assert "no such folder" in refused(capsys, 66, *place, *seen, "--kept", kept)
    (tmp_path / "kept").mkdir()
    assert "no kept forecast" in refused(capsys, 65, *place, *seen, "--kept", kept)
    assert "--weather" in refused(capsys, 64, *place, "--errors", errors)
    told = refused(capsys, 64, *place, "--dates", "barley_grass", "--errors", errors)
    assert "leave --format and --errors out" in told
    few = refused(capsys, 65, *place, *seen, "--errors", errors)
    assert "200 hours" in few
    assert not (tmp_path / "e.toml").exists()


def test_propose_writes_a_draft(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A file with questions."""
    table, draft = tmp_path / "s.csv", tmp_path / "s.toml"
    table.write_text("time,temp (C)\n2026-10-12 07:00,11.4\n", encoding="utf-8")
    run(capsys, "propose", str(table), "--out", str(draft))
    assert 'zone = "?"' in draft.read_text(encoding="utf-8")
