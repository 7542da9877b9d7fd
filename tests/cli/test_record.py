"""``forecaster record``: what is typed, what is kept, what is told and refused."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np
import pytest
from hostile_names import HOSTILE
from page_reader import Page, can_be_read_aloud, stands_alone
from spray_records import add, entry

from forecaster.cli.main import exit_code
from forecaster.errors import InputMissingError
from forecaster.service import farm_sprayed, look_dates
from forecaster.service.wiring import farm_day
from forecaster.settings.shipped import demo_folder

if TYPE_CHECKING:
    from pathlib import Path

CLOCK = np.datetime64("2026-10-14T08:00", "s")
"""Wednesday 14 October, 19:00 in Melbourne."""
JOB = ("Creek Flat", "glyphosate", "2026-10-14T12:00", "17:00")


class Ran(Protocol):
    """Runs ``forecaster record`` on the test's farm; gives code, output, errors."""

    def __call__(self, *arguments: object) -> tuple[int, str, str]: ...


def stand_at(moment: np.datetime64, patch: pytest.MonkeyPatch) -> None:
    """Hold the clock still."""
    patch.setattr(look_dates, "utc_now", lambda: moment)
    patch.setattr("forecaster.service.clock.utc_now", lambda: moment)
    patch.setattr("forecaster.service.wiring.utc_now", lambda: moment)


@pytest.fixture
def farm(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the demo farm by a clock that stands still."""
    folder = tmp_path / "farm"
    shutil.copytree(demo_folder(), folder)
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    text = re.sub(r"(?m)^moment = .*\n", "", text)
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    stand_at(CLOCK, monkeypatch)
    return folder


@pytest.fixture
def record(farm: Path, capsys: pytest.CaptureFixture[str]) -> Ran:
    """The command on that farm."""

    def run(*arguments: object) -> tuple[int, str, str]:
        code = exit_code(["record", "--farm", str(farm), *map(str, arguments)])
        out, err = capsys.readouterr()
        assert "Traceback" not in err
        return code, out, err

    return run


def told(record: Ran) -> list[dict[str, Any]]:
    """The records as JSON."""
    code, out, _ = record("--list", "--format", "json")
    assert code == 0
    found: list[dict[str, Any]] = json.loads(out)["records"]
    return found


def flat(text: str) -> str:
    """Without the breaks of lines."""
    return " ".join(text.split())


def test_a_whole_line(record: Ran) -> None:
    """Times on the farm's clock, wind in km/h; 7 days from 17:00 give Thu 22 Oct.

    The worked example of the withholding is common practice, no source.
    """
    code, out, err = record(
        *JOB, "product=invented label", "hectares=25", "wind=SW 18",
        "withholding_days=7", "operator=J", "--wind", "14:30 W 5 m/s",
        "--wind", "13:00 calm", "--tank", "12:00-13:10 25 ha 1500 L", "--by", "J",
    )  # fmt: skip
    assert (code, err) == (0, "")
    assert "stock not before Thu 22 Oct" in out
    assert "Wed 21 Oct 2026 17:00 AEDT" in flat(out)
    assert "look again Wed 28 Oct to Wed 4 Nov" in out
    assert "46 h left to the deadline of Victoria" in out
    (found,) = told(record)
    job = found["job"]
    assert (job["start"], job["finish"]) == (
        "2026-10-14T01:00:00Z",
        "2026-10-14T06:00:00Z",
    )
    assert job["wind"] == {"typed": "SW 18 km/h", "ms": 5.0, "from_deg": 225.0}
    assert [each["ms"] for each in job["wind_changes"]] == [0.0, 5.0]
    assert job["tanks"][0]["litres"] == 1500
    assert found["hours_left"] == 46.0
    assert "hectares" not in {each["field"] for each in found["missing"]}
    assert {"place", "situation"} <= {each["field"] for each in found["missing"]}


def test_three_blocks_stay_apart(record: Ran, farm: Path) -> None:
    """The site's readings, the forecast from before, hours observed in the table."""
    record(*JOB, "wind=SW 16", "temperature_c=15")
    (found,) = told(record)
    assert found["forecast"]["issued"] == "2026-10-11T19:00:00Z"
    assert len(found["forecast"]["hours"]) == 5
    assert found["observed"] is None
    table = (farm / "hours.csv").read_text(encoding="utf-8").splitlines()
    rows = csv.DictReader(table)
    row = next(each for each in rows if each["time_utc"] == "2026-10-14T01:00Z")
    first = found["forecast"]["hours"][0]
    assert first["temperature_c"] == float(row["air_temperature"])
    assert first["wind_ms"] == float(row["wind_speed"])
    record("Creek Flat", "paraquat", "2026-10-10T12:30", "14:00")
    past = told(record)[0]
    assert past["forecast"] is None
    assert [each["time"] for each in past["observed"]["hours"]] == [
        "2026-10-10T01:00:00Z",
        "2026-10-10T02:00:00Z",
    ]
    out = record("--list")[1]
    heads = ("Read on site:", "Forecast for these hours", "Observed in these")
    assert all(out.count(head) == 2 for head in heads)


def test_against_the_forecast_asks_who_and_why(record: Ran) -> None:
    """Night hours are held; the entry is kept and listed until both are told."""
    words = ("Creek Flat", "paraquat", "2026-10-13T02:00", "05:00")
    code, out, _ = record(*words)
    assert code == 0
    assert "against it: hold Tue 13 Oct 02:00" in flat(out)
    assert "(override_by)" in flat(out)
    assert told(record)[0]["missing_of_override"] == ["override_by", "override_reason"]
    record("--correct", 1, "override_by=J", "override_reason=frost had gone")
    assert told(record)[0]["missing_of_override"] == []


def test_correct_and_withdraw_only_add(record: Ran, farm: Path) -> None:
    """What was written before stands in the file, byte for byte."""
    record(*JOB, "hectares=25", "note=x")
    path = farm / "records.jsonl"
    before = path.read_bytes()
    code, out, _ = record(
        "--correct", 1, "hectares=24", "note=", "finish=16:30", "--because", "gps"
    )
    assert code == 0
    assert "Corrected by entry 2" in out
    assert path.read_bytes().startswith(before)
    (found,) = told(record)
    assert found["job"]["fields"] == {"hectares": "24"}
    assert found["job"]["finish"] == "2026-10-14T05:30:00Z"
    assert found["corrected_by"] == [2]
    assert record("--correct", 2, "hectares=24")[0] == 64
    assert record("--withdraw", 1)[0] == 64
    code, out, _ = record("--withdraw", 1, "--because", "wrong paddock", "--by", "J")
    assert (code, "does not count any more" in flat(out)) == (0, True)
    assert told(record)[0]["withdrawn"] == {
        "author": "J",
        "because": "wrong paddock",
        "recorded": "2026-10-14T08:00:00Z",
    }
    assert "WITHDRAWN" in record("--list", "Creek Flat")[1]
    assert "withdrawn already, by J" in record("--withdraw", 1, "--because", "x")[2]
    assert "no record has the number 9" in record("--correct", 9, "note=x")[2]
    assert record("--verify")[0] == 0


def test_the_same_job_again_adds_nothing(record: Ran) -> None:
    """Told with its number; another paddock at that time with the same rig is told."""
    record(*JOB)
    assert "Already in the log as record 1" in record(*JOB)[1]
    assert "same rig was in Creek Flat" in flat(record("House", *JOB[1:])[1])
    assert len(told(record)) == 2


def test_verify_names_the_broken_line(record: Ran, farm: Path) -> None:
    """65 and the line; sound again, the hash to keep."""
    record(*JOB, "hectares=25")
    assert "1 entry, every link holds" in record("--verify")[1]
    record("--correct", 1, "hectares=24")
    path = farm / "records.jsonl"
    whole = path.read_bytes()
    code, out, _ = record("--verify")
    assert (code, "2 entries, every link holds" in out) == (0, True)
    path.write_bytes(whole.replace(b'"hectares":"25"', b'"hectares":"26"'))
    code, out, err = record("--verify")
    assert (code, out) == (65, "")
    assert "line 1 was changed" in err
    path.write_bytes(whole[:-9])
    assert "line 2 cannot be read" in record("--verify")[2]
    assert "line 2 cannot be used" in record("--list")[2]
    record("House", "paraquat", "2026-10-13T12:00", "13:00")
    assert "named as such by the entry after it: line 2" in record("--verify")[1]


def test_a_record_closes_the_window_and_a_withdrawal_opens_it(
    record: Ran, farm: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The paddock is sprayed for outlook and alerts, as if typed in the farm file."""
    from forecaster.service.alerts.sight import look
    from forecaster.settings.farm import load_farm

    def sprayed() -> tuple[bool, bool]:
        day, _ = farm_day(farm, None, None)
        paddock = next(e for e in day.farm.paddocks if e.name == "Creek Flat")
        windows = look(load_farm(farm), CLOCK).windows or ()
        found = {e.sprayed for e in windows if e.paddock == "Creek Flat"}
        return paddock.sprayed is not None, found == {True}

    assert sprayed() == (False, False)
    record(*JOB)
    assert sprayed() == (True, True)
    day, _ = farm_day(farm, "2026-10-14T16:59", None)
    assert all(e.sprayed is None for e in day.farm.paddocks if e.name == "Creek Flat")
    record("--withdraw", 1, "--because", "wrong paddock")
    assert sprayed() == (False, False)

    def broken(_: Path) -> None:
        raise InputMissingError("records.jsonl: cannot be read")

    record(*JOB)
    monkeypatch.setattr(farm_sprayed, "read_records", broken)
    assert "no record is used" in " ".join(
        farm_day(farm, None, None)[0].weather.warnings
    )


def test_a_record_of_a_paddock_that_has_gone(farm: Path) -> None:
    """It stays in the log, closes nothing and is told in the outlook."""
    add(farm / "records.jsonl", entry(1))
    day, _ = farm_day(farm, None, None)
    told_of = " ".join(day.weather.warnings)
    assert "paddocks that farm.toml no longer has: Creek Flät" in told_of
    assert all(each.sprayed is None for each in day.farm.paddocks)


@pytest.mark.parametrize(
    ("start", "finish", "hours"),
    [
        ("2026-10-04T01:30", "2026-10-04T03:30", 1.0),
        ("2026-10-04T01:30", "2026-10-03T16:30Z", 1.0),
        ("2026-10-03T23:00", "2026-10-04T04:00", 4.0),
    ],
)
def test_hours_over_the_change_of_the_clock(
    record: Ran, start: str, finish: str, hours: float
) -> None:
    """2:00 became 3:00 on 4 October 2026 (first Sunday in October, Victoria)."""
    assert record("House", "paraquat", start, finish)[0] == 0
    job = told(record)[0]["job"]
    took = np.datetime64(job["finish"][:-1]) - np.datetime64(job["start"][:-1])
    assert took == np.timedelta64(round(hours * 3600), "s")


@pytest.mark.parametrize(
    ("hours", "wind", "at"),
    [
        (("2026-10-04T22:00", "2026-10-05T03:00"), "2:30", "2026-10-04T15:30:00Z"),
        (
            ("2026-04-05T00:00", "2026-04-05T05:00"),
            "02:30+11:00",
            "2026-04-04T15:30:00Z",
        ),
        (
            ("2026-04-05T00:00", "2026-04-05T05:00"),
            "02:30+10:00",
            "2026-04-04T16:30:00Z",
        ),
    ],
)
def test_a_change_of_wind_in_the_nights_of_the_clock_s_change(
    record: Ran, hours: tuple[str, str], wind: str, at: str
) -> None:
    """An evening's job runs on past midnight; where 2:30 comes twice it has an offset.

    Victoria: 2:00 became 3:00 on 4 October, 3:00 became 2:00 on 5 April 2026 (tz
    database, Australia/Melbourne).
    """
    code, _, err = record("House", "paraquat", *hours, "--wind", f"{wind} W 5")
    assert (code, err) == (0, "")
    (found,) = told(record)
    assert [each["at"] for each in found["job"]["wind_changes"]] == [at]


@pytest.mark.parametrize("day", ["2026-04-05", "2026-10-04"])
def test_no_one_moment_of_the_night(record: Ran, day: str) -> None:
    """Twice, or never: the error says what to type; times are the farm's."""
    hours = (f"{day}T00:00", f"{day}T05:00")
    code, _, err = record("House", "paraquat", *hours, "--tank", "02:10-02:40")
    assert code == 64
    assert "name the offset, such as 02:10+11:00" in err
    assert f"{int(day[-2:])} {'Apr' if '-04-' in day else 'Oct'} 2026 05:00 AE" in err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((), "what was sprayed?"),
        (("House",), "a record begins with paddock, active, start, finish"),
        (("Hous", *JOB[1:]), "did you mean House"),
        (("House", "salt", *JOB[2:]), "no active is called"),
        (
            ("House", "paraquat", "2026-10-14T12:00", "11:00"),
            "finish Wed 14 Oct 2026 11:00 AEDT is not after start Wed 14 Oct",
        ),
        (("House", "paraquat", "2026-10-14T12:00", "12:00"), "is not after start"),
        (("House", "paraquat", "2026-10-14T12:00", "23:00"), "is in the future"),
        (("House", "paraquat", "2026-10-10T12:00", "2026-10-12T12:00"), "24 hours"),
        (("House", "paraquat", "2026-10-14", "17:00"), "has no time of day"),
        (("House", "paraquat", "noon", "17:00"), "is not a moment"),
        (("House", "paraquat", "1026-10-14T12:00", "17:00"), "check the year"),
        (("House", "paraquat", "2026-10-04T02:30", "05:00"), "does not exist"),
        ((*JOB, "hectars=3"), "did you mean hectares"),
        ((*JOB, "zzzzzz=3"), "known: product"),
        ((*JOB, "hectares=25 ha"), "without its unit"),
        ((*JOB, "hectares=1", "hectares=2"), "stands twice"),
        ((*JOB, "paddock=House"), "stands twice"),
        ((*JOB, "note=a\u202eb"), "invisible"),
        ((*JOB, "wind=16"), "the side it came from"),
        ((*JOB, "wind=XX 16"), "the side it came from"),
        ((*JOB, "wind=SW 160"), "from 0 to 150"),
        ((*JOB, "withholding_days=7.5"), "whole number of days"),
        ((*JOB, "--wind", "SW 16"), "write it like"),
        ((*JOB, "--wind", "11:30 SW 16"), "lies outside the job"),
        (
            (*JOB, "--wind", "12:30 W 5", "--wind", "12:30 SW 9"),
            "two winds are told for Wed 14 Oct 2026 12:30 AEDT",
        ),
        ((*JOB, "--tank", "25 ha"), "write it like"),
        ((*JOB, "--tank", "14:00-13:00"), "ends before it begins"),
        ((*JOB, "--tank", "12:00-13:00", "--tank", "12:30-14:00"), "overlap"),
        ((*JOB, "--by", ""), "name is empty"),
        (("--correct", "1"), "no record has the number 1"),
        (("--correct", "1", "House"), "is no field=value"),
        (("--list", "--verify"), "does not go with"),
        (("--list", "House", "x"), "one paddock"),
        (("--list", "Nowhere"), "no paddock called"),
        (("--list", "--format", "pdf"), "allowed is text or json or csv"),
        (("--page", "House", "--format", "pdf"), "say where to"),
    ],
)
def test_bad_input_is_one_clear_error(
    record: Ran, farm: Path, arguments: tuple[str, ...], said: str
) -> None:
    """64, one line, and nothing written."""
    code, out, err = record(*arguments)
    assert (code, out) == (64, "")
    assert said in err
    assert err.count("\n") == 1
    assert not (farm / "records.jsonl").exists()


def test_hours_corrected_past_what_was_told_of_them(record: Ran) -> None:
    """A tank must lie inside the corrected hours."""
    record(*JOB, "--tank", "12:00-13:00 20 ha")
    code, _, err = record("--correct", 1, "start=2026-10-14T12:30")
    assert (code, "lies outside start and finish" in err) == (64, True)
    assert (
        record("--correct", 1, "start=2026-10-14T12:30", "--tank", "12:30-13:00 20 ha")[
            0
        ]
        == 0
    )


SHEET = """
[[record]]
paddock = "Creek Flat"
active = "glyphosate"
start = 2026-10-14T12:00:00
finish = 17:00:00
hectares = 25
wind = "SW 16"
withholding_days = "not on label"
wind_changes = ["14:30 W 12"]
tanks = ["12:00-13:10 25 ha"]

[[record]]
paddock = "House"
active = "paraquat"
start = "2026-10-13T12:00"
finish = 2026-10-13T13:00:00+11:00
"""


def test_a_sheet(record: Ran, tmp_path: Path) -> None:
    """Each is recorded once, oldest first in the list; again adds nothing."""
    path = tmp_path / "sheet.toml"
    path.write_text(SHEET + SHEET, encoding="utf-8")
    assert record("--sheet", path)[0] == 0
    assert [e["job"]["paddock"] for e in told(record)] == ["House", "Creek Flat"]
    assert told(record)[1]["job"]["fields"] == {"hectares": "25"}
    assert record("--sheet", path)[1].count("Already in the log") == 4


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("[[record]]", "[[rekord]]"), "[[record]] tables and nothing else"),
        (("hectares = 25", "hectars = 25"), ":7:1: unknown field"),
        (("hectares = 25", "hectares = [25]"), ":7:1: hectares: allowed is a number"),
        (("hectares = 25", "hectares = true"), "allowed is a number"),
        (('["14:30 W 12"]', '"14:30 W 12"'), "allowed is a list of words"),
        (('paddock = "House"\n', ""), "paddock is missing"),
        (
            ("finish = 17:00:00", "finish = 2027-01-01T10:00:00"),
            ":2:3: start to finish",
        ),
    ],
)
def test_a_wrong_sheet_records_nothing(
    record: Ran, farm: Path, change: tuple[str, str], said: str
) -> None:
    """78, each fault with its line; not even the sound record is written."""
    path = farm / "sheet.toml"
    path.write_text(SHEET.replace(*change), encoding="utf-8")
    code, _, err = record("--sheet", path)
    assert code == 78
    assert said in err
    assert not (farm / "records.jsonl").exists()


def test_hostile_words_stay_words(record: Ran, farm: Path) -> None:
    """Every text comes back from list, CSV and page; none becomes markup or formula.

    OWASP, CSV injection: no cell may begin with = + - @.
    """
    fields = (
        "product", "rate", "situation", "weed", "place", "operator", "method", "note",
    )  # fmt: skip
    names = HOSTILE[:40]
    lines = "".join(
        f"[[record]]\npaddock = 'House'\nactive = 'paraquat'\n"
        f"start = 2026-10-{n // 8 + 1:02}T12:00:00\nfinish = 12:30:00\n"
        + "".join(
            f"{field} = {json.dumps(name, ensure_ascii=False)}\n"
            for field, name in zip(fields, names[n : n + 8], strict=True)
        )
        for n in range(0, 40, 8)
    )
    path = farm / "sheet.toml"
    path.write_text(lines, encoding="utf-8")
    assert record("--sheet", path)[0] == 0
    listed = flat(record("--list")[1])
    kept = [e["job"]["fields"][field] for e in told(record) for field in fields]
    assert kept == [name.strip() for name in names]
    out = record("--list", "House", "--format", "csv")[1]
    rows = csv.DictReader(io.StringIO(out.removeprefix("\ufeff"), newline=""))
    cells = [row[field] for row in rows for field in fields]
    for cell, name in zip(cells, names, strict=True):
        assert cell.removeprefix("'") == name.strip().removeprefix("'")
        assert cell.lstrip(" ")[:1] not in set("=+-@＝＋－＠")
        assert flat(name)[:20] in listed
    page = record("--page", "House")[1]
    stands_alone(page)
    can_be_read_aloud(page)
    words = Page(page).words
    assert all(flat(name) in words for name in names)


def test_the_table_read_back(record: Ran, farm: Path) -> None:
    """By the csv module: numbers as numbers, last season's record left out of it."""
    record(*JOB, "hectares=25", "wind=SW 18", "withholding_days=7")
    record("House", "paraquat", "2025-10-13T12:00", "13:00")
    record("--withdraw", 2, "--because", "x")
    out = record("--list", "--format", "csv")[1]
    (row,) = csv.DictReader(io.StringIO(out.removeprefix("\ufeff"), newline=""))
    assert (row["hectares"], row["wind_start_kmh"]) == ("25.0", "18.0")
    assert row["stock_not_before"] == "2026-10-22"
    assert row["start"] == "2026-10-14T12:00:00+11:00"
    assert len(told(record)) == 2
    target = farm / "page.html"
    assert record("--page", "House", "--out", target)[0] == 0
    assert "Withdrawn" in target.read_text(encoding="utf-8")
    assert "No record yet" in record("--page", "Back Road")[1]


def test_a_state_without_a_law_found(record: Ran, farm: Path) -> None:
    """The farm's state is typed, or none: both are told, nothing is made up."""
    text = (farm / "farm.toml").read_text(encoding="utf-8")
    typed = text.replace("[farm]\n", '[farm]\nstate = "sa"\n', 1)
    (farm / "farm.toml").write_text(typed, encoding="utf-8")
    out = flat(record(*JOB)[1])
    assert out.count("not found: ask your state authority") == 3
    gone = text.replace("Australia/Melbourne", "Australia/Darwin")
    (farm / "farm.toml").write_text(gone, encoding="utf-8")
    assert "type state in [farm] of farm.toml" in flat(record("--list")[1])
    wrong = text.replace("[farm]\n", '[farm]\nstate = "WA"\n', 1)
    (farm / "farm.toml").write_text(wrong, encoding="utf-8")
    assert record("--list")[0] == 78


def test_a_state_with_a_time_but_no_list_of_fields(record: Ran, farm: Path) -> None:
    """Queensland: 2 days (Business Queensland, seen in excerpt); 3 h are gone."""
    text = (farm / "farm.toml").read_text(encoding="utf-8")
    typed = text.replace("[farm]\n", '[farm]\nstate = "qld"\n', 1)
    (farm / "farm.toml").write_text(typed, encoding="utf-8")
    out = flat(record(*JOB[:3], "16:00")[1])
    assert out.count("not found: ask your state authority") == 1
    assert "45 h left to the deadline of Queensland (48 h" in out
    assert "keep it: 2 years" in out


def test_the_demo_takes_no_record(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """It ships inside the program."""
    monkeypatch.chdir(tmp_path)
    assert exit_code(["record", *JOB]) == 64
    assert "this is the demo" in capsys.readouterr().err
    assert not (demo_folder() / "records.jsonl").exists()
    assert exit_code(["record", "--list"]) == 0
    assert "No record yet." in capsys.readouterr().out


def test_sign_calendar_and_json_go_by_the_record(
    record: Ran, farm: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Not by what the farm file lists: 9 days on the label in hand, 7 in the file.

    Finish Wednesday 14 October 17:00 and nine whole days end on Friday the 23rd, so
    Saturday the 24th is printed (common practice, no source). Creek Flat is listed with
    paraquat alone, and was sprayed with glyphosate.
    """

    def run(*arguments: str) -> str:
        code = exit_code([*arguments, "--farm", str(farm)])
        out, err = capsys.readouterr()
        assert (code, err) == (0, "")
        return out

    at = ("--at", "2026-10-14T19:00")
    assert record(*JOB, "withholding_days=9")[0] == 0
    sign = flat(run("sign", "Creek Flat", "--format", "text", *at))
    assert "Sprayed: Wed 14 Oct 2026" in sign
    assert "glyphosate" in sign
    assert "paraquat" not in sign
    assert "Stock not before Sat 24 Oct 2026" in sign
    calendar = run("outlook", "--format", "ics", *at).replace("\r\n ", "")
    assert "SUMMARY:Creek Flat: stock not before 24 Oct\r\n" in calendar
    assert "SUMMARY:Creek Flat: second look\\, heads that escaped" in calendar
    assert "DTSTART;VALUE=DATE:20261028\r\nDTEND;VALUE=DATE:20261105" in calendar
    tree = json.loads(run("outlook", "--format", "json", *at))
    found = next(each for each in tree["paddocks"] if each["name"] == "Creek Flat")
    after = found["after"]
    assert after["recorded"] == {
        "actives": ["glyphosate"],
        "finish": "2026-10-14T06:00:00Z",
    }
    assert after["stock_not_before"] == "2026-10-24"
    assert after["second_look"] == ["2026-10-28", "2026-11-04"]
    code = exit_code(
        ["sign", "Creek Flat", "--active", "paraquat", "--farm", str(farm), *at]
    )
    assert code == 64
    assert "was sprayed with glyphosate" in capsys.readouterr().err


def test_days_of_a_record_never_shorten_the_label_s(
    record: Ran, farm: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """3 days typed in the record, 7 in the farm's label: the 22nd.

    Of two jobs the later end counts; one whose days nobody typed leaves no date.
    """

    def stock() -> object:
        assert exit_code(["outlook", "--format", "json", "--farm", str(farm)]) == 0
        tree = json.loads(capsys.readouterr().out)
        paddock = next(e for e in tree["paddocks"] if e["name"] == "Back Road")
        return paddock["after"] and paddock["after"]["stock_not_before"]

    assert stock() is None
    record("Back Road", "glyphosate", "2026-10-14T12:00", "13:00", "withholding_days=3")
    assert stock() == "2026-10-22"
    record("Back Road", "paraquat", "2026-10-14T14:00", "15:00", "withholding_days=1")
    assert stock() == "2026-10-22"
    record("Back Road", "paraquat", "2026-10-14T15:00", "15:30")
    assert stock() is None
    record("--withdraw", "3", "--because", "typed twice")
    assert stock() == "2026-10-22"
    record("--withdraw", "1", "--because", "another paddock")
    assert stock() == "2026-10-16"


def test_a_sign_without_typed_days_and_a_later_day_in_the_farm_file(
    record: Ran, farm: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nobody typed paraquat's days: no date. A later day typed in the file counts."""
    assert record("Creek Flat", "paraquat", "2026-10-10T12:00", "13:00")[0] == 0

    def sign() -> str:
        asked = ["sign", "Creek Flat", "--format", "text", "--farm", str(farm)]
        assert exit_code(asked) == 0
        return flat(capsys.readouterr().out)

    assert "Sprayed: Sat 10 Oct 2026" in sign()
    assert "Stock: read the label" in sign()
    text = (farm / "farm.toml").read_text(encoding="utf-8")
    text = text.replace(
        'name = "Creek Flat"\n', 'name = "Creek Flat"\nsprayed = 2026-10-12\n', 1
    )
    (farm / "farm.toml").write_text(text, encoding="utf-8")
    assert "Sprayed: Mon 12 Oct 2026" in sign()
