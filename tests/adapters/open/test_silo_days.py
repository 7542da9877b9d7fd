"""SILO in a farm's weather: what comes from it, what fills it, and why it is not asked.

Expected values are those of the service on loopback, worked out here from its hours.
"""

from __future__ import annotations

import csv
import json
import re
from io import StringIO
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.cli.main import exit_code
from forecaster.render import text, weather_text
from forecaster.service import clock, season_days, wiring
from forecaster.service.daily import outlook
from forecaster.service.open_weather import gather
from forecaster.service.weather_view import weather_report
from forecaster.settings.farm import load_farm
from forecaster.sources.days_table import DayOrigin

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.weather import Floats
    from forecaster.service.farm_day import FarmDay
    from forecaster.sources.days_table import DaysTable

    from .conftest import AddStation, DayOf, Service

SILO, ARCHIVE = "/cgi-bin/silo/", "/v1/archive"
DAY = np.timedelta64(86_400, "s")
HOUR = np.timedelta64(3600, "s")
MAIL = "ask@thornbill-rise.farm"
# With such a base and ceiling a day's thermal time is its mean temperature, moved.
WIDE = (-60.0, 70.0)


def days_of(day: FarmDay) -> DaysTable:
    """The daily record, which must be there."""
    assert day.weather.earlier is not None
    return day.weather.earlier


def page(day: FarmDay) -> str:
    """The page about the weather, on one line."""
    return " ".join(weather_text.render(weather_report(day)).split())


def means(day: FarmDay) -> Floats:
    """Mean temperature of each day of the season, as far as one trace knows it."""
    first: Floats = day.growth.season.daily(*WIDE)[0][0]
    return first


def stood_in(day: FarmDay) -> int:
    """Days of the season that past years stand in for."""
    return day.growth.season.daily(*WIDE)[1]


def at(days: DaysTable, date: str) -> int:
    """The row of a date."""
    return int((np.datetime64(date) - days.day[0]).astype(int))


def changed(folder: Path, **lines: str) -> Path:
    """The farm with a line of its ``[weather]`` set anew."""
    path = folder / "farm.toml"
    kept = path.read_text("utf-8").splitlines()
    for key, value in lines.items():
        kept = [each for each in kept if not each.startswith(f"{key} =")]
        part = "[farm]" if key in {"zone", "latitude", "longitude"} else "[weather]"
        kept.insert(kept.index(part) + 1, f"{key} = {value}")
    path.write_text("\n".join(kept) + "\n", "utf-8")
    return folder


def test_season_and_past_years_come_in_one_answer_of_silo(
    silo_farm: Path, service: tuple[Service, str], day_of: DayOf
) -> None:
    """One request, none to the archive; values and dates as sent, rain a day back."""
    state, _ = service
    day = day_of(silo_farm)
    assert len(state.asked_for(SILO)) == 1
    assert state.asked_for(ARCHIVE) == []
    days = days_of(day)
    assert str(days.day[0]) == "2023-01-01"
    assert (days.warmth_from == DayOrigin.SILO).all()
    query = {"start": "20230101", "finish": "20261008"}
    place = {"latitude": "-37.6", "longitude": "142.3"}
    sent = csv.DictReader(StringIO(state._silo(query | place).decode()))
    rows = {row["YYYY-MM-DD"]: row for row in sent}
    row = at(days, "2026-06-20")
    assert days.tmax[row] == float(rows["2026-06-20"]["max_temp"])
    assert days.tmin[row] == float(rows["2026-06-20"]["min_temp"])
    wet = at(days, "2026-05-02")
    assert days.rain[wet] == float(rows["2026-05-03"]["daily_rain"]) > 20
    printed = page(day)
    assert "past days 1 Jan 2023 8 Oct 2026 1,377 days 0 0 h SILO" in printed
    assert "SILO climate data, State of Queensland" in printed
    assert "filled from the Open-Meteo" not in printed
    assert stood_in(day) == 0


@pytest.mark.parametrize(("height", "told"), [(321.0, False), (320.0, True)])
def test_a_point_at_another_height_is_named(
    silo_farm: Path,
    service: tuple[Service, str],
    day_of: DayOf,
    height: float,
    *,
    told: bool,
) -> None:
    """The farm is at 420 m; from 100 m apart on the page says that nothing is moved."""
    service[0].silo_height = height
    printed = page(day_of(silo_farm))
    assert ("SILO's point lies at 320 m, the farm at 420 m" in printed) is told


def test_silo_is_asked_again_after_a_week(
    silo_farm: Path, service: tuple[Service, str], day_of: DayOf
) -> None:
    """Weeks end on Thursdays and count two days later: 17 October is the next."""
    state, _ = service
    day_of(silo_farm)
    state.now = np.datetime64("2026-10-16T20:00", "s")
    assert "120 h SILO" in page(day_of(silo_farm))
    assert len(state.asked_for(SILO)) == 1
    state.now = np.datetime64("2026-10-17T20:00", "s")
    day_of(silo_farm)
    assert len(state.asked_for(SILO)) == 2
    assert "finish=20261015" in state.asked_for(SILO)[-1]


def test_silo_s_days_go_before_the_forecast_s_own_past_hours(
    silo_farm: Path, service: tuple[Service, str], day_of: DayOf
) -> None:
    """SILO 5 K warmer: so are days up to its last, the 8th, and the years ahead.

    The hours from the 9th on are not.
    """
    state, _ = service
    before = means(day_of(silo_farm))
    ahead = day_of(silo_farm).growth.season.past
    assert ahead is not None
    first = np.datetime64("2026-01-01")
    years = ahead.daily(first, 365, *WIDE)
    (silo_farm / ".weather" / "http" / "answers.sqlite").unlink()
    state.silo_warmer = 5.0
    warm = day_of(silo_farm)
    moved = means(warm) - before
    last = int((np.datetime64("2026-10-08") - first).astype(int))
    np.testing.assert_allclose(moved[: last + 1], 5.0, atol=1e-9)
    np.testing.assert_allclose(moved[last + 1 : last + 4], 0.0, atol=1e-9)
    assert warm.growth.season.past is not None
    later = warm.growth.season.past.daily(first, 365, *WIDE)
    np.testing.assert_allclose(later - years, 5.0, atol=1e-9)


def test_days_that_are_averages_are_filled_from_the_archive_and_counted(
    silo_farm: Path, service: tuple[Service, str], day_of: DayOf
) -> None:
    """Code 75 on two days of August, SILO 2 K warmer than the archive.

    29 shared days of August, n / (n + 15): 2 × 29 / 44 = 1.3 K are added.
    """
    from .conftest import value

    state, _ = service
    state.silo_averages = ("2026-08-14", "2026-08-15")
    state.silo_warmer = 2.0
    day = day_of(silo_farm)
    assert len(state.asked_for(ARCHIVE)) == 1
    days = days_of(day)
    filled = days.day[days.warmth_from == DayOrigin.ARCHIVE]
    assert {"2026-08-14", "2026-08-15"} <= {str(each) for each in filled}
    assert (filled[filled > np.datetime64("2026-08-15")] > days.day[-4]).all()
    # Local solar midnight at 142° E is 15:00 UTC of the day before.
    hours = np.datetime64("2026-08-13T15", "s") + np.arange(24) * HOUR
    archive = max(round(value("temperature_2m", each), 2) for each in hours)
    row = at(days, "2026-08-14")
    assert days.tmax[row] == pytest.approx(archive + 2 * 29 / 44, abs=0.1)
    printed = page(day)
    assert "filled 14 Aug 2026 15 Aug 2026 2 days 0 0 h Open-Meteo" in printed
    assert re.search(r"brought to SILO by up to -1\.[34] K", printed)
    assert "lacks 2 days of this season before the hours" in printed
    assert "2 with temperatures, 0 with rain; lacking still: 0" in printed
    assert "only the long-term average (2 values)" in text.render(outlook(day))
    assert stood_in(day) == 0


def test_an_average_on_the_last_day_gives_way_to_the_hours(
    silo_farm: Path, service: tuple[Service, str], day_of: DayOf
) -> None:
    """Nothing is asked for it: the forecast's own past hours know that day."""
    state, _ = service
    whole = means(day_of(silo_farm))
    (silo_farm / ".weather" / "http" / "answers.sqlite").unlink()
    state.silo_averages = ("2026-10-08",)
    day = day_of(silo_farm)
    assert state.asked_for(ARCHIVE) == []
    assert "1,377 days 1 0 h SILO" in page(day)
    np.testing.assert_allclose(means(day)[:279], whole[:279], atol=1e-9)
    assert not np.isnan(means(day)).any()


@pytest.mark.parametrize(
    ("silent", "said"),
    [
        (True, "SILO lacks 1 days of this season, not filled"),
        (False, "0 with temperatures, 0 with rain; lacking still: 1"),
    ],
)
def test_days_nobody_has_are_said_to_be_lacking(
    silo_farm: Path,
    service: tuple[Service, str],
    day_of: DayOf,
    monkeypatch: pytest.MonkeyPatch,
    *,
    silent: bool,
    said: str,
) -> None:
    """The archive is silent, or does not know that day either: past years stand in.

    Also for the day before and after, of whose curves over four hours lean on it.
    """
    state, _ = service
    state.silo_averages = ("2026-08-14",)
    answer = state.answer

    def without_that_day(path: str) -> tuple[int, bytes]:
        status, body = answer(path)
        if ARCHIVE not in path:
            return status, body
        hourly = (document := json.loads(body))["hourly"]
        for row, label in enumerate(hourly["time"]):
            if label.startswith(("2026-08-13", "2026-08-14")):
                hourly["temperature_2m"][row] = None
        return (503, b"down") if silent else (status, json.dumps(document).encode())

    monkeypatch.setattr(state, "answer", without_that_day)
    day = day_of(silo_farm)
    assert said in page(day)
    assert stood_in(day) == 3


@pytest.mark.parametrize(
    "excuse",
    [
        "Sorry, {username} is not a valid e-mail address\n",
        "<html><head><title>Request Rejected</title></head>{username}</html>",
        "",
    ],
)
def test_an_excuse_falls_back_to_the_archive_and_names_nobody(
    silo_farm: Path,
    service: tuple[Service, str],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    excuse: str,
) -> None:
    """Status 200, a page in place of data: the archive serves, the page says so.

    The address in the excuse is in no page, error or file.
    """
    state, _ = service
    state.silo_page = excuse
    monkeypatch.setattr(wiring, "utc_now", lambda: state.now)
    for command in ("weather", "outlook"):
        assert exit_code([command, "--farm", str(silo_farm)]) == 0
        captured = capsys.readouterr()
        printed = " ".join(captured.out.split())
        assert "SILO gave no days: the season so far and past years are" in printed
        assert MAIL not in captured.out + captured.err
    assert len(state.asked_for(ARCHIVE)) == 4
    for path in (silo_farm / ".weather").rglob("*"):
        assert path.is_dir() or MAIL.encode() not in path.read_bytes(), path
        assert path.is_dir() or MAIL.replace("@", "%40").encode() not in (
            path.read_bytes()
        ), path


def test_a_good_answer_leaves_no_address_behind(
    silo_farm: Path, service: tuple[Service, str], day_of: DayOf
) -> None:
    """It goes on the wire as the user name, and into nothing that is kept."""
    day = day_of(silo_farm)
    assert f"username={MAIL.replace('@', '%40')}" in service[0].asked_for(SILO)[0]
    assert MAIL not in text.render(outlook(day)) + page(day)
    kept = [each for each in (silo_farm / ".weather").rglob("*") if each.is_file()]
    assert any("silo" in each.name for each in kept)
    for path in kept:
        for spelling in (MAIL, MAIL.replace("@", "%40"), "api_request"):
            assert spelling.encode() not in path.read_bytes(), path


def test_without_silo_the_archive_serves(
    silo_farm: Path, service: tuple[Service, str], day_of: DayOf
) -> None:
    """Down from the start: four years of the archive, dates all the same."""
    state, _ = service
    state.silo_down = True
    day = day_of(silo_farm)
    days = days_of(day)
    assert (days.warmth_from[~np.isnan(days.tmax)] == DayOrigin.ARCHIVE).all()
    printed = page(day)
    assert "Open-Meteo archive (ERA5)" in printed
    assert "SILO gave no days" in printed
    assert outlook(day).weather.traces >= 7


def test_a_silo_that_hangs_leaves_time_for_the_archive(
    silo_farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """An answer in drips is left after its share of the time."""
    state, _ = service
    monkeypatch.setattr(season_days, "SILO_S", 0.5)
    state.dripping = SILO
    found = gather(load_farm(silo_farm), state.now)
    assert found.past is not None
    assert found.stretches[-1].source == "Open-Meteo archive (ERA5)"
    assert any("SILO gave no days" in each for each in found.warnings)
    assert any("in time" in each for each in found.warnings)


def test_from_a_past_moment_later_days_are_not_known(
    silo_farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Stood at the 5th, SILO's days end with the 4th, though it sent the 8th too."""
    state, _ = service
    monkeypatch.setattr(wiring, "utc_now", lambda: state.now)
    day, _ = wiring.farm_day(silo_farm, "2026-10-05T02:00Z", None)
    assert str(days_of(day).day[-1]) == "2026-10-04"
    assert "finish=20261008" in state.asked_for(SILO)[0]


def test_last_week_s_answer_serves_when_silo_is_down(
    silo_farm: Path, service: tuple[Service, str], day_of: DayOf
) -> None:
    """Two weeks later: SILO's kept days, those since from the archive, both said.

    Hours go back ten days, to the 16th by local days; SILO ended on the 8th.
    """
    state, _ = service
    day_of(silo_farm)
    state.silo_down = True
    state.now += 14 * DAY
    day = day_of(silo_farm)
    days = days_of(day)
    first, end = np.datetime64("2026-10-09"), np.datetime64("2026-10-16")
    since = days.between(first, end)
    assert (since.warmth_from == DayOrigin.ARCHIVE).all()
    assert (days.between(days.day[0], first).warmth_from == DayOrigin.SILO).all()
    printed = page(day)
    assert "336 h kept SILO" in printed
    assert "filled 9 Oct 2026 15 Oct 2026 7 days" in printed
    assert "7 with temperatures, 8 with rain; lacking still: 0" in printed
    assert stood_in(day) == 0


def test_mostly_averages_are_no_record(
    silo_farm: Path, service: tuple[Service, str], day_of: DayOf
) -> None:
    """A year and a half of 3.8 years: the archive serves instead."""
    state, _ = service
    gone = np.arange(np.datetime64("2024-01-01"), np.datetime64("2025-07-01"))
    state.silo_averages = tuple(str(each) for each in gone)
    day = day_of(silo_farm)
    assert "SILO knows the temperatures of 60% of its days" in page(day)
    assert not (days_of(day).warmth_from == DayOrigin.SILO).any()


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ({"contact": '""'}, "it wants weather.contact, your own e-mail address"),
        ({"contact": '"https://thornbill-rise.farm"'}, "it wants weather.contact"),
        ({"silo": "false"}, "silo = false in the farm file"),
        (
            {
                "zone": '"Pacific/Auckland"',
                "latitude": "-43.5",
                "longitude": "172.6",
            },
            "not within 112 to 154° E and 10 to 44° S",
        ),
    ],
)
def test_why_silo_is_not_asked_is_said(
    silo_farm: Path,
    service: tuple[Service, str],
    day_of: DayOf,
    lines: dict[str, str],
    said: str,
) -> None:
    """No address, a site, a wish, another country: the archive."""
    day = day_of(changed(silo_farm, **lines))
    assert service[0].asked_for(SILO) == []
    printed = page(day)
    assert "SILO, days of Australia, is not asked:" in printed
    assert said in printed
    assert "Open-Meteo archive (ERA5)" in printed


@pytest.mark.parametrize(
    ("now", "days"), [("2026-01-04T20:00", 1), ("2026-01-02T20:00", 0)]
)
def test_the_first_days_of_a_season(
    silo_farm: Path, service: tuple[Service, str], day_of: DayOf, now: str, days: int
) -> None:
    """A day or none is there, and SILO's notes go on below it: still an outlook."""
    state, _ = service
    state.now = np.datetime64(now, "s")
    path = changed(silo_farm, years="0") / "farm.toml"
    path.write_text(path.read_text("utf-8").replace("2026-09-01", "2025-12-01"))
    day = day_of(silo_farm)
    assert len(state.asked_for(SILO)) == days
    if days:
        assert days_of(day).day.tolist() == [np.datetime64("2026-01-01").item()]
    else:
        assert "no whole week of this season yet" in " ".join(day.weather.notes)
    assert text.render(outlook(day))


def test_dates_of_past_seasons_are_scored_on_silo(
    silo_farm: Path,
    service: tuple[Service, str],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The same record as the outlook's, in one request."""
    state, _ = service
    monkeypatch.setattr(clock, "utc_now", lambda: state.now)
    place = ["hindcast", "--farm", str(silo_farm), "--dates", "barley_grass"]
    assert exit_code(place) == 0, capsys.readouterr().err
    assert len(state.asked) == len(state.asked_for(SILO)) == 1


def test_the_station_s_own_days_go_before_silo(
    silo_farm: Path,
    service: tuple[Service, str],
    day_of: DayOf,
    add_station: AddStation,
) -> None:
    """From 1 September a station: its days do not feel SILO, earlier ones do.

    What quality control takes out of a station's day comes from SILO again.
    """
    from .conftest import value

    state, _ = service
    time = np.arange(np.datetime64("2026-08-31T15", "s"), state.now, HOUR)
    stuck = (time >= np.datetime64("2026-09-09T12")) & (
        time < np.datetime64("2026-09-11T18")
    )
    seen = [
        12.0 if still else round(value("temperature_2m", each) - 2, 2)
        for each, still in zip(time, stuck, strict=True)
    ]
    rows = [f"{each},{warm}" for each, warm in zip(time, seen, strict=True)]
    add_station(silo_farm, rows)
    changed(silo_farm, station='"station.toml"')
    first = means(day_of(silo_farm))
    (silo_farm / ".weather" / "http" / "answers.sqlite").unlink()
    state.silo_warmer = 5.0
    day = day_of(silo_farm)
    moved = means(day) - first
    begin = int((np.datetime64("2026-09-01") - np.datetime64("2026-01-01")).astype(int))
    assert (np.abs(moved[: begin - 1]) > 1.0).all()
    own = moved[begin : begin + 40]
    assert np.abs(own[[*range(8), *range(12, 36)]]).max() < 1e-9
    assert abs(own[9]) > 1.0
    assert not np.isnan(own).any()
