"""``forecaster plan`` as a user meets it."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest
from own_farm import demo_copy

from forecaster.cli.main import exit_code

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.usefixtures("no_farm_here")

RIG_LINES = "[rig]\nwidth_m = 18"


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Standard output of a run that must succeed."""
    assert exit_code(["plan", *arguments]) == 0
    return capsys.readouterr().out


def tree(capsys: pytest.CaptureFixture[str], *arguments: str) -> Any:
    """The JSON of a run."""
    return json.loads(run(capsys, "--format", "json", *arguments))


def refused(capsys: pytest.CaptureFixture[str], code: int, *arguments: str) -> str:
    """What standard error says of a run that must fail; nothing is printed."""
    assert exit_code(["plan", *arguments]) == code
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("forecaster: ")
    assert "Traceback" not in err
    return err


def farm(folder: Path, *pairs: tuple[str, str]) -> Path:
    """The demo farm with parts of its file changed."""
    return demo_copy(folder, *pairs)


def test_the_page_says_what_a_plan_must(capsys: pytest.CaptureFixture[str]) -> None:
    """Order, missed with the way out, hand-made orders, a day lost, the cautions."""
    page = run(capsys)
    assert page.startswith("DEMO FARM: farm, labels and weather are invented.")
    for title in ("In order", "Missed", "Not planned", "Against orders made by hand",
                  "If no hour of a day can be used", "Read this too"):  # fmt: skip
        assert f"\n{title}\n" in page
    assert "No plan can be worth more." in page
    assert "Wed 14 Oct: Back Road is lost" in page
    assert "measure wind and watch smoke at the site" in page
    assert all(len(line) <= 80 for line in page.splitlines())


def test_the_same_twice(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing but the inputs goes in, and text says no number JSON has not."""
    first = run(capsys, "--format", "json")
    assert first == run(capsys, "--format", "json")
    found = json.loads(first)
    assert found["gap"] == 0
    assert found["bound_ha_weighted"] == found["expected_ha_weighted"]
    assert [each["method"] for each in found["by_hand"]] == ["value", "closing"]
    assert all(each["less_than_plan"] >= 0 for each in found["by_hand"])


def test_rigs_days_and_parts(capsys: pytest.CaptureFixture[str]) -> None:
    """Two rigs do more than one; one day holds less; parts are no larger than asked."""
    one, two = tree(capsys), tree(capsys, "--rigs", "2")
    assert two["expected_ha_weighted"] > one["expected_ha_weighted"]
    assert {each["rig"] for each in two["stops"]} == {"rig 1", "rig 2"}
    day = tree(capsys, "--days", "1")
    assert {each["start"][:10] for each in day["stops"]} <= {"2026-10-11", "2026-10-12"}
    parts = tree(capsys, "--split", "20")
    assert max(each["hectares"] for each in parts["stops"]) <= 20
    assert {each["paddock"]: each["parts"] for each in parts["stops"]}["Woolshed"] == 2
    assert "(part 1 of 2)" in run(capsys, "--split", "20")


def test_weights_move_the_plan(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Creek Flat at three times its hectares takes Wednesday from Back Road."""
    changed = farm(tmp_path / "a", ("hectares = 34\n", "hectares = 34\nvalue = 3\n"))
    found = tree(capsys, "--farm", str(changed))
    assert found["weighted"] is True
    done = {each["paddock"] for each in found["stops"]}
    assert "Creek Flat" in done
    assert "Back Road" not in done
    page = run(capsys, "--farm", str(changed))
    assert "weighted ha" in page
    assert "count heads again first" in page


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--rigs", "0"], "--rigs 0: allowed is 1 to 20"),
        (["--days", "15"], "--days 15: allowed is 1 to 14"),
        (["--split", "-1"], "--split -1: allowed is 0"),
        (["--split", "nan"], "--split nan: allowed is 0"),
        (["--format", "html"], "--format 'html': allowed is text or json"),
    ],
)
def test_options_out_of_bounds(
    arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """The value and what is allowed, before anything is read."""
    assert said in refused(capsys, 64, *arguments)


def test_a_farm_without_a_rig(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It is told what to type, and where."""
    start = "[rig]"
    bare = farm(tmp_path / "a")
    text = (bare / "farm.toml").read_text(encoding="utf-8")
    before, after = text.split(start)
    (bare / "farm.toml").write_text(
        before + after.split("move_min = 15\n")[1], encoding="utf-8"
    )
    said = refused(capsys, 64, "--farm", str(bare))
    assert "farm.toml: no [rig] is typed" in said
    assert "width_m" in said


def test_several_farms_in_one_plan(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The road counts; a farm that cannot be read is named; the rig is one."""
    folder = tmp_path / "all"
    farm(folder / "near")
    farm(
        folder / "north",
        ('name = "Thornbill Rise"', 'name = "North"'),
        ("latitude = -37.595", "latitude = -37.2"),
    )
    farm(folder / "spoilt", ("latitude = -37.595", 'latitude = "?"'))
    found = tree(capsys, "--farms", str(folder), "--rigs", "2")
    assert {each["farm"] for each in found["stops"]} == {"Thornbill Rise", "North"}
    assert [each["folder"] for each in found["farms_without_data"]] == ["spoilt"]
    page = run(capsys, "--farms", str(folder))
    assert "NO DATA: spoilt: " in page
    assert "2 farms: plan of 1 rig" in page
    assert "North, " in page


def test_farms_that_type_one_rig_differently(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Which of them is meant cannot be known."""
    folder = tmp_path / "all"
    farm(folder / "a")
    farm(folder / "b", (RIG_LINES, "[rig]\nwidth_m = 24"))
    assert "differs from that of" in refused(capsys, 64, "--farms", str(folder))


def test_folders_without_a_farm_that_can_be_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every reason; and --farm does not go with --farms."""
    farm(tmp_path / "all" / "spoilt", ("latitude = -37.595", 'latitude = "?"'))
    said = refused(capsys, 66, "--farms", str(tmp_path / "all"))
    assert "no farm of it can be told" in said
    assert "spoilt: " in said
    both = refused(capsys, 64, "--farms", "x", "--farm", "y")
    assert "y does not go with --farms" in both


def test_the_plan_is_written_whole(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As to the screen."""
    assert exit_code(["plan", "--out", str(tmp_path / "plan.txt")]) == 0
    capsys.readouterr()
    assert (tmp_path / "plan.txt").read_text(encoding="utf-8") == run(capsys)
