"""Earlier springs and results that go by the spray record, as a user meets them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from own_farm import demo_copy
from ran import flat, run, tree
from spray_records import AT, add

from forecaster.domain.record.job import Job
from forecaster.domain.record.log import Entry
from forecaster.store.results import read_results

if TYPE_CHECKING:
    from pathlib import Path

FEWER = ("--treated", "3,0,2,1,4,0,0,2,9,2")
UNTREATED = ("--untreated", "41,38,52,20,33,60,12,44,38,50")


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    """A farm of one's own: a copy of the demo."""
    return demo_copy(tmp_path / "farm")


def sprayed(
    farm: Path, year: int, *, active: str = "paraquat", stage: str = "", **more: Any
) -> None:
    """Record a spray of Creek Flat on 10 October, 08:00 to 10:00 UTC."""
    start = np.datetime64(f"{year}-10-10T08:00", "s")
    finish = start + np.timedelta64(7200, "s")
    said = {"stage": stage} if stage else {}
    job = replace(Job("creek flat", active, start, finish, said), **more)
    add(farm / "records.jsonl", Entry(0, "", job, "J", AT))


def test_recorded_sprays_count_once_beside_typed_ones(
    capsys: pytest.CaptureFixture[str], farm: Path
) -> None:
    """2024 typed, 2024 and 2025 recorded; 2026 has not ended at the farm's moment.

    Finish 31 December 2024 14:00 UTC is 1 January 2025 in Melbourne (UTC+11).
    """
    path = farm / "farm.toml"
    text = path.read_text(encoding="utf-8").replace('last_springs = ["nothing"]\n', "")
    old = '[[paddock.grazed]]\nhow = "hard"\nfrom = 2026-08-20'
    past = '[[paddock.past]]\nyear = 2024\nactive = "paraquat"\n\n'
    path.write_text(text.replace(old, past + old, 1), encoding="utf-8")
    sprayed(farm, 2024)
    sprayed(farm, 2024, finish=np.datetime64("2024-12-31T14:00", "s"))
    sprayed(farm, 2026, finish=np.datetime64("2026-10-12T20:00", "s"))
    text = flat(capsys, "clock", "--farm", str(farm))
    assert (
        "Creek Flat, paraquat: 2 springs running (2024, 2025; recorded 2024, 2025): "
        "one more" in text
    )
    found = tree(capsys, "clock", "--farm", str(farm))["springs"]
    assert found[0]["recorded_years"] == [2024, 2025]


def test_a_withdrawn_record_is_no_spring(
    capsys: pytest.CaptureFixture[str], farm: Path
) -> None:
    """It is counted until it is taken back."""
    asked = ("clock", "--farm", str(farm))
    sprayed(farm, 2025)
    assert "Creek Flat, paraquat: 1 spring running" in flat(capsys, *asked)
    said = ("--because", "wrong paddock", "--by", "J")
    run(capsys, "record", "--withdraw", "1", *said, "--farm", str(farm))
    assert "Creek Flat, paraquat" not in flat(capsys, *asked)


def test_a_record_that_a_list_gainsays_is_told(
    capsys: pytest.CaptureFixture[str], farm: Path
) -> None:
    """Creek Flat's last_springs says nothing for 2025; every page says so."""
    sprayed(farm, 2025)
    said = (
        'last_springs says "nothing" for 2025, [[paddock.past]] and the record paraquat'
    )
    assert said in flat(capsys, "clock", "--farm", str(farm))
    assert said in flat(capsys, "outlook", "--farm", str(farm))


def test_a_third_spring_running_by_the_record_is_barred(
    capsys: pytest.CaptureFixture[str], farm: Path
) -> None:
    """Row 5b. Stony Rise asks for glyphosate: one record bars nothing, two do."""
    asked = ("advise", "Stony Rise", "--farm", str(farm))
    sprayed(farm, 2024, active="glyphosate", paddock="Stony Rise")
    assert "used 2 springs running" not in flat(capsys, *asked)
    sprayed(farm, 2025, active="glyphosate", paddock="STONY rise")
    text = flat(capsys, *asked)
    assert "DO NOT SPRAY" in text
    assert "row 5b" in text
    assert "glyphosate: used 2 springs running" in text


def test_records_that_cannot_be_read_cost_only_their_springs(
    capsys: pytest.CaptureFixture[str], farm: Path
) -> None:
    """Typed springs are told, with a warning, by clock and result."""
    (farm / "records.jsonl").mkdir()
    text = flat(capsys, "clock", "--farm", str(farm))
    assert "no record is used" in text
    assert "Vine Boundary, paraquat: 2 springs" in text
    asked = ("result", "Creek Flat", *FEWER, *UNTREATED, "--farm", str(farm))
    assert "no record is used" in flat(capsys, *asked)


PADDOCK = "Vine Boundary"
GAINSAY = 'last_springs says "{}" for {}, [[paddock.past]] and the record paraquat'


@pytest.mark.parametrize(
    ("command", "last", "said"),
    [
        ("clock", '["paraquat", "hay"]', GAINSAY.format("hay", 2024)),
        ("result", '["glyphosate"]', GAINSAY.format("glyphosate", 2025)),
        ("outlook", '["nothing"]', GAINSAY.format("nothing", 2025)),
    ],
)
def test_springs_that_gainsay_each_other_are_told(
    capsys: pytest.CaptureFixture[str],
    farm: Path,
    command: str,
    last: str,
    said: str,
) -> None:
    """Vine Boundary: paraquat in 2024 and 2025. The pages go on."""
    path = farm / "farm.toml"
    old = 'note = "phalaris; vineyard to the east"\n'
    new = f"{old}\n[paddock.choice]\nlast_springs = {last}\n"
    text = path.read_text(encoding="utf-8").replace(old, new)
    path.write_text(text, encoding="utf-8")
    more = {"result": (PADDOCK, *FEWER, *UNTREATED)}
    asked = [command, *more.get(command, ()), "--farm", str(farm)]
    assert said in flat(capsys, *asked)
    good = new.replace(last, '["paraquat", "paraquat", "hay"]')
    path.write_text(text.replace(new, good), encoding="utf-8")
    assert "both count until" not in flat(capsys, *asked)


def test_a_result_takes_active_and_stage_from_the_record(
    capsys: pytest.CaptureFixture[str], farm: Path
) -> None:
    """What is typed goes before it; what differs is told and refused nowhere."""
    asked = ("result", "Creek Flat", *FEWER, *UNTREATED, "--farm", str(farm))
    assert tree(capsys, *asked)["by_the_record"] == []
    sprayed(farm, 2025, stage="Flowering")
    text = flat(capsys, *asked)
    assert "active paraquat, stage flowering: by the record" in text
    found = tree(capsys, *asked)
    assert (found["active"], found["stage"]) == ("paraquat", "flowering")
    assert found["by_the_record"] == ["active", "stage"]
    assert len(found["remarks"]) == 1
    assert 'last_springs says "nothing" for 2025' in found["remarks"][0]
    other = tree(capsys, *asked, "--active", "glyphosate")
    assert (other["active"], other["stage"]) == ("glyphosate", None)
    assert "--active glyphosate is typed" in other["remarks"][0]
    typed = tree(capsys, *asked, "--active", "paraquat", "--stage", "milk")
    assert (typed["stage"], typed["by_the_record"]) == ("milk", [])
    assert tree(capsys, *asked, "--year", "2024")["active"] is None
    run(capsys, *asked, "--save")
    (kept,) = read_results(farm / "results.jsonl").entries
    assert (kept.active, kept.stage) == ("paraquat", "flowering")


def test_a_record_that_says_two_things_gives_neither(
    capsys: pytest.CaptureFixture[str], farm: Path
) -> None:
    """Two stages leave the stage open; two actives are to be told apart."""
    asked = ("result", "Creek Flat", *FEWER, *UNTREATED, "--farm", str(farm))
    sprayed(farm, 2025, stage="heads in all states")
    assert tree(capsys, *asked)["by_the_record"] == ["active"]
    sprayed(farm, 2025, stage="flowering")
    found = tree(capsys, *asked)
    assert (found["active"], found["stage"]) == ("paraquat", None)
    sprayed(farm, 2025, active="glyphosate", stage="milk")
    found = tree(capsys, *asked)
    assert found["active"] is None
    said = "the record of 2025 says glyphosate and paraquat: name one"
    assert said in found["remarks"][0]
    named = tree(capsys, *asked, "--active", "glyphosate")
    assert (named["stage"], named["by_the_record"]) == ("milk", ["stage"])
