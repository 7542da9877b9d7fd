"""The weather commands as a user runs them, against the service on loopback."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING
from urllib.request import urlopen
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from forecaster.cli.main import exit_code
from forecaster.service import clock, wiring
from forecaster.sources import openmeteo_previous
from forecaster.sources.openmeteo import Access

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
    from forecaster.domain.spraying.limits import Quantity
    from forecaster.service.hindcast_view import farm_hindcast
    from forecaster.settings.farm import load_farm

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
    from forecaster.settings.farm import load_farm

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
    from forecaster.settings.farm import load_farm

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


def test_propose_writes_a_draft(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A file with questions."""
    table, draft = tmp_path / "s.csv", tmp_path / "s.toml"
    table.write_text("time,temp (C)\n2026-10-12 07:00,11.4\n", encoding="utf-8")
    run(capsys, "propose", str(table), "--out", str(draft))
    assert 'zone = "?"' in draft.read_text(encoding="utf-8")
