"""The daily line on farms written for one question each."""

from __future__ import annotations

import textwrap
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.domain.growth.stage import Stage
from forecaster.domain.planning.next_step import Step
from forecaster.domain.planning.windows import Status
from forecaster.domain.spraying.limits import Verdict
from forecaster.errors import NoWeatherError, SettingsError
from forecaster.render import text
from forecaster.service import views
from forecaster.service.daily import outlook
from forecaster.service.farm_day import FarmDay
from forecaster.service.wiring import farm_day
from forecaster.settings.shipped import demo_folder

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.outlook import Outlook, PaddockOutlook

LABEL = """
[labels.glyphosate]
label = "a test label"
confirmed = true
confirmed_by = "a test"
read_on = 2026-09-01
weeds = ["barley_grass", "capeweed"]
wind_min_kmh = 3
wind_max_kmh = 20
rain_free_hours = 6
inversion_restraint = true
"""
PADDOCK = """
[[paddock]]
name = "P"
hectares = 20
weeds = { barley_grass = 30 }
actives = ["glyphosate"]
nothing_near = true
"""


def farm_of(
    folder: Path,
    *,
    labels: str = LABEL,
    paddocks: str = PADDOCK,
    season: str = "",
    weather: str = 'kind = "demo"',
    place: str = "latitude = -37.595\nlongitude = 142.305",
    zone: str = "Australia/Melbourne",
) -> Path:
    """A farm folder on the demo's weather unless told otherwise."""
    head = f'[farm]\nname = "F"\nzone = "{zone}"\n{place}\nelevation_m = 420\n'
    body = f"[season]\n{season}\n[weather]\n{weather}\n{labels}\n{paddocks}\n"
    (folder / "farm.toml").write_text(head + body, encoding="utf-8")
    return folder


def told(folder: Path, at: str | None = None) -> Outlook:
    """The outlook of a farm folder."""
    day, _ = farm_day(folder, at, None)
    return outlook(day)


def only(folder: Path, at: str | None = None) -> PaddockOutlook:
    """Its one paddock."""
    (paddock,) = told(folder, at).paddocks
    return paddock


def test_a_confirmed_label_and_a_good_day_give_good_hours(tmp_path: Path) -> None:
    """The base case the others take something away from."""
    (active,) = only(farm_of(tmp_path)).actives
    assert active.blocks
    assert active.step is Step.SPRAY
    assert active.step_block is not None
    assert active.step_block.verdict is Verdict.GOOD


@pytest.mark.parametrize(
    ("changes", "step"),
    [
        ({"labels": ""}, Step.TYPE_LABEL),
        ({"labels": LABEL.replace("true", "false", 1)}, Step.TYPE_LABEL),
        ({"labels": LABEL.replace('"barley_grass", ', "")}, Step.NOT_ON_LABEL),
        ({"paddocks": PADDOCK.replace("nothing_near = true", "")}, Step.SURVEY),
        ({"paddocks": PADDOCK + "sprayed = 2026-10-10"}, Step.DONE),
    ],
)
def test_whatever_is_not_settled_leaves_no_good_hour_to_act_on(
    tmp_path: Path, changes: dict[str, str], step: Step
) -> None:
    """No label, an unconfirmed one, a weed not on it, an unsurveyed paddock, done."""
    (active,) = only(farm_of(tmp_path, **changes)).actives
    assert active.step is step
    assert active.step_block is None
    if step is not Step.DONE:
        assert not active.blocks


def test_one_label_number_left_out_is_enough_to_leave_no_good_hour(
    tmp_path: Path,
) -> None:
    """Each of the four numbers in turn; "not on label" in its place is an answer."""
    lines = [line for line in LABEL.splitlines() if "_" in line.split("=")[0]]
    numbers = [
        line for line in lines if "confirmed_by" not in line and "read" not in line
    ]
    assert len(numbers) == 4
    for line in numbers:
        left_out = LABEL.replace(line, "")
        (active,) = only(farm_of(tmp_path, labels=left_out)).actives
        assert not active.blocks, line
    unstated = LABEL.replace("wind_max_kmh = 20", 'wind_max_kmh = "not on label"')
    (active,) = only(farm_of(tmp_path, labels=unstated)).actives
    assert active.blocks


def test_paraquat_is_never_offered_for_capeweed(tmp_path: Path) -> None:
    """Common practice, no source: the contact active does not control capeweed."""
    capeweed = PADDOCK.replace("barley_grass", "capeweed").replace(
        '["glyphosate"]', '["paraquat"]'
    )
    (active,) = only(farm_of(tmp_path, paddocks=capeweed)).actives
    assert active.step is Step.DOES_NOT_CONTROL
    assert active.window is None


def test_without_a_break_nothing_is_projected(tmp_path: Path) -> None:
    """In April before any rain: no heads, no dates, and it says so."""
    (active,) = only(farm_of(tmp_path), at="2026-04-20T09:00").actives
    assert active.status is Status.UNKNOWN
    assert active.step is Step.CANNOT_TELL
    value = told(tmp_path, at="2026-04-20T09:00")
    assert value.season_break is None
    assert "none found in the rain" in value.season_break_how


def test_a_typed_break_wins_over_the_rain_and_the_paddock_over_the_farm(
    tmp_path: Path,
) -> None:
    """An earlier break heads earlier; each paddock may have its own."""
    two = PADDOCK + PADDOCK.replace('"P"', '"Q"') + "autumn_break = 2026-06-20\n"
    farm_of(tmp_path, paddocks=two, season="autumn_break = 2026-04-10")
    value = told(tmp_path)
    early, late = (paddock.stage for paddock in value.paddocks)
    assert early is not None
    assert late is not None
    assert early.half_headed.likely is not None
    assert late.half_headed.likely is not None
    assert early.half_headed.likely < late.half_headed.likely
    assert value.season_break_how == "typed in the farm file"
    assert late.patchy
    assert not early.patchy


@pytest.mark.parametrize("date", ["2026-10-13", "2025-08-01"])
def test_a_break_of_another_season_is_refused(tmp_path: Path, date: str) -> None:
    """Tomorrow, and more than 400 days ago."""
    with pytest.raises(SettingsError, match="autumn_break = "):
        told(farm_of(tmp_path, season=f"autumn_break = {date}"))


def test_one_paddock_that_fails_never_stops_the_others(
    demo_day: FarmDay, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is printed as unknown with its reason; the rest are as they were."""
    whole = outlook(demo_day)
    real = views.active_outlook

    def broken(day: FarmDay, paddock: object, *rest: object, **named: object) -> object:
        if getattr(paddock, "name", "") == "Woolshed":
            raise ValueError("a planted fault")
        return real(day, paddock, *rest, **named)  # type: ignore[arg-type]  # passed on

    monkeypatch.setattr(views, "active_outlook", broken)
    hurt = outlook(demo_day)
    for before, after in zip(whole.paddocks, hurt.paddocks, strict=True):
        if before.name == "Woolshed":
            assert after.fault == "ValueError: a planted fault"
        else:
            assert repr(after) == repr(before)
    printed = text.render(hurt)
    assert "Woolshed        unknown: ValueError: a planted fault" in printed
    assert "UNKNOWN" in printed


def test_old_weather_says_its_age_and_gives_no_good_hour(demo_day: FarmDay) -> None:
    """Issued four days ago, every forecast hour is unknown."""
    frame = demo_day.weather.frame
    issued = demo_day.weather.now - np.timedelta64(96, "h")
    stale = replace(
        demo_day.weather,
        frame=replace(frame, provenance=replace(frame.provenance, issued=issued)),
    )
    value = outlook(FarmDay.of(demo_day.farm, stale))
    assert not any(a.blocks for p in value.paddocks for a in p.actives)
    assert "96 h old" in text.render(value)


def test_weather_a_day_and_a_half_old_only_asks_for_a_look(demo_day: FarmDay) -> None:
    """Between 30 and 72 hours nothing is good, but hours remain to look at."""
    frame = demo_day.weather.frame
    issued = demo_day.weather.now - np.timedelta64(36, "h")
    ageing = replace(
        demo_day.weather,
        frame=replace(frame, provenance=replace(frame.provenance, issued=issued)),
    )
    actives = [
        active
        for paddock in outlook(FarmDay.of(demo_day.farm, ageing)).paddocks
        for active in paddock.actives
    ]
    assert not any(active.blocks for active in actives)
    assert any(active.look_first for active in actives)


@pytest.mark.parametrize("at", ["2026-01-01T00:00", "2027-01-01T00:00"])
def test_a_moment_outside_the_weather_is_refused(at: str) -> None:
    """The message names the span and --at."""
    with pytest.raises(NoWeatherError, match="--at"):
        farm_day(demo_folder(), at, None)


def test_the_stage_words_follow_the_heads(tmp_path: Path) -> None:
    """Late in the season barley grass is past milk; early the heads are not out."""
    hours = demo_folder() / "hours.csv"
    shifted = hours.read_text(encoding="utf-8")
    (tmp_path / "hours.csv").write_text(shifted, encoding="utf-8")
    weather = 'kind = "hours"\nfile = "hours.csv"'
    farm_of(tmp_path, weather=weather, season="autumn_break = 2026-04-05")
    early = only(tmp_path, at="2026-06-15T09:00").stage
    late = only(tmp_path, at="2026-10-18T09:00").stage
    assert early is not None
    assert late is not None
    assert early.likely is None
    assert early.words[1] == "heads not out yet"
    assert late.likely is not None
    assert late.likely >= Stage.MILK


def test_without_past_years_dates_end_where_the_hours_end(tmp_path: Path) -> None:
    """One trace, no invented dates, and a warning."""
    (tmp_path / "hours.csv").write_bytes((demo_folder() / "hours.csv").read_bytes())
    ryegrass = PADDOCK.replace("barley_grass", "annual_ryegrass")
    farm_of(tmp_path, weather='kind = "hours"\nfile = "hours.csv"', paddocks=ryegrass)
    value = told(tmp_path, at="2026-10-12T07:00")
    assert value.weather.traces == 1
    assert any("no past years" in warning for warning in value.weather.warnings)
    (active,) = value.paddocks[0].actives
    assert active.window is not None
    assert active.window.closed.likely is None
    assert "later" in text.render(value)


def test_a_confirmed_label_short_of_a_number_says_to_type_it(tmp_path: Path) -> None:
    """The next step is the label, not the weather."""
    short = LABEL.replace("rain_free_hours = 6\n", "")
    (active,) = only(farm_of(tmp_path, labels=short)).actives
    assert active.step is Step.TYPE_LABEL


def test_without_measured_pressure_the_standard_atmosphere_stands_in(
    tmp_path: Path,
) -> None:
    """An hours table without the column still gives good hours, and says so."""
    rows = (demo_folder() / "hours.csv").read_text(encoding="utf-8").splitlines()
    at = rows[0].split(",").index("pressure")
    without = [
        ",".join(c for i, c in enumerate(row.split(",")) if i != at) for row in rows
    ]
    (tmp_path / "hours.csv").write_text("\n".join(without) + "\n", encoding="utf-8")
    farm_of(tmp_path, weather='kind = "hours"\nfile = "hours.csv"')
    value = told(tmp_path, at="2026-10-12T07:00")
    assert value.paddocks[0].actives[0].blocks
    assert any("standard atmosphere at 420 m" in note for note in value.weather.notes)


def test_missing_wind_is_told_as_unknown_not_as_hold(tmp_path: Path) -> None:
    """What bars the week names the wind, its hours and the verdict they had."""
    rows = (demo_folder() / "hours.csv").read_text(encoding="utf-8").splitlines()
    at = rows[0].split(",").index("wind_speed")
    blank = [rows[0]]
    for row in rows[1:]:
        cells = row.split(",")
        cells[at] = "" if cells[-1] == "forecast" else cells[at]
        blank.append(",".join(cells))
    (tmp_path / "hours.csv").write_text("\n".join(blank) + "\n", encoding="utf-8")
    weather = 'kind = "hours"\nfile = "hours.csv"\nissued = 2026-10-12T06:00:00+11:00'
    farm_of(tmp_path, weather=weather)
    (active,) = only(tmp_path, at="2026-10-12T07:00").actives
    assert not active.blocks
    assert not active.look_first
    # every hour is unknown, but for those that rain holds whatever the wind
    assert {bar.verdict for bar in active.bars} == {Verdict.UNKNOWN, Verdict.HOLD}
    for bar in active.bars:
        if bar.verdict is Verdict.HOLD:
            assert bar.limit.quantity.value in {"rain_free_hours", "delta_t"}


def test_a_moment_before_the_issue_replays_what_came_later() -> None:
    """Standing in September, October's rows are hindsight and are called that."""
    day, _ = farm_day(demo_folder(), "2026-09-20T07:00", None)
    value = outlook(day)
    assert value.weather.age_hours == 1.0
    assert any("real forecast is worse" in each for each in value.weather.warnings)


@pytest.mark.parametrize(
    ("zone", "place", "expected"),
    [
        # 07:00 AEDT on 12 October is 20:00 UTC on the 11th.
        ("Australia/Melbourne", "-37.595 142.305", "Mon 12 Oct 2026 07:00 AEDT"),
        ("Australia/Adelaide", "-34.9 138.6", "Mon 12 Oct 2026 06:30 ACDT"),
        ("Australia/Perth", "-33.7 117.6", "Mon 12 Oct 2026 04:00 AWST"),
        ("Australia/Brisbane", "-27.5 152.0", "Mon 12 Oct 2026 06:00 AEST"),
        ("Australia/Lord_Howe", "-31.5 159.1", "Mon 12 Oct 2026 07:00 +11"),
        ("Australia/Hobart", "-42.5 147.2", "Mon 12 Oct 2026 07:00 AEDT"),
    ],
)
def test_local_clocks_are_right_in_every_zone(
    tmp_path: Path, zone: str, place: str, expected: str
) -> None:
    """One UTC moment on six clocks (IANA time-zone database), half hours included."""
    latitude, longitude = place.split()
    farm_of(
        tmp_path, zone=zone, place=f"latitude = {latitude}\nlongitude = {longitude}"
    )
    printed = text.render(told(tmp_path, at="2026-10-11T20:00Z"))
    assert f"Printed for {expected}." in printed


def test_the_night_the_clocks_change_prints_each_hour_once(tmp_path: Path) -> None:
    """4 October 2026 in Melbourne goes from 01:00 AEST to 03:00 AEDT."""
    from forecaster.render import hours_text
    from forecaster.service.hours_view import paddock_hours
    from forecaster.service.wiring import chosen

    farm_of(tmp_path)
    day, _ = farm_day(tmp_path, "2026-10-03T14:00Z", None)
    week = paddock_hours(day, *chosen(day, "P", None))
    printed = hours_text.render(week)
    sunday = printed.split("\nSun 4 Oct\n")[1].split("\nMon 5 Oct\n")[0]
    starts = [line[:5] for line in sunday.splitlines() if line[2:3] == ":"]
    assert starts == ["00:00", "01:00", *[f"{hour:02d}:00" for hour in range(3, 24)]]


def test_the_demo_weather_is_made_by_its_script(root: Path, tmp_path: Path) -> None:
    """Running the maker again gives the shipped files, byte for byte."""
    import subprocess
    import sys

    script = root / "fixtures" / "make_demo_weather.py"
    subprocess.run([sys.executable, str(script), str(tmp_path)], check=True)
    for name in ("hours.csv", "past_years.csv"):
        assert (tmp_path / name).read_bytes() == (demo_folder() / name).read_bytes()


SCENARIO = textwrap.dedent(
    """
    Mon 09:00 | Creek Flat, Back Road
    Mon 12:00 | Creek Flat, Back Road
    Mon 14:00 | Creek Flat, Back Road, Stony Rise
    Wed 14:00 | Vine Boundary, Stony Rise
    Thu 11:00 | Stony Rise, Back Road
    Thu 14:00 | Stony Rise, Vine Boundary
    Fri 10:00 | Back Road
    """
).strip()


@pytest.mark.parametrize("row", SCENARIO.splitlines())
def test_the_scenario_week_bars_the_paddocks_the_story_says(
    row: str, demo_day: FarmDay
) -> None:
    """The invented week's story: who is barred by wind side in which half-day.

    Written down with the farm, before the program: each row holds the paddocks of
    the five candidates whose neighbours lie downwind.
    """
    from forecaster.service.hours_view import downwind

    when, barred = (part.strip() for part in row.split("|"))
    clock = {"Mon": 12, "Tue": 13, "Wed": 14, "Thu": 15, "Fri": 16}
    day, hour = when.split()
    moment = np.datetime64(f"2026-10-{clock[day]}T{hour}", "s") - np.timedelta64(
        11, "h"
    )
    frame = demo_day.weather.frame
    wind_from = float(frame.wind_from[np.searchsorted(frame.time, moment)])
    candidates = {"Creek Flat", "Woolshed", "Stony Rise", "Vine Boundary", "Back Road"}
    found = {
        paddock.name
        for paddock in demo_day.farm.paddocks
        if paddock.name in candidates and downwind(paddock, wind_from)
    }
    assert found == {name.strip() for name in barred.split(",")}


@pytest.mark.parametrize(
    ("paddock", "active", "when", "verdict"),
    [
        # paddock, active, local hour, and why it must come out so
        ("Woolshed", "paraquat", "12T14", Verdict.GOOD),  # N 14, Delta T 6.9
        ("Woolshed", "glyphosate", "12T16", Verdict.HOLD),  # rain at 22:00, 6 h needed
        ("Woolshed", "paraquat", "12T16", Verdict.GOOD),  # 1 h needed
        ("Woolshed", "paraquat", "13T12", Verdict.HOLD),  # SW 29 over 20
        ("Woolshed", "paraquat", "14T10", Verdict.LOOK_FIRST),  # Delta T under 2
        ("Creek Flat", "paraquat", "14T14", Verdict.GOOD),  # SW 16 blows away
        ("Back Road", "glyphosate", "14T14", Verdict.GOOD),
        ("Vine Boundary", "glyphosate", "14T14", Verdict.HOLD),  # vineyard downwind
        ("Woolshed", "paraquat", "15T08", Verdict.HOLD),  # calm, clear, inversion
        ("Woolshed", "paraquat", "15T14", Verdict.GOOD),  # SSE 9: the best block
        ("Creek Flat", "paraquat", "15T14", Verdict.LOOK_FIRST),  # under 3 m/s
        ("Woolshed", "paraquat", "16T14", Verdict.HOLD),  # Delta T over 10, farm holds
        ("Woolshed", "paraquat", "17T12", Verdict.HOLD),  # hot northerly, 32
    ],
)
def test_hours_of_the_scenario_week(
    paddock: str, active: str, when: str, verdict: Verdict, demo_day: FarmDay
) -> None:
    """The story of the week, hour by hour where it matters."""
    from forecaster.service.hours_view import paddock_hours
    from forecaster.service.wiring import chosen

    week = paddock_hours(demo_day, *chosen(demo_day, paddock, active))
    moment = np.datetime64(f"2026-10-{when}:00", "s") - np.timedelta64(11, "h")
    (hour,) = [each for each in week.hours if each.time == moment]
    assert hour.verdict is verdict
