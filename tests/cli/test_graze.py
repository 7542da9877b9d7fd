"""``forecaster graze``: the order, what moves it, and what stays out of it."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from hostile_names import HOSTILE
from own_farm import demo_copy

from forecaster.cli.main import exit_code
from forecaster.domain.graze_page import PaddockTurn
from forecaster.domain.planning.graze_order import Place, Turn
from forecaster.render import graze_text
from forecaster.render.json import dumps
from forecaster.render.page_text import plain
from forecaster.service.graze import graze_page

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.service.farm_day import FarmDay

pytestmark = pytest.mark.usefixtures("no_farm_here")

NOW = "2026-10-12T07:00"
SPRAYED = (
    ("Creek Flat", "paraquat", "2026-10-01T10:00", "12:00", "withholding_days=1"),
    ("Woolshed", "paraquat", "2026-09-25T10:00", "12:00", "withholding_days=1"),
    ("Stony Rise", "glyphosate", "2026-10-10T10:00", "12:00", "withholding_days=7"),
)


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    """A copy of the demo farm with three paddocks sprayed."""
    folder = demo_copy(tmp_path / "farm")
    (folder / "looks.jsonl").unlink()  # they were counted where nobody had sprayed
    for each in SPRAYED:
        assert exit_code(["record", "--farm", str(folder), *each]) == 0
    return folder


def tree(
    farm: Path, capsys: pytest.CaptureFixture[str], at: str = NOW
) -> dict[str, Any]:
    """The page as JSON."""
    capsys.readouterr()
    arguments = ["graze", "--farm", str(farm), "--at", at, "--format", "json"]
    assert exit_code(arguments) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def named(page: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Paddocks by name."""
    return {each["paddock"]: each for each in page["paddocks"]}


def in_order(page: dict[str, Any]) -> list[str]:
    """Names of those to graze now."""
    return [each["paddock"] for each in page["paddocks"] if each["in_order"]]


def rain(farm: Path, hour: str, mm: str) -> None:
    """Type the rain of one UTC hour into the table."""
    path = farm / "hours.csv"
    text = path.read_text(encoding="utf-8")
    row = re.search(rf"(?m)^{hour}Z,.*$", text)
    assert row is not None
    cells = row[0].split(",")
    cells[7] = mm
    path.write_text(text.replace(row[0], ",".join(cells)), encoding="utf-8")


def test_unsprayed_ripening_first_and_topped_later(
    farm: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Common practice, no source. 14 and 28 days on by the calendar."""
    page = tree(farm, capsys)
    assert in_order(page) == ["House", "Woolshed", "Creek Flat"]
    found = named(page)
    assert found["Creek Flat"]["after"]["feed_goes_off"] == ["2026-10-29", "2026-11-12"]
    assert found["Creek Flat"]["after"]["second_look"] == ["2026-10-15", "2026-10-22"]
    assert found["Stony Rise"]["place"] == "stock may not come in yet"
    assert found["Stony Rise"]["by"] == "2026-10-18"
    assert found["Stony Rise"]["then"] == "topped, keeps"
    assert found["Back Road"]["place"].startswith("to be sprayed")
    assert {len(page["paddocks"]), len(found)} == {8}


@pytest.mark.parametrize(
    ("hour", "soaked", "end"),
    [
        ("2026-10-11T03:00", "soaked", "2026-10-18"),
        ("2026-10-14T03:00", "a soaking is forecast", "2026-10-21"),
    ],
)
def test_rain_moves_the_order(
    farm: Path, capsys: pytest.CaptureFixture[str], hour: str, soaked: str, end: str
) -> None:
    """30 mm fallen or forecast: topped feed goes first; seven days later it is gone."""
    rain(farm, hour, "30")
    page = tree(farm, capsys)
    assert in_order(page) == ["Creek Flat", "Woolshed", "House"]
    assert named(page)["Creek Flat"]["place"] == "topped, going off"
    kept = named(page)["Creek Flat"]["after"]
    assert kept["soaked"] == soaked
    assert kept["soaked_at"] == f"{hour}:00Z"
    assert kept["feed_goes_off"][1] == end


def test_rain_nobody_read_is_told(
    farm: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A gap in the table since the spray is never dry for certain."""
    rain(farm, "2026-10-11T03:00", "")
    assert named(tree(farm, capsys))["Creek Flat"]["after"]["rain_hours_unknown"] == 1
    assert exit_code(["graze", "--farm", str(farm), "--at", NOW]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "rain of 1 hour since is not known: read your gauge" in out
    assert "no hungry stock, feed roughage" in out  # capeweed, Stony Rise


def test_the_page_says_how_old_its_rain_is(
    farm: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Issued 12 October 06:00; later hours are a forecast."""
    assert exit_code(["graze", "--farm", str(farm), "--at", "2026-10-15T07:00"]) == 0
    assert "weather 73 h old" in " ".join(capsys.readouterr().out.split())
    assert tree(farm, capsys, "2026-10-15T07:00")["weather_age_h"] == 73


def test_days_are_kept_to_the_last(
    farm: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Finish 10 October 12:00 and seven whole days: in on the 18th, not on the 17th."""
    before = tree(farm, capsys, "2026-10-17T23:59")
    assert "Stony Rise" not in in_order(before)
    assert "Stony Rise" in in_order(tree(farm, capsys, "2026-10-18T00:00"))


def test_a_withdrawn_record_and_a_typed_day(
    farm: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without the record it is to be sprayed again; typed in the file, days decide.

    The demo's paraquat label states no days: read it. Glyphosate's states seven.
    """
    arguments = ["--farm", str(farm), "--withdraw", "1", "--because", "not there"]
    assert exit_code(["record", *arguments]) == 0
    assert named(tree(farm, capsys))["Creek Flat"]["sprayed"] is None
    text = (farm / "farm.toml").read_text(encoding="utf-8")
    for name in ("Creek Flat", "Vine Boundary"):
        text = text.replace(
            f'name = "{name}"\n', f'name = "{name}"\nsprayed = 2026-10-02\n', 1
        )
    (farm / "farm.toml").write_text(text, encoding="utf-8")
    found = named(tree(farm, capsys))
    assert found["Creek Flat"]["place"] == "read your label before stock go in"
    assert found["Vine Boundary"]["place"] == "topped, keeps"
    assert found["Vine Boundary"]["after"]["feed_goes_off"] == [
        "2026-10-30",
        "2026-11-13",
    ]


def test_a_later_day_in_the_file_shortens_no_days_of_a_record(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Recorded 10 October 17:00 with 21 whole days: in on 1 November.

    The day after, typed in the file with 7 days, would be over before (common practice,
    no source).
    """
    typed = 'name = "Vine Boundary"\n', 'name = "Vine Boundary"\nsprayed = 2026-10-11\n'
    folder = demo_copy(tmp_path / "farm", typed)
    at = ["--farm", str(folder), "--at", NOW]
    job = ("Vine Boundary", "paraquat", "2026-10-10T12:00", "17:00")
    assert exit_code(["record", *at[:2], *job, "withholding_days=21"]) == 0
    told = named(tree(folder, capsys))["Vine Boundary"]
    assert (told["by"], told["sprayed"]) == ("2026-11-01", "2026-10-11")
    assert exit_code(["outlook", *at]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "sprayed 11 Oct, and 10 Oct with paraquat, recorded" in text
    assert "stock not before Sun 1 Nov" in text
    assert exit_code(["sign", "Vine Boundary", "--format", "text", *at]) == 0
    assert "Stock not before Sun 1 Nov 2026" in capsys.readouterr().out
    assert exit_code(["outlook", "--format", "ics", *at]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert "SUMMARY:Vine Boundary: stock not before 1 Nov" in lines
    assert "DTSTART;VALUE=DATE:20261101" in lines

    assert exit_code(["record", *at[:2], "--correct", "1", "withholding_days="]) == 0
    found = named(tree(folder, capsys))["Vine Boundary"]
    assert found["place"] == "read your label before stock go in"
    assert exit_code(["sign", "Vine Boundary", "--format", "text", *at]) == 0
    assert "Stock: read the label" in capsys.readouterr().out
    assert exit_code(["outlook", "--format", "ics", *at]) == 0
    assert "Vine Boundary: stock not before" not in capsys.readouterr().out


def test_days_of_an_earlier_day_in_the_file_hold_beside_a_record(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """7 days from the 9th, the day itself not counted: the 17th, whatever came since.

    A job that began on the day typed is that spray (common practice, no source).
    """
    typed = 'name = "Vine Boundary"\n', 'name = "Vine Boundary"\nsprayed = 2026-10-09\n'
    folder = demo_copy(tmp_path / "farm", typed)
    job = ("record", "--farm", str(folder), "Vine Boundary", "paraquat")
    assert exit_code([*job, "2026-10-11T10:00", "12:00", "withholding_days=1"]) == 0
    assert named(tree(folder, capsys))["Vine Boundary"]["by"] == "2026-10-17"
    same = ("--correct", "1", "start=2026-10-09T22:00", "finish=2026-10-10T01:00")
    assert exit_code([*job[:3], *same]) == 0
    assert (
        named(tree(folder, capsys))["Vine Boundary"]["after"]["stock_not_before"]
        == "2026-10-12"
    )


def test_toxic_ryegrass_stands_in_no_order(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Sprayed or not: ask before stock go in."""
    folder = demo_copy(
        tmp_path / "farm",
        ('name = "Lone Gum"', 'name = "Lone Gum"\nryegrass_toxicity = true'),
    )
    assert named(tree(folder, capsys))["Lone Gum"]["place"].startswith("annual rye")


def test_weather_of_no_known_age_is_told(demo_day: FarmDay) -> None:
    """As in the short messages."""
    page = graze_page(demo_day, demo=True)
    page = replace(page, weather=replace(page.weather, age_hours=float("nan")))
    text = " ".join(graze_text.render(page).split())
    assert "nobody knows how old the weather is" in text
    assert graze_text.tree(page)["weather_age_h"] is None


def test_hostile_names(demo_day: FarmDay) -> None:
    """Each is only text, on one line of its own, in both formats."""
    page = graze_page(demo_day, demo=True)
    turns = tuple(replace(page.turns[0], paddock=name) for name in HOSTILE)
    page = replace(page, farm=HOSTILE[0], turns=turns)
    made = json.loads(dumps(graze_text.tree(page)))
    assert [each["paddock"] for each in made["paddocks"]] == list(HOSTILE)
    text = graze_text.render(page)
    flat = "".join(text.split())  # a name longer than a line is broken
    for number, name in enumerate(HOSTILE, start=1):
        assert f"\n  {number}. " in text
        assert "".join(plain(name).split()) in flat


def test_what_cannot_be_told_stands_there_with_its_fault(demo_day: FarmDay) -> None:
    """Never silent: last in the list, in no order."""
    lost = PaddockTurn("Bore", 9.0, Turn(Place.UNKNOWN, None), None, "KeyError: x")
    page = replace(graze_page(demo_day), turns=(lost,))
    text = graze_text.render(page)
    assert "No paddock to graze now." in text
    assert "- Bore, 9 ha: cannot be told; KeyError: x" in text
