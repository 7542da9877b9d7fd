"""The run of a forecast, from the service's own status or assumed, and said."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.render import text
from forecaster.service import wiring
from forecaster.service.daily import outlook

if TYPE_CHECKING:
    from pathlib import Path

    import pytest

    from forecaster.service.weather import FarmWeather

    from .conftest import Service

HOUR = np.timedelta64(3600, "s")
SERVED = np.timedelta64(23_124, "s")
"""From a run to when it is served, in the printed document."""


def weather_at(
    farm: Path, service: Service, monkeypatch: pytest.MonkeyPatch, **options: bool
) -> FarmWeather:
    """The farm's weather at the service's own moment."""
    monkeypatch.setattr(wiring, "utc_now", lambda: service.now)
    day, _ = wiring.farm_day(farm, None, None, **options)
    assert any("run" in note for note in day.weather.notes)
    assert " ".join(day.weather.notes[0].split()[:2]) in text.render(outlook(day))
    return day.weather


def test_the_run_is_the_newest_that_every_server_has(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Served ten minutes ago (published) it counts; a second sooner it does not."""
    state, _ = service
    run = np.datetime64("2026-10-11T12:00", "s")
    state.now = run + SERVED + np.timedelta64(600, "s")
    weather = weather_at(farm, state, monkeypatch)
    assert weather.frame.provenance.issued == run
    assert f"run of {run}Z by the service" in weather.notes[0]


def test_without_a_status_the_run_is_assumed_and_said_to_be(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The newest six-hourly run at least nine hours old; no warning, a note."""
    state, _ = service
    state.gone = "/data/"
    weather = weather_at(farm, state, monkeypatch)
    assert state.now == np.datetime64("2026-10-11T20:00", "s")
    assert weather.frame.provenance.issued == np.datetime64("2026-10-11T06:00", "s")
    assert weather.notes[0].startswith("run assumed")
    assert "no such page" in weather.notes[0]
    assert weather.warnings == ()


def test_a_kept_forecast_keeps_its_run(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Offline and when the forecast fails; a status asked for now is not its."""
    state, _ = service
    run = weather_at(farm, state, monkeypatch).frame.provenance.issued
    assert run == np.datetime64("2026-10-11T12:00", "s")
    state.now += 7 * HOUR
    kept = weather_at(farm, state, monkeypatch, offline=True)
    assert kept.frame.provenance.issued == run
    state.gone = "past_days=10"
    asked = len(state.asked)
    kept = weather_at(farm, state, monkeypatch)
    assert kept.frame.provenance.issued == run
    assert not any("/data/" in path for path in state.asked[asked:])


def test_the_run_is_not_asked_for_again_within_the_hour(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nor counted as a forecast; an hour later both are asked for once more."""
    state, _ = service
    for minutes, times in ((0, 1), (59, 1), (1, 2)):
        state.now += minutes * 60
        weather_at(farm, state, monkeypatch)
        for part in ("/data/", "past_days=10"):
            assert sum(part in path for path in state.asked) == times


def test_another_service_s_forecast_has_no_such_run(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """MET Norway names its own time; the model status is left alone."""
    state, _ = service
    state.gone = "/v1/forecast"
    monkeypatch.setattr(wiring, "utc_now", lambda: state.now)
    day, _ = wiring.farm_day(farm, None, None)
    assert "MET Norway" in day.weather.frame.provenance.source
    assert day.weather.frame.provenance.issued == state.now
    assert not any("/data/" in path for path in state.asked)


def test_a_profile_far_older_than_the_forecast_is_not_laid_on_it(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A day old on fresh hours: left out and said; of the same age: used."""
    state, _ = service
    assert weather_at(farm, state, monkeypatch).stretches[1].kind == "profile"
    state.now += 11 * HOUR
    state.gone = "temperature_80m"
    weather = weather_at(farm, state, monkeypatch)
    assert (weather.stretches[1].kind, weather.stretches[1].fresh) == ("profile", False)
    state.now += 13 * HOUR
    weather = weather_at(farm, state, monkeypatch)
    assert np.isnan(weather.frame.air_temperature_80m).all()
    assert any("older than the forecast" in each for each in weather.warnings)
    assert "profile" not in [stretch.kind for stretch in weather.stretches]
