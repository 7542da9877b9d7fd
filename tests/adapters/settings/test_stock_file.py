"""Grazing, mobs and the toxicity flag of a farm file: what is wrong, and where.

The sound farm has 32 lines; the demo weather stands at 12 October 2026.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
import pytest

from forecaster.cli.main import exit_code
from forecaster.domain.growth.grazing import Grazed, How
from forecaster.domain.planning.stock_off import Stay
from forecaster.settings.farm import load_farm

GRAZED = """
[[paddock.grazed]]
how = "hard"
from = 2026-08-20
until = 2026-09-18
dse = 910
"""
MOB = """
[[mob]]
name = "Ewes"
dse = 910

[[mob.stay]]
paddock = "hill"
from = 2026-08-20
until = 2026-09-18

[[mob.stay]]
paddock = "Creek"
from = 2026-09-18
until = 2026-12-01
"""


def day(text: str) -> np.datetime64:
    """A date of 2026."""
    return np.datetime64(f"2026-{text}", "D")


def test_what_is_typed_arrives(spoil: Any) -> None:
    """Hill was grazed; the ewes go from Hill to Creek, by names in any case."""
    farm = load_farm(spoil("", GRAZED + MOB))
    creek, hill = farm.paddocks
    assert hill.grazed == (Grazed(How.HARD, day("08-20"), day("09-18"), 910.0),)
    assert hill.stays == (Stay("Ewes", 910.0, day("08-20"), day("09-18")),)
    assert creek.stays == (Stay("Ewes", 910.0, day("09-18"), day("12-01")),)
    assert creek.grazed == ()
    assert farm.grazing.spell_longest.value == 21


def test_a_farm_without_stock_is_as_before(spoil: Any) -> None:
    """Nothing has to be typed."""
    for paddock in load_farm(spoil()).paddocks:
        assert (paddock.grazed, paddock.stays, paddock.ryegrass_toxicity) == (
            (),
            (),
            False,
        )


def test_a_day_looked_back_at_knows_nothing_later(spoil: Any) -> None:
    """On 1 September they were still on; on 1 August they had not come."""
    farm = load_farm(spoil("", GRAZED))
    for today, end in ((dt.date(2026, 9, 1), None), (dt.date(2026, 9, 18), "09-18")):
        (found,) = farm.on(today, dt.date(2026, 10, 12)).paddocks[1].grazed
        assert found.end == (None if end is None else day(end))
    early = farm.on(dt.date(2026, 8, 1), dt.date(2026, 10, 12))
    assert early.paddocks[1].grazed == ()


# id, what is changed in GRAZED + MOB, into what, where it is told, what is said.
FAULTS: list[tuple[str, str, str, str, list[str]]] = [
    ("how", '"hard"', '"even"', "35:1", ['"even"', "'hard', 'patchy' or 'lax'"]),
    ("no from", "from = 2026-08-20\nuntil", "until", "34:3", ["from is missing"]),
    ("misspelt", "from =", "form =", "36:1", ["form is not a known", "mean from?"]),
    ("inner name", "from =", "start =", "36:1", ["start is not a known key"]),
    ("dse nought", "dse = 910", "dse = 0", "38:1", ["= 0", "above 0 to 500,000"]),
    (
        "reversed",
        "until = 2026-09-18",
        "until = 2026-08-19",
        "37:1",
        ["2026-08-19", "before from = 2026-08-20"],
    ),
    (
        "not off yet",
        "until = 2026-09-18\ndse",
        "until = 2062-09-18\ndse",
        "37:1",
        ["until = 2062-09-18 is in the future"],
    ),
    (
        "another season",
        "from = 2026-08-20\nuntil = 2026-09-18\ndse",
        "from = 2025-08-20\nuntil = 2026-09-18\ndse",
        "36:1",
        ["from = 2025-08-20 is 418 days ago", "up to 400"],
    ),
    (
        "grazed twice at once",
        "\n[[mob]]",
        '\n[[paddock.grazed]]\nhow = "lax"\nfrom = 2026-09-17\n\n[[mob]]',
        "42:1",
        ["lies in the grazing of line 36", "until 2026-09-18"],
    ),
    (
        "no end and one more",
        "until = 2026-09-18\ndse = 910\n",
        'dse = 910\n[[paddock.grazed]]\nhow = "lax"\nfrom = 2026-09-20\n',
        "40:1",
        ["lies in the grazing of line 36", "has no until"],
    ),
    ("mob without dse", '"Ewes"\ndse = 910', '"Ewes"', "40:3", ["dse is missing"]),
    ("mob name", '"Ewes"', '"  "', "41:1", ["the name is empty"]),
    (
        "second mob",
        '[[mob]]\nname = "Ewes"\ndse = 910\n',
        '[[mob]]\nname = "ewes"\ndse = 1\n[[mob]]\nname = "Ewes"\ndse = 910\n',
        "44:1",
        ["a second mob called 'Ewes'", "the first is on line 41"],
    ),
    (
        "unknown paddock",
        'paddock = "Creek"',
        'paddock = "Crek"',
        "50:1",
        ["unknown paddock 'Crek'", "did you mean Creek?"],
    ),
    (
        "stay reversed",
        "until = 2026-12-01",
        "until = 2026-09-01",
        "52:1",
        ["before from = 2026-09-18"],
    ),
    (
        "two paddocks at once",
        'paddock = "Creek"\nfrom = 2026-09-18',
        'paddock = "Creek"\nfrom = 2026-09-17',
        "51:1",
        ["from = 2026-09-17 lies in the stay of line 46", "until 2026-09-18"],
    ),
    ("no until", "until = 2026-12-01\n", "", "49:3", ["until is missing"]),
    (
        "planned too far",
        "until = 2026-12-01",
        "until = 2062-12-01",
        "52:1",
        ["more than 366 days ahead"],
    ),
    ("stay of old", '"hill"\nfrom = 2026', '"hill"\nfrom = 2024', "46:1", ["days ago"]),
]


@pytest.mark.parametrize(
    ("old", "new", "place", "said"),
    [pytest.param(*row[1:], id=row[0]) for row in FAULTS],
)
def test_a_fault_is_told_at_its_place(
    spoil: Any, refused: Any, *, old: str, new: str, place: str, said: list[str]
) -> None:
    """File, line and column, the value, what is allowed."""
    text = GRAZED + MOB
    assert old in text
    told = refused(spoil("", text.replace(old, new, 1)))
    assert f"farm.toml:{place}: " in told
    for words in said:
        assert words in told


def test_all_faults_of_stock_are_told_at_once(spoil: Any, refused: Any) -> None:
    """Three wrong things, three lines, in the order of the file."""
    text = (GRAZED + MOB).replace("until = 2026-09-18", "until = 2026-08-01", 1)
    text = text.replace('"Creek"', '"Brook"').replace("2026-12-01", "2026-09-01")
    told = refused(spoil("", text))
    assert told.startswith("forecaster: 3 faults")
    lines = [line.split(":")[1] for line in told.splitlines()[1:]]
    assert lines == ["37", "50", "52"]


def test_a_stay_inside_a_longer_one_hides_nothing(spoil: Any, refused: Any) -> None:
    """Long, short inside it, and a third that overlaps the long one only."""
    stays = "".join(
        f'[[mob.stay]]\npaddock = "Hill"\nfrom = 2026-{a}\nuntil = 2026-{b}\n'
        for a, b in (("08-01", "09-30"), ("08-05", "08-10"), ("09-01", "10-05"))
    )
    told = refused(spoil("", f'[[mob]]\nname = "A"\ndse = 9\n{stays}'))
    assert told.count("lies in the stay of line 38") == 2


def test_plans_and_moving_days_are_welcome(spoil: Any) -> None:
    """A stay to come, and one day that ends a stay and begins the next."""
    assert exit_code(["outlook", "--farm", str(spoil("", GRAZED + MOB))]) == 0


def test_the_toxicity_flag_needs_its_weed(spoil: Any, refused: Any) -> None:
    """Hill has annual ryegrass, Creek has not."""
    flag = "weeds = {}\nryegrass_toxicity = true"
    hill = "weeds = { annual_ryegrass = 35 }"
    farm = load_farm(spoil(hill, flag.replace("{}", "{ annual_ryegrass = 35 }")))
    assert farm.paddocks[1].ryegrass_toxicity
    creek = "weeds = { barley_grass = 30, silver_grass = 10 }"
    told = refused(spoil(creek, f"{creek}\nryegrass_toxicity = true"))
    assert "farm.toml:27:1: " in told
    assert "annual_ryegrass is not among this paddock's weeds" in told
