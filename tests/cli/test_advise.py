"""``forecaster advise`` as a user meets it, and that the outlook agrees with it."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest
from own_farm import demo_copy

from forecaster.cli.main import exit_code
from forecaster.domain.choice.rows import Answer, Kind
from forecaster.domain.planning.next_step import Step
from forecaster.service.advice import advice
from forecaster.service.daily import outlook
from forecaster.service.wiring import farm_day
from forecaster.settings.shipped import demo_folder

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.usefixtures("no_farm_here")


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Standard output of a run that must succeed."""
    assert exit_code(list(arguments)) == 0
    return capsys.readouterr().out


def told(capsys: pytest.CaptureFixture[str], *arguments: str) -> Any:
    """The JSON of ``advise``."""
    return json.loads(run(capsys, "advise", *arguments, "--format", "json"))


def changed(tmp_path: Path, *pairs: tuple[str, str]) -> str:
    """The demo farm with parts of its file changed."""
    return str(demo_copy(tmp_path / "farm", *pairs))


DEMO = {
    "Creek Flat": ("11", "wait"),
    "Woolshed": ("12", "spray"),
    "Top Dam": ("15", "do not spray"),
    "Lone Gum": ("2", "do not spray"),
    "Stony Rise": ("8", "spray"),
    "Vine Boundary": ("10", "spray"),
    "House": ("6", "do not spray"),
    "Back Road": ("10", "spray"),
}
"""The invented farm was laid out so that each paddock shows one rule of the trade."""


@pytest.mark.parametrize("paddock", DEMO)
def test_the_demo_s_paddocks_fall_under_the_rules_they_were_made_for(
    capsys: pytest.CaptureFixture[str], paddock: str
) -> None:
    """Row and answer of each."""
    tree = told(capsys, paddock)
    assert (tree["fired"]["row"], tree["answer"]) == DEMO[paddock]
    assert tree["demo"] is True
    assert tree["fired"]["source"]


MOMENTS = (None, "2026-09-20T07:00", "2026-10-16T07:00")


@pytest.mark.parametrize("at", MOMENTS)
def test_the_outlook_never_contradicts_the_choice(at: str | None) -> None:
    """Where a stop or bar says no, its next step leads to no spray; and the other way.

    A step *do not spray* has a stop or a bar behind it.
    """
    day, _ = farm_day(demo_folder(), at, None)
    goes = {Step.SPRAY, Step.LOOK_AT_GATE, Step.NO_HOURS}
    for paddock, seen in zip(day.farm.paddocks, outlook(day).paddocks, strict=True):
        found = advice(day, paddock).choice
        for own, active in zip(found.actives, seen.actives, strict=True):
            against = (
                own.by is not None
                and own.by.holds
                and own.by.row.kind in {Kind.STOP, Kind.BAR}
            )
            assert not (against and active.step in goes), (paddock.name, own)
            if active.step is Step.LEAVE:
                assert own.answer is Answer.LEAVE, paddock.name


def test_a_label_taken_away_shows_windows_and_no_go(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Row 0 wins once no active has a label."""
    label = 'label = "invented demo label, paraquat"'
    farm = changed(tmp_path, (f"{label}\nconfirmed = true", label))
    tree = told(capsys, "Woolshed", "--farm", farm)
    assert (tree["fired"]["row"], tree["answer"]) == ("0", "no go")
    assert tree["actives"][0]["answer"] == "no go"
    assert "window open" in run(capsys, "advise", "Woolshed", "--farm", farm)


def test_a_spray_with_rows_not_checked_says_so_beside_it(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Woolshed: nobody typed resistance, springs, sward or its age."""
    printed = " ".join(run(capsys, "advise", "Woolshed").split())
    assert "SPRAY paraquat (4 rows against it NOT CHECKED)" in printed
    tree = told(capsys, "Woolshed")
    assert {each["row"] for each in tree["not_checked"]} == {"4", "5b", "7", "17"}


def test_typed_resistance_bars_in_outlook_and_advice(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Confirmed in Back Road: the other active is left, with its own row."""
    farm = changed(
        tmp_path,
        (
            'last_springs = ["hay"]',
            'last_springs = ["hay"]\nresistance = { glyphosate = "confirmed" }',
        ),
    )
    tree = told(capsys, "Back Road", "--farm", farm)
    barred = tree["actives"][0]
    assert (barred["answer"], barred["by"]["row"]) == ("do not spray", "4")
    seen = json.loads(run(capsys, "outlook", "--farm", farm, "--format", "json"))
    back_road = next(each for each in seen["paddocks"] if each["name"] == "Back Road")
    step = back_road["actives"][0]["next"]
    assert step["step"] == "do not spray"
    assert step["against"]["row"] == "4"


def test_a_sprayed_paddock_and_an_unknown_one(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Sprayed: about another pass. No break and no looks: unknown, and why."""
    farm = changed(
        tmp_path,
        ('name = "House"\nhectares', 'name = "House"\nsprayed = 2026-10-11\nhectares'),
        (
            'name = "Woolshed"\nhectares',
            'name = "Woolshed"\nautumn_break = 2025-09-20\nhectares',
        ),
        ('clover = "none"\n', ""),
    )
    assert "sprayed     on 11 Oct" in run(capsys, "advise", "House", "--farm", farm)
    assert told(capsys, "House", "--farm", farm)["sprayed"] == "2026-10-11"
    printed = run(capsys, "advise", "Woolshed", "--farm", farm)
    assert "UNKNOWN: no row" in printed
    assert told(capsys, "Woolshed", "--farm", farm)["fired"] is None
    unknown = " ".join(run(capsys, "advise", "Vine Boundary", "--farm", farm).split())
    assert "needs whether clover is wanted" in unknown


def test_medium_loss_and_a_row_no_active_has(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Creek Flat shows the trial's range; Back Road's contact active has no row yet."""
    printed = " ".join(run(capsys, "advise", "Creek Flat").split())
    assert "25 to 50 %" in printed
    assert "up to 88 %" in printed
    assert "paraquat no row names it" in " ".join(
        run(capsys, "advise", "Back Road").split()
    )


def test_an_uncalled_paddock_and_a_wrong_format(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """One clear error each."""
    for arguments, said in (
        (("Hous",), "did you mean House?"),
        (("House", "--format", "svg"), "text or json"),
    ):
        assert exit_code(["advise", *arguments]) == 64
        assert said in capsys.readouterr().err


def test_several_stops_and_a_young_sward(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """House with perennials sown in April: row 6 wins and row 17 stands beside it."""
    farm = changed(
        tmp_path,
        (
            "clover_thin = false\n[paddock.choice]\nfeed_short = true",
            (
                "clover_thin = false\nperennials_sown = 2026-04-20\n\n"
                "[paddock.choice]\nfeed_short = true"
            ),
        ),
    )
    printed = " ".join(run(capsys, "advise", "House", "--farm", farm).split())
    assert "also row 17: perennials are under a year old" in printed
