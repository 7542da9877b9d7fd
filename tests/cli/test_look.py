"""``forecaster look``: what is typed, what is understood, and what is refused."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any, Protocol

import numpy as np
import pytest

from forecaster.cli.main import exit_code
from forecaster.domain.growth.stage import Stage
from forecaster.service import look_dates
from forecaster.service.farm_looks import load_looks
from forecaster.service.look_count import photo_path
from forecaster.settings.farm import load_farm
from forecaster.settings.shipped import demo_folder

CLOCK = np.datetime64("2026-10-12T20:00", "s")
"""Tuesday 13 October, 07:00 in Melbourne: the same hour of day as the demo's."""


class Ran(Protocol):
    """Runs ``forecaster look`` on the test's farm; gives exit code, output, errors."""

    def __call__(self, *arguments: object) -> tuple[int, str, str]: ...


@pytest.fixture
def farm(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the demo farm, not looked at, by a clock that stands still."""
    folder = tmp_path / "farm"
    shutil.copytree(demo_folder(), folder)
    (folder / "looks.jsonl").unlink()
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    text = re.sub(r"(?m)^moment = .*\n", "", text)
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    monkeypatch.setattr(look_dates, "utc_now", lambda: CLOCK)
    monkeypatch.setattr("forecaster.service.clock.utc_now", lambda: CLOCK)
    return folder


@pytest.fixture
def look(farm: Path, capsys: pytest.CaptureFixture[str]) -> Ran:
    """The command on that farm, counted by J unless told otherwise."""

    def run(*arguments: object) -> tuple[int, str, str]:
        code = exit_code(["look", "--farm", str(farm), *map(str, arguments)])
        out, err = capsys.readouterr()
        assert "Traceback" not in err
        return code, out, err

    return run


def rows(farm: Path) -> list[dict[str, Any]]:
    """The lines of the log."""
    path = farm / "looks.jsonl"
    if not path.exists():
        return []
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def test_one_line_records_a_look(look: Ran, farm: Path) -> None:
    """Written with author and time, printed back with its share and limits."""
    code, out, err = look(
        "creek flat", "--weed", "Silver Grass", "not out=40", "heading=60",
        "--on", "2026-10-11", "--by", "J", "--note", "by the gate",
    )  # fmt: skip
    assert (code, err) == (0, "")
    assert "Creek Flat, Silver grass, Sun 11 Oct 2026 12:00 AEDT, by J" in out
    assert "100 heads: 40 not out, 60 from heading on" in out
    # SciPy: binomtest(60, 100).proportion_ci(method="wilson") is 0.502 to 0.691.
    assert "heading or past it: 60 of 100, 60 % (95 % interval 50 to 69 %)" in out
    assert "100 heads cannot tell 50 % from 69 %." in out
    assert "small sample" not in out
    (row,) = rows(farm)
    assert (row["paddock"], row["weed"]) == ("Creek Flat", "silver_grass")
    assert (row["author"], row["note"]) == ("J", "by the gate")
    assert row["moment"] == "2026-10-11T01:00:00Z"  # noon, UTC+11 in October
    assert row["recorded"] == "2026-10-12T20:00:00Z"
    assert f"Recorded {row['id']}" in out
    assert re.fullmatch(r"2026-10-11-creek-flat-silver-grass-[0-9a-f]{8}", row["id"])


def test_the_services_get_the_look(look: Ran, farm: Path) -> None:
    """load_looks gives what stands, in order of counting, by today's names."""
    look("Back Road", "55=3", "--on", "2026-10-10", "--by", "J")
    look("Creek Flat", "milk=30", "--on", "2026-10-09T08:30", "--by", "J")
    text = (farm / "farm.toml").read_text(encoding="utf-8")
    text = text.replace('"Creek Flat"', '"CREEK FLAT"')
    (farm / "farm.toml").write_text(text, encoding="utf-8")
    (farm / "paddocks.geojson").write_text(
        (farm / "paddocks.geojson")
        .read_text("utf-8")
        .replace("Creek Flat", "CREEK FLAT"),
        encoding="utf-8",
    )
    looks, warnings = load_looks(load_farm(farm))
    assert warnings == ()
    assert [each.paddock for each in looks] == ["CREEK FLAT", "Back Road"]
    assert looks[0].counts == ((Stage.MILK, 30),)
    assert looks[0].moment == np.datetime64("2026-10-08T21:30:00")


def test_several_weeds_in_one_line(look: Ran, farm: Path) -> None:
    """A weed before a colon has its own look; the rest is the target's."""
    code, out, _ = look(
        "Creek Flat", "barley-grass:59=10", "heading=5", "barley_grass:milk=3",
        "dough=1", "--by", "J",
    )  # fmt: skip
    assert code == 0
    first, second = rows(farm)
    assert (first["weed"], first["counts"]) == (
        "barley_grass", {"heading": 10, "milk": 3},
    )  # fmt: skip
    assert (second["weed"], second["counts"]) == (
        "silver_grass", {"heading": 5, "soft_dough": 1},
    )  # fmt: skip
    assert second["moment"] == "2026-10-12T20:00:00Z"
    assert "13 heads: none before heading, 10 from heading to before milk, 3" in out
    assert "59 is counted to heading" in out
    assert "dough is read as soft dough (assumed)" in " ".join(out.split())


def test_none_out_is_worth_recording(look: Ran, farm: Path) -> None:
    """Thirty not out: no head is out, and so few leave up to 11 % open (SciPy)."""
    code, out, _ = look("Creek Flat", "not out=30", "--by", "J")
    assert code == 0
    assert "30 heads: 30 not out, 0 from heading on" in out
    assert "0 of 30, 0 % (95 % interval 0 to 11 %)" in out
    assert rows(farm)[0]["counts"] == {"not_out": 30, "heading": 0}


def test_neighbouring_and_distant_classes_in_words(look: Ran) -> None:
    """A class reaches up to the next one named."""
    _, out, _ = look(
        "Creek Flat", "boot=3", "heading=4", "flowering=5", "ripe=8", "--by", "J"
    )
    assert (
        "20 heads: 3 not out, 4 at heading, 5 from flowering to before hard dough, 8 "
        "from hard dough on"
    ) in " ".join(out.split())
    _, out, _ = look("Creek Flat", "boot=3", "milk=4", "--by", "J")
    assert "7 heads: 3 before milk, 4 from milk on" in out
    _, out, _ = look("Creek Flat", "heading=1", "--by", "J")
    assert "1 head: none before heading, 1 from heading on" in out


def test_a_small_sample_is_said(look: Ran) -> None:
    """6 of 20: 15 to 52 % by SciPy's Wilson interval."""
    _, out, _ = look("Creek Flat", "not out=14", "heading=6", "--by", "J")
    told = " ".join(out.split())
    assert "A small sample, under 30 heads (assumed): 20 heads cannot tell 15 %" in told
    assert "from 52 %. Count 30 or more." in told
    _, out, _ = look("Creek Flat", "not out=15", "heading=15", "--by", "J")
    assert "small sample" not in out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["Creek Flt", "heading=3"], "did you mean Creek Flat?"),
        (["Creek Flat", "headng=3"], '"headng" is no stage; did you mean heading'),
        (["Creek Flat", "heading=-3"], "heading = -3: allowed is a whole number"),
        (["Creek Flat", "heading=3.5"], "heading = 3.5: allowed is a whole number"),
        (["Creek Flat", "heading=٣"], "allowed is a whole number"),
        (["Creek Flat", "heading="], "allowed is a whole number"),
        (["Creek Flat", "heading=1000000"], "allowed is up to 100,000 heads"),
        (["Creek Flat", "heading"], '"heading" is no count; write a stage'),
        (["Creek Flat", "=3"], '"=3" is no count'),
        (["Creek Flat", "heading=0", "milk=0"], "no head of silver_grass was counted"),
        (["Creek Flat", "heading=1", "--weed", "silvergras"], "did you mean silver_gr"),
        (["Creek Flat", "heading=1", "--weed", "oak"], 'no weed is called "oak"'),
        (["Creek Flat", "heading=1", "--weed", "capeweed"], "has no capeweed in the"),
        (["Creek Flat", "barley_grass:55=1", "--weed", "silver_grass"], "no count is"),
        (["Creek Flat", "heading=1", "--on", "2026-10-14"], "in the future (today is"),
        (["Creek Flat", "heading=1", "--on", "2026-10-13T07:01"], "in the future"),
        (["Creek Flat", "heading=1", "--on", "13/13/2026"], "read as day/month/year"),
        (["Creek Flat", "heading=1", "--on", "soon"], "--on 'soon' is not a moment"),
        (["Creek Flat", "heading=1", "--on", "0206-10-11"], "is before 1990"),
        (["Creek Flat", "heading=1", "--on", "2026-10-04T02:30"], "does not exist"),
        (["Creek Flat", "heading=1", "--by", ""], '--by "": the name is empty'),
        (["Creek Flat", "heading=1", "--by", "a\x1bb"], "invisible character U+001B"),
        (["Creek Flat", "heading=1", "--note", "a\nb"], "invisible character U+000A"),
        (["Creek Flat", "heading=1", "--note", "x" * 501], "allowed is up to 500"),
        (["Creek Flat", "heading=1", "--photo", "\u202ea"], "U+202E"),
        (["Creek Flat"], "no counts are given, and there is no terminal"),
        ([], "which paddock? Name it"),
        (["--list", "--sheet"], "does not go with --sheet"),
        (["--list", "--by", "J"], "--by does not go with --list"),
        (["Creek Flat", "heading=1", "--out", "x"], "--out does not go with a count"),
        (["--withdraw", "x", "Creek Flat"], "PADDOCK does not go with --withdraw"),
        (["--withdraw", "x"], "--withdraw needs a reason"),
        (["--withdraw", "x", "--because", "y"], "no look has the id"),
        (["--list", "Creek Flt"], "did you mean Creek Flat?"),
        (["--list", "--format", "xml"], "allowed is text or json"),
    ],
)  # fmt: skip
def test_what_is_refused(
    look: Ran, farm: Path, arguments: list[str], said: str
) -> None:
    """64 and one clear error on standard error; nothing is written."""
    code, out, err = look(*arguments)
    assert (code, out) == (64, "")
    assert err.startswith("forecaster: ")
    assert said in err
    assert err.replace("\n", "").isprintable()
    assert rows(farm) == []


def test_the_same_line_again_adds_nothing(look: Ran, farm: Path) -> None:
    """A second count of that day needs its time; another note is not another count."""
    line = ("Creek Flat", "heading=6", "--on", "2026-10-11", "--by", "J")
    look(*line)
    code, out, _ = look(*line, "--note", "now with a note")
    assert code == 0
    assert "Already in the log, nothing was added: 2026-10-11-creek-flat" in out
    assert "--on 2026-10-11T15:00" in " ".join(out.split())
    look("Creek Flat", "heading=6", "--on", "11/10/2026", "--by", "J")
    assert len(rows(farm)) == 1
    look("Creek Flat", "heading=6", "--on", "2026-10-11T15:00", "--by", "J")
    look("Creek Flat", "heading=6", "--on", "2026-10-11", "--by", "K")
    look("Creek Flat", "heading=7", "--on", "2026-10-11", "--by", "J")
    assert len(rows(farm)) == 4


def test_today_before_noon_is_now(look: Ran, farm: Path) -> None:
    """A count of this morning is not set to a noon that has not come."""
    look("Creek Flat", "heading=6", "--on", "2026-10-13", "--by", "J")
    assert rows(farm)[0]["moment"] == "2026-10-12T20:00:00Z"
    assert rows(farm)[0]["id"].startswith("2026-10-13")


def test_an_earlier_season_is_accepted_and_said(look: Ran, farm: Path) -> None:
    """Last year's count has its place in the log."""
    code, out, _ = look("Creek Flat", "55=6", "--on", "2025-10-11", "--by", "J")
    assert code == 0
    assert "2025-10-11 lies in an earlier season" in out
    assert "earlier season" not in look("Creek Flat", "55=6", "--by", "J")[1]
    assert len(rows(farm)) == 2


def test_a_farm_that_stands_still_counts_at_its_own_moment(
    look: Ran, farm: Path
) -> None:
    """A copy of the demo stands at 12 October 2026, 07:00; a look is set there."""
    shutil.copy(demo_folder() / "farm.toml", farm)
    look("Creek Flat", "55=6", "--by", "J")
    assert rows(farm)[0]["moment"] == "2026-10-11T20:00:00Z"
    assert rows(farm)[0]["recorded"] == "2026-10-12T20:00:00Z"


def test_photos_are_kept_as_seen_from_the_farm(
    look: Ran, farm: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Inside the farm short, outside in full, and a missing one is only said."""
    inside, outside = farm / "photos" / "a b.jpg", tmp_path / "o.jpg"
    inside.parent.mkdir()
    for path in (inside, outside):
        path.write_bytes(b"x")
    monkeypatch.chdir(inside.parent)
    for number, name in enumerate(["a b.jpg", str(outside), "none.jpg"]):
        code, out, _ = look("Creek Flat", f"55={number + 1}", "--photo", name)
        assert code == 0
        assert ("its name is kept" in " ".join(out.split())) == (number == 2)
    kept = [row["photo"] for row in rows(farm)]
    assert kept == ["photos/a b.jpg", str(outside.resolve()), "none.jpg"]


def test_the_demo_is_never_written(
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """64, and how to make a farm; the log and an empty sheet can be read."""
    monkeypatch.chdir(tmp_path)
    before = sorted(demo_folder().iterdir())
    for more in ([], ["--farm", str(demo_folder())]):
        assert exit_code(["look", "Creek Flat", "heading=6", *more]) == 64
        assert "forecaster init my-farm" in capsys.readouterr().err
        assert exit_code(["look", "--withdraw", "x", "--because", "y", *more]) == 64
        assert exit_code(["look", "--list", *more]) == 0
        assert exit_code(["look", "--sheet", *more]) == 0
        capsys.readouterr()
    assert sorted(demo_folder().iterdir()) == before


@pytest.mark.parametrize("error", [OSError, KeyError, ImportError])
def test_a_name_the_system_does_not_know(
    look: Ran, farm: Path, monkeypatch: pytest.MonkeyPatch, error: type[Exception]
) -> None:
    """Then it must be typed; else the system's own name is taken."""

    def unknown() -> str:
        raise error

    monkeypatch.setattr("getpass.getuser", unknown)
    code, _, err = look("Creek Flat", "heading=6")
    assert code == 64
    assert '--by "your name"' in err
    monkeypatch.setattr("getpass.getuser", lambda: "a\x1bb")
    assert look("Creek Flat", "heading=6")[0] == 64
    monkeypatch.setattr("getpass.getuser", lambda: "jo")
    assert look("Creek Flat", "heading=6")[0] == 0
    assert rows(farm)[0]["author"] == "jo"


def test_a_look_is_withdrawn_and_stays(look: Ran, farm: Path) -> None:
    """Marked in the list with who and why; no service gets it; once is enough."""
    look("Creek Flat", "heading=6", "--on", "2026-10-11", "--by", "J", "--photo", "a")
    look("House", "heading=9", "--on", "2026-10-10", "--by", "J", "--note", "wet")
    (id_, _) = (row["id"] for row in rows(farm))
    code, out, _ = look(
        "--withdraw", id_, "--because", "brome, not silver", "--by", "K"
    )
    assert code == 0
    assert f"Withdrawn {id_}; it stays in the log." in out
    looks, _ = load_looks(load_farm(farm))
    assert [each.paddock for each in looks] == ["House"]
    code, out, _ = look("--list")
    assert code == 0
    assert "WITHDRAWN by K, Tue 13 Oct 2026 07:00 AEDT: brome, not silver" in out
    assert "2 looks, 1 of them withdrawn." in out
    assert out.index("House") < out.index("Creek Flat")  # in order of counting
    assert "note: wet" in out
    assert "photo: a" in out
    assert look("--withdraw", id_, "--because", "again")[0] == 64
    code, out, _ = look("Creek Flat", "heading=6", "--on", "2026-10-11", "--by", "J")
    assert code == 0
    assert "It was withdrawn by K: brome, not silver." in " ".join(out.split())
    assert len(rows(farm)) == 3


def test_the_list_as_json(look: Ran, farm: Path, tmp_path: Path) -> None:
    """Counts, shares and withdrawals with their units in the names; one paddock."""
    assert json.loads(look("--list", "--format", "json")[1]) == {
        "looks": [], "warnings": [],
    }  # fmt: skip
    assert look("--list")[1] == "No looks yet.\n"
    look("Creek Flat", "not out=12", "peeping=38", "--by", "J")
    look("House", "heading=9", "--by", "J")
    look("--withdraw", rows(farm)[0]["id"], "--because", "x", "--by", "K")
    out = tmp_path / "list.json"
    assert look("--list", "creek flat", "--format", "json", "--out", out)[0] == 0
    (found,) = json.loads(out.read_text(encoding="utf-8"))["looks"]
    assert (found["paddock"], found["heads"]) == ("Creek Flat", 50)
    assert found["typed"] == [
        {"word": "not out", "heads": 12}, {"word": "peeping", "heads": 38},
    ]  # fmt: skip
    (share,) = found["shares_past"]
    # SciPy: binomtest(38, 50).proportion_ci(method="wilson").
    assert share["low_95"] == pytest.approx(0.6259, abs=5e-4)
    assert share["high_95"] == pytest.approx(0.8570, abs=5e-4)
    assert found["withdrawn"]["reason"] == "x"


def test_a_look_of_a_paddock_that_is_gone(look: Ran, farm: Path) -> None:
    """Kept and listed, told, and given to nobody."""
    look("House", "heading=9", "--by", "J")
    look("Creek Flat", "barley_grass:55=3", "--by", "J")
    text = (farm / "farm.toml").read_text(encoding="utf-8")
    text = text.replace("weeds = { silver_grass = 30, barley_grass = 10 }",
                        "weeds = { silver_grass = 30 }")  # fmt: skip
    text = re.sub(r'\[\[paddock\]\]\nname = "House".*?\n\n', "", text, flags=re.DOTALL)
    text = re.sub(r'\[\[mob\.stay\]\]\npaddock = "House"\n.*\n.*\n', "", text)
    (farm / "farm.toml").write_text(text, encoding="utf-8")
    drawn = json.loads((farm / "paddocks.geojson").read_text(encoding="utf-8"))
    drawn["features"] = [
        each for each in drawn["features"] if each["properties"]["name"] != "House"
    ]
    (farm / "paddocks.geojson").write_text(json.dumps(drawn), encoding="utf-8")
    looks, warnings = load_looks(load_farm(farm))
    assert looks == ()
    assert "2 looks of a paddock or weed that farm.toml no longer has" in warnings[0]
    code, out, _ = look("--list", "House")
    assert code == 0
    assert "9 heads" in out


def test_a_damaged_log_is_told_once_and_used(look: Ran, farm: Path) -> None:
    """On recording, on listing and to services; a log that is a folder too."""
    look("House", "heading=9", "--by", "J")
    path = farm / "looks.jsonl"
    path.write_bytes(path.read_bytes() + b'{"kind": "loo')
    assert "line 2 cannot be read" in " ".join(look("--list")[1].split())
    looks, warnings = load_looks(load_farm(farm))
    assert (len(looks), len(warnings)) == (1, 1)
    code, _, err = look("House", "heading=10", "--by", "J")
    assert code == 0
    assert "line 2 cannot be read" in err
    assert "line 2 cannot be read" in " ".join(look("--list")[1].split())
    assert len(load_looks(load_farm(farm))[0]) == 2
    path.unlink()
    path.mkdir()
    looks, warnings = load_looks(load_farm(farm))
    assert looks == ()
    assert "is not a plain file; no look is used" in warnings[0]
    assert look("--list")[0] == 66


# ----------------------------------------------------------------- asked on a terminal


class Asked:
    """Answers in turn; what is asked is kept."""

    def __init__(self, *answers: str) -> None:
        self.answers = list(answers)
        self.asked: list[str] = []

    def prompt(self, question: str, default: str = "", **_: Any) -> str:
        self.asked.append(question)
        return self.answers.pop(0) or default

    def confirm(self, question: str, **_: Any) -> bool:
        self.asked.append(question)
        return self.answers.pop(0) == "y"


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> Any:
    """Pretends a person sits there and gives these answers."""

    def sit(*answers: str) -> Asked:
        asked = Asked(*answers)
        monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
        monkeypatch.setattr("typer.prompt", asked.prompt)
        monkeypatch.setattr("typer.confirm", asked.confirm)
        return asked

    return sit


def test_a_person_is_asked_in_the_weeds_own_words(
    look: Ran, farm: Path, terminal: Any
) -> None:
    """When, who, weed, each class, then whether it is right; several weeds in turn."""
    asked = terminal(
        "2026-10-11", "J",
        "", "40", "x", "60", "0", "", "", "", "", "y",  # silver grass, one slip
        "y", "", "", "", "", "", "", "", "", "0", "7", "", "", "", "", "", "", "y",
    )  # fmt: skip
    code, out, err = look("Creek Flat")
    assert (code, err, asked.answers) == (0, "", [])
    silver, barley = rows(farm)
    assert silver["counts"] == {"not_out": 40, "heading": 60, "watery": 0}
    assert silver["typed"] == [["not out", 40], ["heading", 60], ["watery", 0]]
    assert (silver["author"], silver["moment"]) == ("J", "2026-10-11T01:00:00Z")
    # The second weed: all left empty, told so, then 0 not out and 7 at heading.
    assert (barley["weed"], barley["counts"]) == (
        "barley_grass", {"not_out": 0, "heading": 7},
    )  # fmt: skip
    assert "No head was counted" in out
    assert "heading = x: allowed is a whole number" in out
    questions = " ".join(asked.asked)
    assert "heading: half of the head is out of the sheath" in questions
    assert "a grain rolled between the nails gives clear juice" in questions
    # The anthers of silver grass stay inside; those of barley grass may show.
    assert "heads out; the anthers stay inside" not in questions
    assert "anthers show on half of the head, where they show at all" in questions


def test_no_means_no(look: Ran, farm: Path, terminal: Any) -> None:
    """Shown what was understood and not agreed to: nothing is written."""
    terminal("4", "", "", "", "", "", "", "n", "n")
    code, out, _ = look(
        "Creek Flat", "--weed", "silver grass", "--on", "2026-10-11", "--by", "J"
    )
    assert code == 0
    assert "4 heads: 4 not out" in out
    assert "Nothing was recorded." in out
    assert rows(farm) == []


def test_enter_means_now_and_the_only_weed(
    look: Ran, farm: Path, terminal: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A paddock of one weed is not asked which, nor for another."""
    monkeypatch.setattr("getpass.getuser", lambda: "jo")
    asked = terminal("", "", "", "9", "", "", "", "", "", "y")
    assert look("House")[0] == 0
    assert asked.answers == []
    assert rows(farm)[0]["moment"] == "2026-10-12T20:00:00Z"
    assert rows(farm)[0]["author"] == "jo"


@pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminal on Windows")
def test_on_a_real_terminal(farm: Path) -> None:
    """The program itself on a pseudo-terminal, answered line by line."""
    import pty

    ours, theirs = pty.openpty()
    program = subprocess.Popen(
        [sys.executable, "-m", "forecaster", "look", "House", "--farm", str(farm),
         "--on", "2026-10-11", "--by", "J"],
        stdin=theirs, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    os.write(ours, b"20\n10\n\n\n\n\n\ny\n")
    out, err = program.communicate(timeout=60)
    os.close(ours)
    os.close(theirs)
    assert (program.returncode, err) == (0, "")
    assert "30 heads: 20 not out, 10 from heading on" in out
    assert rows(farm)[0]["counts"] == {"not_out": 20, "heading": 10}


# ------------------------------------------------------------------------------- sheets


def sheet(folder: Path, text: str, name: str = "looks.csv") -> Path:
    """A filled-in sheet."""
    path = folder / name
    path.write_text(text, encoding="utf-8", newline="")
    return path


HEADER = "date,paddock,weed,not out,heading,61,late milk,by,note,photo\n"


def test_a_filled_sheet_is_entered_once(look: Ran, farm: Path, tmp_path: Path) -> None:
    """Each row with a count is a look; the same file again adds nothing."""
    (tmp_path / "gate.jpg").write_bytes(b"x")
    path = sheet(
        tmp_path,
        HEADER + "2026-10-11,Creek Flat,silver_grass,40,60,,,J,by the gate,gate.jpg\n"
        "11/10/2026,House,,12,,8,0,,,none.jpg\n"
        ",Woolshed,capeweed,,,,,,,\n",
    )
    code, out, err = look("--from", path, "--by", "K")
    assert (code, err) == (0, "")
    assert "2 recorded, 0 in the log already; 1 rows hold no count" in " ".join(
        out.split()
    )
    assert 'none.jpg"; its name is kept' in " ".join(out.split())
    first, second = rows(farm)
    assert first["photo"] == str(tmp_path.resolve() / "gate.jpg")
    assert (second["weed"], second["author"]) == ("silver_grass", "K")
    assert second["counts"] == {"not_out": 12, "heading": 8, "late_milk": 0}
    assert second["moment"] == "2026-10-11T01:00:00Z"
    code, out, _ = look("--from", path, "--by", "K")
    assert code == 0
    assert "0 recorded, 2 in the log already" in " ".join(out.split())
    assert len(rows(farm)) == 2


@pytest.mark.parametrize("separator", [";", "\t"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_sheets_of_other_spreadsheets(
    look: Ran, farm: Path, tmp_path: Path, separator: str, mark: str
) -> None:
    """Semicolons, tabs, a byte-order mark, CR LF and capitals."""
    text = mark + "Date,Paddock,Weed,Not Out,BBCH 55\r\n2026-10-11,HOUSE,,1,2\r\n"
    path = sheet(tmp_path, text.replace(",", separator))
    assert look("--from", path)[0] == 0
    assert rows(farm)[0]["counts"] == {"not_out": 1, "heading": 2}


def test_every_fault_of_every_row_at_once(
    look: Ran, farm: Path, tmp_path: Path
) -> None:
    """65 with line numbers; nothing is recorded, not even the sound row."""
    path = sheet(
        tmp_path,
        HEADER + "2026-10-11,Creek Flat,silver_grass,40,60,,,J,,\n"
        '2026-10-11,"Creek\nFlat",silver_grass,40,60,,,J,,\n'
        "2026-13-11,House,silver_gras,4,-1,x,,J,,\n"
        "\n"
        ",House,,4,,,,J,,\n"
        "2026-10-11,,,4,,,,J,,\n"
        "2026-10-11,House,,0,0,,,J,,\n"
        "2026-10-11,House,,4,,,,a\u200bb,,\n"
        "2026-10-11,House,,4,,,,J,,,extra\n"
        "2999-10-11,House,,4,,,,J,,\n",
    )
    code, out, err = look("--from", path)
    assert (code, out) == (65, "")
    assert rows(farm) == []
    for line, said in [
        (3, "no paddock called"),
        (5, "date '2026-13-11' is not a moment"),
        (5, 'no weed is called "silver_gras"; did you mean silver_grass'),
        (5, "heading = -1: allowed is a whole number"),
        (5, "61 = x: allowed is a whole number"),
        (7, "the date is missing"),
        (8, "the paddock is missing"),
        (9, "no head of silver_grass was counted"),
        (10, "U+200B"),
        (11, '"extra" stands in no column'),
        (12, "in the future"),
    ]:
        assert any(
            said in each for each in err.splitlines() if f"{path}:{line}: " in each
        ), (line, said, err)
    assert "11 faults; nothing was recorded" in err


@pytest.mark.parametrize(
    ("header", "said"),
    [
        ("date,paddock,weed,headng\n", "did you mean heading"),
        ("date,padock,weed,heading\n", "did you mean paddock?"),
        ("date,weed,heading\n", "column paddock is missing"),
        ("date,paddock,weed\n", "there is no column of a stage"),
        ("date,paddock,weed,heading,Heading\n", 'column "Heading" stands twice'),
        ("\n\n", "holds only empty lines"),
        ("", "the file is empty"),
        ('date,paddock,"weed\n', "check the quotation marks"),
        ("date,paddock,weed,\x00\n", "NUL"),
    ],
)
def test_a_sheet_with_a_wrong_header(
    look: Ran, farm: Path, tmp_path: Path, header: str, said: str
) -> None:
    """65 at line 1, with the nearest name."""
    code, out, err = look("--from", sheet(tmp_path, header))
    assert (code, out) == (65, "")
    assert said in err
    assert rows(farm) == []


def test_sheets_that_hold_nothing_or_are_not_there(look: Ran, tmp_path: Path) -> None:
    """66 without a file, 64 without a count."""
    assert look("--from", tmp_path / "none.csv")[0] == 66
    code, _, err = look("--from", sheet(tmp_path, HEADER + ",House,,,,,,,,\n"))
    assert code == 64
    assert "no row holds a count" in err


def test_the_same_row_twice_in_a_sheet(look: Ran, farm: Path, tmp_path: Path) -> None:
    """Kept once, and said."""
    row = "2026-10-11,House,,4,,,,J,,\n"
    code, out, _ = look("--from", sheet(tmp_path, HEADER + row + row))
    assert code == 0
    assert "lines 2 and 3 hold the same look; kept once" in " ".join(out.split())
    assert len(rows(farm)) == 1


def test_many_faults_are_cut(look: Ran, tmp_path: Path) -> None:
    """The first two hundred are shown."""
    row = "2026-10-11,Nowhere,,4,,,,J,,\n"
    err = look("--from", sheet(tmp_path, HEADER + row * 300))[2]
    assert "300 faults" in err
    assert "… and 100 more" in err


def test_an_empty_sheet_can_be_filled_in_and_entered(
    look: Ran, farm: Path, tmp_path: Path
) -> None:
    """One row for each weed of each paddock; filled in, it is read back."""
    path = tmp_path / "sheet.csv"
    assert look("--sheet", "--out", path)[0] == 0
    found = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))
    weeds = [(p.name, weed) for p in load_farm(farm).paddocks for weed in p.weeds]
    assert [(row["paddock"], row["weed"]) for row in found] == weeds
    for row in found:
        row |= {"date": "2026-10-11", "not out": "3", "hard dough": "4", "by": "J"}
    text = io.StringIO()
    writer = csv.DictWriter(text, list(found[0]))
    writer.writeheader()
    writer.writerows(found)
    assert look("--from", sheet(tmp_path, text.getvalue()))[0] == 0
    assert [(row["paddock"], row["weed"]) for row in rows(farm)] == weeds
    assert rows(farm)[0]["counts"] == {"not_out": 3, "hard_dough": 4}


def test_a_photo_that_cannot_be_looked_at(
    farm: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A path the system will not look at is kept as typed, and said."""
    loaded = load_farm(farm)

    def refuse(_: Path) -> bool:
        raise PermissionError

    monkeypatch.setattr(Path, "exists", refuse)
    assert photo_path(loaded, "p.jpg", farm) == (
        "p.jpg", 'the photo "p.jpg" cannot be looked at; kept as typed',
    )  # fmt: skip


def test_the_outlook_stands_on_the_looks(
    look: Ran, farm: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A look is told in the outlook until it is withdrawn; so is a damaged log."""
    command = ["outlook", "--farm", str(farm), "--at", "2026-10-12T07:00"]

    def outlook() -> str:
        assert exit_code(command) == 0
        return " ".join(capsys.readouterr().out.split())

    before = outlook()
    assert "heads counted on" not in before
    look("Creek Flat", "not out=28", "55=2", "--on", "2026-10-11", "--by", "J")
    after = outlook()
    assert "30 heads counted on 11 Oct" in after
    assert after != before
    look("--withdraw", rows(farm)[0]["id"], "--because", "x", "--by", "J")
    assert outlook() == before
    with (farm / "looks.jsonl").open("ab") as log:
        log.write(b'{"kind": "loo')
    assert "line 3 cannot be read" in outlook()


def test_advice_on_what_to_count_next(
    look: Ran, farm: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Text and JSON tell the same looks in the same order; the log is not touched."""
    monkeypatch.setattr("forecaster.service.wiring.utc_now", lambda: CLOCK)
    before = rows(farm)
    code, told, err = look("--advise")
    assert (code, err) == (0, "")
    assert max(map(len, told.splitlines())) <= 80
    code, out, _ = look("--advise", "--format", "json")
    assert code == 0
    listed = json.loads(out)["looks"]
    heads = re.findall(r"(?m)^\d+\. ([^:]+): ", told)
    assert heads == [each["paddock"] for each in listed][: len(heads)]
    spared = [each["hectares_of_wrong_calls_spared"] for each in listed]
    assert spared == sorted(spared, reverse=True)
    assert rows(farm) == before


@pytest.mark.parametrize("stray", [["--by", "J"], ["Creek Flat"], ["--list"]])
def test_advice_takes_nothing_else(look: Ran, stray: list[str]) -> None:
    """What does not belong beside it is named."""
    code, out, err = look("--advise", *stray)
    assert (code, out) == (64, "")
    assert "does not go with" in err
