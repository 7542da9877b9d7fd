"""The forecast beside a record is the one that had come by the start of the spray."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.domain.record.job import Job
from forecaster.service import wiring
from forecaster.service.open_weather import gather
from forecaster.service.record_around import around
from forecaster.settings.farm import load_farm

from .conftest import DAY, HOUR, value

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from forecaster.domain.record.log import Around

    from .conftest import Service

CAME = np.datetime64("2026-10-11T20:00", "s")
START = CAME + 6 * HOUR
"""Monday 12 October, 13:00 at the farm, daylight."""


@pytest.fixture
def beside(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> Callable[[], Around]:
    """What stands beside two hours of spraying, written down a day later."""
    state = service[0]
    monkeypatch.setattr(wiring, "utc_now", lambda: state.now)

    def found() -> Around:
        state.now = CAME + DAY
        job = Job("P", "glyphosate", START, START + 2 * HOUR, {})
        return around(load_farm(farm), job, state.now)[0]

    return found


def check(farm: Path, state: Service, hours: int) -> None:
    """The farm asks its services so many hours after the first forecast came."""
    state.now = CAME + hours * HOUR
    gather(load_farm(farm), state.now)


def test_newer_forecasts_that_came_since_do_not_push_it_out(
    farm: Path, service: tuple[Service, str], beside: Callable[[], Around]
) -> None:
    """Asked before, during and after: the one before stands, as it was issued."""
    for hours in (0, 7, 12, 23):
        check(farm, service[0], hours)
    found = beside()
    assert found.forecast is not None
    assert found.forecast.issued <= CAME
    assert [each.time for each in found.forecast.hours] == [START, START + HOUR]
    for each in found.forecast.hours:
        assert each.wind_speed == pytest.approx(
            value("wind_speed_10m", each.time), abs=0.01
        )
        assert each.verdict != ""
    assert found.observed is not None


def test_none_from_before_is_none(
    farm: Path, service: tuple[Service, str], beside: Callable[[], Around]
) -> None:
    """What came during the spray is no forecast of it."""
    for hours in (7, 23):
        check(farm, service[0], hours)
    assert beside().forecast is None


def test_the_other_service_s_stands_where_the_first_was_silent(
    farm: Path, service: tuple[Service, str], beside: Callable[[], Around]
) -> None:
    """The newest from before counts, whoever gave it."""
    service[0].down = True
    check(farm, service[0], 0)
    service[0].down = False
    check(farm, service[0], 12)
    found = beside().forecast
    assert found is not None
    assert "MET Norway" in found.source


def test_a_damaged_one_gives_way_to_the_one_before(
    farm: Path, service: tuple[Service, str], beside: Callable[[], Around]
) -> None:
    """And days later those that no record can ask for are gone."""
    for hours in (0, 3, 12):
        check(farm, service[0], hours)
    shelf = farm / ".weather" / "recent" / "openmeteo-forecast"
    first, second, _ = sorted(shelf.iterdir())
    second.write_bytes(b"cut")
    found = beside().forecast
    assert found is not None
    assert found.issued <= CAME
    first.unlink()
    assert beside().forecast is None
    check(farm, service[0], 10 * 24)
    assert len(list(shelf.iterdir())) == 1


def test_a_farm_that_keeps_all_its_forecasts_finds_them(
    farm: Path, service: tuple[Service, str], beside: Callable[[], Around]
) -> None:
    """A record of long ago has them too."""
    path = farm / "farm.toml"
    text = path.read_text("utf-8").replace(
        "years = 3", "years = 3\nkeep_forecasts = true"
    )
    path.write_text(text, "utf-8")
    for hours in (0, 12):
        check(farm, service[0], hours)
    recent = farm / ".weather" / "recent" / "openmeteo-forecast"
    for each in recent.iterdir():
        each.unlink()
    assert beside().forecast is not None


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
latitude = -37.495
longitude = 142.305
elevation_m = 420
zone = "Australia/Melbourne"
[origin]
publisher = "the hill station"
licence = "one's own"
[columns]
air_temperature = { column = "t", unit = "degC" }
relative_humidity = { column = "h", unit = "percent" }
wind_speed = { column = "v", unit = "m/s" }
wind_from = { column = "d", unit = "degree" }
rain = { column = "r", unit = "mm" }
"""
"""A tenth of a degree of latitude north of the farm: 11 km on the WGS84 ellipsoid."""


def station(farm: Path, hours: int) -> None:
    """A station that measured 7 m/s until so many hours after the first forecast."""
    rows = [f"{CAME + n * HOUR},14.0,55,7.0,200,0" for n in range(-24, hours)]
    (farm / "station.csv").write_text("\n".join(["time,t,h,v,d,r", *rows]) + "\n")
    (farm / "station.toml").write_text(STATION)
    path = farm / "farm.toml"
    text = path.read_text("utf-8")
    path.write_text(text.replace("years = 3", 'years = 3\nstation = "station.toml"'))


def test_the_station_s_hours_stand_alone_and_say_how_far_off_it_is(
    farm: Path, service: tuple[Service, str], beside: Callable[[], Around]
) -> None:
    """It stopped after one hour of the two: no other source fills the second."""
    station(farm, 7)
    check(farm, service[0], 23)
    seen = beside().observed
    assert seen is not None
    assert seen.source == "the hill station, measured 11 km from the farm"
    assert [(each.time, each.wind_speed) for each in seen.hours] == [(START, 7.0)]


def test_hours_a_service_worked_out_are_not_called_measured(
    farm: Path, service: tuple[Service, str], beside: Callable[[], Around]
) -> None:
    """Without a station, and with one that saw none of these hours."""
    check(farm, service[0], 23)
    first = beside().observed
    station(farm, 6)
    for seen in (first, beside().observed):
        assert seen is not None
        assert seen.source.endswith("its analysis of the hour, not measured")
        assert len(seen.hours) == 2
