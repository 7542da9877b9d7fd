"""What pages say of a paddock since its spray, and what a second look changes."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest
from own_farm import demo_copy

from forecaster.cli.main import exit_code
from forecaster.domain.alerts.records import Change
from forecaster.service.readings import readings
from forecaster.service.wiring import farm_day

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

pytestmark = pytest.mark.usefixtures("no_farm_here")

NOW = "2026-10-12T07:00"
JOB = ("Back Road", "glyphosate", "2026-09-25T10:00", "12:00", "withholding_days=7")
"""Sprayed 25 September: stock from 3 October, a second look 9 to 16 October."""


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    """A copy of the demo farm with one paddock sprayed, its spray recorded."""
    folder = demo_copy(tmp_path / "farm")
    (folder / "looks.jsonl").unlink()  # they were counted where nobody had sprayed
    assert exit_code(["record", "--farm", str(folder), *JOB]) == 0
    return folder


@pytest.fixture
def page(farm: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    """What a command prints of the farm."""

    def printed(command: str, *more: str) -> str:
        capsys.readouterr()
        asked = [command, "--farm", str(farm), "--at", NOW, *more]
        assert exit_code(asked) == 0
        return capsys.readouterr().out

    return printed


def look(farm: Path, *counts: str, on: str) -> None:
    """Count heads in the sprayed paddock."""
    asked = ["look", "--farm", str(farm), "Back Road", *counts, "--on", on]
    assert exit_code(asked) == 0


def paddocks(text: str) -> dict[str, Any]:
    """Paddocks of an outlook's JSON by name."""
    return {each["name"]: each for each in json.loads(text)["paddocks"]}


def flat(text: str) -> str:
    """One line; the calendar folds its own."""
    return " ".join(text.replace("\r\n ", "").replace("\\,", ",").split())


def test_the_outlook_says_what_stands_and_what_is_next(
    page: Callable[..., str],
) -> None:
    """Calendar days from the finish: 8 for stock, 14 and 21, 28 and 42."""
    text = flat(page("outlook"))
    assert "after sprayed 25 Sep with glyphosate, recorded" in text
    assert "stock not before Sat 3 Oct" in text
    assert "second look DUE (9 to 16 Oct): count heads that escaped" in text
    assert "its feed goes off between 23 Oct and 6 Nov (assumed)" in text
    assert "glyphosate sprayed second look" in text
    html = page("outlook", "--format", "html")
    assert "Second look" in html
    assert "count heads that escaped; stock not before Sat 3 Oct" in html


def test_the_calendar_has_all_that_comes_after(page: Callable[..., str]) -> None:
    """An event of days ends the day after its last (RFC 5545)."""
    calendar = page("outlook", "--format", "ics").replace("\r\n ", "")
    events = {
        each.split("SUMMARY:")[1].split("\r\n")[0].replace("\\,", ","): each
        for each in calendar.split("BEGIN:VEVENT")[1:]
    }
    for summary, first, end in (
        ("Back Road: stock not before 3 Oct", "20261003", "20261004"),
        ("Back Road: second look, heads that escaped", "20261009", "20261017"),
        ("Back Road: topped feed goes off", "20261023", "20261107"),
    ):
        assert f"DTSTART;VALUE=DATE:{first}" in events[summary]
        assert f"DTEND;VALUE=DATE:{end}" in events[summary]


def test_where_to_count_next_names_second_looks_first(
    farm: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Until somebody counted; its days are those of the outlook."""

    def advised(*more: str) -> str:
        capsys.readouterr()
        asked = ["look", "--advise", "--farm", str(farm), "--at", NOW, *more]
        assert exit_code(asked) == 0
        return capsys.readouterr().out

    said = "- Back Road: second look DUE (9 to 16 Oct): count heads that escaped"
    assert advised().splitlines()[1] == said
    (due,) = json.loads(advised("--format", "json"))["second_looks"]
    assert due == {
        "paddock": "Back Road",
        "sprayed": "2026-09-25",
        "between": ["2026-10-09", "2026-10-16"],
    }
    look(farm, "heading=0", on="2026-10-10")
    assert "second look" not in advised()


def test_a_second_look_says_what_escaped(farm: Path, page: Callable[..., str]) -> None:
    """Late heads are named with what is left to do, and put the paddock in front."""
    look(farm, "flowering=4", "hard dough=2", on="2026-10-10")
    text = flat(page("outlook"))
    assert "of 6 heads of silver grass counted 10 Oct 4 can still be stopped" in text
    assert "glyphosate sprayed stop the late heads" in text
    turns = json.loads(page("graze", "--format", "json"))["paddocks"]
    assert turns[0]["paddock"] == "Back Road"
    assert turns[0]["place"].startswith("late heads")
    calendar = flat(page("outlook", "--format", "ics"))
    assert "Done: of 6 heads of silver grass counted 10 Oct" in calendar


def test_none_escaped_is_a_count_too(farm: Path, page: Callable[..., str]) -> None:
    """A count of 0 says something after a spray, and nothing without one."""
    look(farm, "heading=0", on="2026-10-10")
    assert "no head of silver grass escaped, as counted 10 Oct" in flat(page("outlook"))
    after = paddocks(page("outlook", "--format", "json"))["Back Road"]["after"]
    assert after["due"] == []
    assert [each["late_heads"] for each in after["counted_since"]] == [0]
    turns = json.loads(page("graze", "--format", "json"))["paddocks"]
    place = next(each["place"] for each in turns if each["paddock"] == "Back Road")
    assert place == "topped, keeps"


def test_a_count_of_nothing_without_a_spray_is_refused(
    farm: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Also on the day of the spray, and in a paddock that was not sprayed."""
    for paddock, day in (("Woolshed", "2026-10-10"), ("Back Road", "2026-09-25")):
        asked = ["look", "--farm", str(farm), paddock, "heading=0", "--on", day]
        assert exit_code(asked) == 64
        assert "Only after a spray" in flat(capsys.readouterr().err)


def test_counts_since_the_spray_move_no_date(
    farm: Path, page: Callable[..., str]
) -> None:
    """What a spray left says nothing of when heads ripen, here or elsewhere."""
    before = paddocks(page("outlook", "--format", "json"))
    look(farm, "not out=30", on="2026-09-26")
    look(farm, "not out=30", on="2026-10-10")
    then = paddocks(page("outlook", "--format", "json"))
    for name, paddock in before.items():
        assert then[name]["heads"] == paddock["heads"], name
        assert then[name]["look"] == paddock["look"], name
    since = then["Back Road"]["after"]["counted_since"]
    assert [each["day"] for each in since] == ["2026-10-10"]


def test_a_count_of_nothing_moves_no_date_when_the_spray_is_withdrawn(
    farm: Path, page: Callable[..., str]
) -> None:
    """It then says nothing at all."""
    look(farm, "heading=0", on="2026-10-10")
    asked = ["--withdraw", "1", "--because", "not there"]
    assert exit_code(["record", "--farm", str(farm), *asked]) == 0
    found = paddocks(page("outlook", "--format", "json"))["Back Road"]
    assert (found["after"], found["look"]) == (None, None)
    assert found["fault"] is None


def mob(farm: Path, paddock: str, first: str, last: str) -> None:
    """A mob typed into a paddock."""
    path = farm / "farm.toml"
    text = path.read_text(encoding="utf-8")
    stay = f'[[mob.stay]]\npaddock = "{paddock}"\nfrom = {first}\nuntil = {last}\n'
    more = f'\n[[mob]]\nname = "Strays"\ndse = 300\n\n{stay}'
    path.write_text(text + more, encoding="utf-8")


def test_a_mob_before_its_day_clashes_on_every_page(
    farm: Path, page: Callable[..., str]
) -> None:
    """Sprayed 10 October, 7 days: from the 18th. The mob is typed from the 16th."""
    job = ("Woolshed", "paraquat", "2026-10-10T10:00", "12:00", "withholding_days=7")
    assert exit_code(["record", "--farm", str(farm), *job]) == 0
    mob(farm, "Woolshed", "2026-10-16", "2026-10-24")
    text = flat(page("outlook"))
    assert "stock not before Sun 18 Oct; CLASH: Strays here 16 to 24 Oct" in text
    assert "paraquat sprayed keep stock out" in text
    assert "Keep stock out" in page("outlook", "--format", "html")
    after = paddocks(page("outlook", "--format", "json"))["Woolshed"]["after"]
    assert after["due"][0] == "stock too early"
    assert [each["mob"] for each in after["stock_too_early"]] == ["Strays"]
    said = flat(page("stock", "Woolshed"))
    assert "CLASH: Strays here 16 to 24 Oct" in said
    assert "before it is sprayed" not in said
    assert "stock off" not in said
    day, _ = farm_day(farm, NOW, None)
    due = [each.due for each in readings(day) if each.paddock == "Woolshed"]
    assert due == [(Change.STOCK_EARLY,)]


@pytest.mark.parametrize(
    ("start", "stage", "closes"),
    [
        ("2026-05-10T10:00", "", False),
        ("2026-07-31T10:00", "", False),
        ("2026-08-01T10:00", "", True),
        ("2026-09-20T10:00", "stage=not out", False),
        ("2026-07-20T10:00", "stage=flowering", True),
        ("2026-09-20T10:00", "stage=some words", True),
    ],
)
def test_a_spray_before_heads_closes_no_window(
    farm: Path,
    page: Callable[..., str],
    capsys: pytest.CaptureFixture[str],
    start: str,
    stage: str,
    *,
    closes: bool,
) -> None:
    """By its stage, else from August on; the record says so (our own rule)."""
    told = [each for each in (stage,) if each]
    job = ["Woolshed", "paraquat", start, "12:00", *told]
    capsys.readouterr()
    assert exit_code(["record", "--farm", str(farm), *job]) == 0
    said = flat(capsys.readouterr().out)
    assert ("it closes no stage window" in said) is not closes
    sprayed = paddocks(page("outlook", "--format", "json"))["Woolshed"]["sprayed"]
    assert (sprayed is not None) is closes


def test_a_look_too_soon_says_that_it_tells_nothing(
    farm: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nine days are too soon, ten are not (assumed)."""
    for on, said in (
        ("2026-10-04", "it was sprayed 9 d before: heads still die"),
        ("2026-10-05", "this counts what escaped, and moves no date"),
    ):
        capsys.readouterr()
        look(farm, "heading=0", on=on)
        assert said in flat(capsys.readouterr().out)


def test_sprayed_capeweed_is_told_on_every_page(
    farm: Path, page: Callable[..., str]
) -> None:
    """No hungry stock: outlook, page of grazing, calendar and sign."""
    job = ("Stony Rise", "glyphosate", "2026-10-01T10:00", "12:00")
    assert exit_code(["record", "--farm", str(farm), *job]) == 0
    for command in ("outlook", "graze"):
        assert "no hungry stock, feed roughage" in flat(page(command))
    calendar = page("outlook", "--format", "ics").replace("\r\n ", "")
    assert "no hungry stock\\, feed roughage" in calendar
    sign = page("sign", "Stony Rise", "--format", "text")
    assert "sprayed capeweed may poison: no hungry stock" in flat(sign)


def test_alerts_ask_with_one_window_of_the_paddock(farm: Path) -> None:
    """Back Road has two actives; the one that was sprayed speaks."""
    day, _ = farm_day(farm, NOW, None)
    seen = readings(day)
    due = {each.key.active: each.due for each in seen if each.paddock == "Back Road"}
    assert due["glyphosate"] == (Change.LOOK_AGAIN,)
    assert {active for active, asked in due.items() if asked} == {"glyphosate"}
    assert len(due) == 2
    assert not any(each.due for each in seen if each.paddock != "Back Road")


def test_a_second_pass_does_not_renew_the_feed(
    farm: Path, page: Callable[..., str]
) -> None:
    """Four and six weeks from the first spray of two; a second look after the last."""
    again = ("Back Road", "paraquat", "2026-10-09T10:00", "12:00", "withholding_days=1")
    assert exit_code(["record", "--farm", str(farm), *again]) == 0
    text = flat(page("outlook"))
    assert "sprayed 9 Oct with glyphosate and paraquat, recorded" in text
    assert "second look 23 to 30 Oct" in text
    assert (
        "its feed, topped 25 Sep, goes off between 23 Oct and 6 Nov (assumed)" in text
    )
