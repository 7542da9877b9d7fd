"""A farm folder with nothing but coordinates fetches, joins, keeps and survives."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from scipy import stats

from forecaster.domain.planning.windows import Status
from forecaster.domain.spraying.limits import Quantity
from forecaster.errors import NoWeatherError
from forecaster.render import fan_svg, text, weather_text
from forecaster.service import open_weather, wiring
from forecaster.service.daily import outlook
from forecaster.service.weather_view import weather_report

from .conftest import value as spring

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.outlook import Outlook
    from forecaster.domain.weather import Floats, Times
    from forecaster.service.farm_day import FarmDay
    from forecaster.service.gathered import Gathered

    from .conftest import AddStation, Service

HOUR = np.timedelta64(3600, "s")
YEARS = 4  # three past ones and this one


def day_at(
    farm: Path, service: Service, monkeypatch: pytest.MonkeyPatch, **options: bool
) -> FarmDay:
    """The farm at the service's own moment."""
    monkeypatch.setattr(wiring, "utc_now", lambda: service.now)
    day, _ = wiring.farm_day(farm, None, None, **options)
    return day


def good_hours(value: Outlook) -> int:
    """Good blocks of all paddocks."""
    return sum(len(active.blocks) for p in value.paddocks for active in p.actives)


def test_coordinates_alone_give_an_outlook(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Forecast, its run, profile, members, this and past years, one request each."""
    state, _ = service
    day = day_at(farm, state, monkeypatch)
    value = outlook(day)
    assert good_hours(value) > 0
    assert value.paddocks[0].actives[0].status is not Status.UNKNOWN
    assert value.weather.traces >= 7
    assert day.growth.gaps_filled == 0
    assert len(state.asked) == 4 + YEARS
    assert sum("/data/" in path for path in state.asked) == 1
    kinds = [stretch.kind for stretch in day.weather.stretches]
    assert kinds == ["hours", "profile", "members", "past days"]


def test_a_second_look_within_the_hour_asks_nothing(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """And says the same."""
    state, _ = service
    first = text.render(outlook(day_at(farm, state, monkeypatch)))
    asked = len(state.asked)
    second = text.render(outlook(day_at(farm, state, monkeypatch)))
    assert len(state.asked) == asked
    assert second == first


def test_steps_wider_than_an_hour_never_give_a_good_hour(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Beyond the model's own hours the week is unknown, however fine it looks."""
    state, _ = service
    day = day_at(farm, state, monkeypatch)
    frame = day.weather.frame
    wide = frame.time[frame.native_step > 1]
    assert wide.size
    value = outlook(day)
    assert good_hours(value) > 0
    for active in value.paddocks[0].actives:
        assert all(block.end <= wide[0] for block in active.blocks)


def test_three_days_without_the_service_still_print_and_promise_nothing(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The last good weather, its age in plain sight, and not one good hour."""
    state, _ = service
    before = outlook(day_at(farm, state, monkeypatch))
    assert good_hours(before) > 0
    state.down = state.norway_down = True
    state.now += 73 * HOUR
    day = day_at(farm, state, monkeypatch)
    value = outlook(day)
    assert good_hours(value) == 0
    assert value.paddocks[0].actives[0].status is not Status.UNKNOWN
    assert value.weather.age_hours > 72
    printed = text.render(value)
    assert "is used, because of this" in printed
    assert f"{value.weather.age_hours:.0f} h old" in printed


def test_the_hour_under_way_is_as_old_as_the_forecast_it_came_with(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half an hour into it, a kept forecast is no observation: no hour is good."""
    state, _ = service
    day_at(farm, state, monkeypatch)
    state.down = state.norway_down = True
    state.now += 96 * HOUR + HOUR // 2
    for _ in range(6):
        day = day_at(farm, state, monkeypatch)
        assert day.air.quantity(Quantity.WEATHER_AGE)[0] > 72
        assert good_hours(outlook(day)) == 0
        state.now += 4 * HOUR


def test_a_station_without_hours_is_named_among_the_warnings(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the services say does not push out what was said of the station."""
    state, _ = service

    def none_before_now(gathered: Gathered, mapping: Path, *_: object) -> None:
        gathered.warnings.append(f"{mapping.name}: no hour before now; not used")

    monkeypatch.setattr(open_weather, "add_station", none_before_now)
    path = farm / "farm.toml"
    path.write_text(
        path.read_text("utf-8").replace("[weather]", '[weather]\nstation = "own.toml"'),
        "utf-8",
    )
    weather = day_at(farm, state, monkeypatch).weather
    assert any("own.toml: no hour before now" in each for each in weather.warnings)


def test_a_damaged_store_is_told_with_the_failure(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing comes and what was kept is spoilt: both are said."""
    state, _ = service
    day_at(farm, state, monkeypatch)
    kept = list((farm / ".weather" / "good").glob("*.kept"))
    assert kept
    for each in kept:
        each.write_bytes(b"spoilt")
    state.down = state.norway_down = True
    state.now += 24 * HOUR
    with pytest.raises(NoWeatherError, match="set aside"):
        day_at(farm, state, monkeypatch)


def test_the_second_service_steps_in_when_the_first_is_down(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """With a day-old first forecast, MET Norway's fresh one is read, whole."""
    state, _ = service
    day_at(farm, state, monkeypatch)
    state.down = True
    state.now += 24 * HOUR
    day = day_at(farm, state, monkeypatch)
    assert "MET Norway" in day.weather.frame.provenance.source
    assert any("weatherapi" in path for path in state.asked)


def test_without_a_contact_the_second_service_is_not_asked(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """It wants to know who asks; the outlook says that it was left out."""
    state, _ = service
    path = farm / "farm.toml"
    path.write_text(
        path.read_text("utf-8").replace("ask@thornbill-rise.farm", ""), "utf-8"
    )
    state.down = True
    with pytest.raises(NoWeatherError, match=r"weather\.contact"):
        day_at(farm, state, monkeypatch)
    assert not any("weatherapi" in asked for asked in state.asked)


def test_offline_uses_what_was_fetched_and_asks_nothing(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """--offline right after a fetch still prints."""
    state, _ = service
    day_at(farm, state, monkeypatch)
    asked = len(state.asked)
    state.now += 2 * HOUR
    value = outlook(day_at(farm, state, monkeypatch, offline=True))
    assert len(state.asked) == asked
    assert value.weather.traces >= 7


def test_nothing_fetched_and_nothing_kept_is_one_clear_error(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """No weather at all: no outlook, and every trouble is named."""
    state, _ = service
    state.down = state.norway_down = True
    with pytest.raises(NoWeatherError, match="no service gave any and none is kept"):
        day_at(farm, state, monkeypatch)


def test_members_give_blocks_their_chance(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Seven members, nearly alike, spread to the error of one forecast of their age.

    Worked anew by scipy.stats: wind between 3 km/h at 2 m and 20 at 10 m, six dry hours
    after; errors of 4 and 5 km/h and 3 h on day 1 (config/actives); the weakest hour of
    each member, then their mean. The run was surely served at 06:00 UTC.
    """
    state, _ = service
    (active,) = outlook(day_at(farm, state, monkeypatch)).paddocks[0].actives
    block = active.blocks[0]
    time = np.arange(block.start, block.end, HOUR)
    age = (time - np.datetime64("2026-10-11T06:00", "s")) / (24 * HOUR)
    grown = np.interp(age, [1, 3, 5, 7], [1.0, 1.2, 1.5, 1.8])
    shifts = [0.0, *((member - 3) * 0.8 for member in range(1, 7))]
    wind = np.array(
        [[round(spring("wind_speed_10m", t, s), 2) for t in time] for s in shifts]
    )
    lower = math.log(2 / 0.03) / math.log(10 / 0.03)  # the neutral log law over grass

    def lacking(error: float, values: Floats) -> Floats:
        own = (1 + 1 / 7) * np.var(values, axis=0, ddof=1)
        found: Floats = np.sqrt((error * grown) ** 2 - own)
        return found

    kept = stats.norm.cdf((20 / 3.6 - wind) / lacking(5 / 3.6, wind))
    kept -= stats.norm.cdf((3 / 3.6 - lower * wind) / lacking(4 / 3.6, lower * wind))
    kept *= stats.norm.cdf((dry_hours(time) - 6) / (3 * grown))
    assert block.chance == pytest.approx(kept.min(axis=1).mean(), abs=1e-4)
    assert block.chance < 0.95


def dry_hours(time: Times) -> Floats:
    """Dry hours after each; the service's hour t holds the rain of the hour before."""

    def dry(start: np.datetime64) -> int:
        ahead = range(400)
        wet = (n for n in ahead if spring("precipitation", start + (n + 1) * HOUR) > 0)
        return next(wet) - 1

    return np.array([float(dry(each)) for each in time])


def test_the_weather_page_tells_each_stretch(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Kinds, sources, ages and a fan with a width; the drawing is valid XML."""
    state, _ = service
    report = weather_report(day_at(farm, state, monkeypatch))
    printed = weather_text.render(report)
    for word in ("hours", "profile", "members", "past days", "Open-Meteo"):
        assert word in printed
    assert max(len(line) for line in printed.splitlines()) <= 80
    spread = report.fan.high - report.fan.low
    assert spread[5] > 0
    root = ET.fromstring(fan_svg.render(report))  # noqa: S314 - our own drawing
    assert root.find("{http://www.w3.org/2000/svg}desc") is not None
    assert len(weather_text.tree(report)["fan"]) == report.fan.day.size


def test_the_farm_s_own_station_counts_first_and_sets_the_level(
    farm: Path,
    service: tuple[Service, str],
    monkeypatch: pytest.MonkeyPatch,
    add_station: AddStation,
) -> None:
    """Two degrees colder than the service all winter: past years come down to it.

    92 days of 2 K, shrunk by n / (n + 15) a month: 31 days give 2 × 31 / 46 = 1.3 K.
    """
    state, _ = service
    time = np.arange(np.datetime64("2026-07-01T00", "s"), state.now, HOUR)
    rows = [f"{each},{spring('temperature_2m', each) - 2:.2f}" for each in time]
    add_station(farm, rows)
    path = farm / "farm.toml"
    text_before = path.read_text("utf-8")
    path.write_text(
        text_before.replace("years = 3", 'years = 3\nstation = "station.toml"'), "utf-8"
    )
    day = day_at(farm, state, monkeypatch)
    kinds = {stretch.kind: stretch for stretch in day.weather.stretches}
    assert next(iter(kinds)) == "station"
    assert kinds["past days"].bias == pytest.approx(2 * 31 / 46, abs=0.1)
    frame = day.weather.frame
    at = int(np.searchsorted(frame.time, np.datetime64("2026-08-01T03", "s")))
    seen = spring("temperature_2m", frame.time[at]) - 2
    assert frame.air_temperature[at] == pytest.approx(seen, abs=0.01)
    printed = weather_text.render(weather_report(day))
    assert "brought to the local record by up to +1.3 K" in printed


def test_eight_farms_ask_once_each_and_not_again(
    tmp_path: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Fifty paddocks on eight places: eight forecasts and their runs, then nothing."""
    from .conftest import FARM

    state, base = service
    farms = []
    for number in range(8):
        folder = tmp_path / f"farm{number}"
        folder.mkdir()
        text_of = FARM.format(base=base, contact="").replace("years = 3", "years = 0")
        text_of = text_of.replace("-37.595", f"-37.{number + 1}95")
        paddock = text_of[text_of.index("[[paddock]]") :]
        count = 7 if number < 2 else 6
        more = "".join(paddock.replace('"P"', f'"P{i}"') for i in range(1, count))
        (folder / "farm.toml").write_text(text_of + more, encoding="utf-8")
        farms.append(folder)
    paddocks = sum(
        len(outlook(day_at(farm, state, monkeypatch)).paddocks) for farm in farms
    )
    assert paddocks == 50
    forecasts = [path for path in state.asked if "past_days=10" in path]
    assert len(forecasts) == 8
    assert sum("/data/" in path for path in state.asked) == 8
    asked = len(state.asked)
    for farm in farms:
        day_at(farm, state, monkeypatch)
    assert len(state.asked) == asked
