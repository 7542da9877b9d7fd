"""``forecaster result`` and ``clock`` as a user meets them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from own_farm import demo_copy
from ran import flat, run, tree

from forecaster.cli.main import exit_code
from forecaster.store.results import read_results

if TYPE_CHECKING:
    from pathlib import Path

FEWER = ("--treated", "3,0,2,1,4,0,0,2,9,2")
HALF = ("--treated", "30,20,22,31,14,40,20,22,39,22")
UNTREATED = ("--untreated", "41,38,52,20,33,60,12,44,38,50")


@pytest.fixture(autouse=True)
def _no_farm_here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every test runs in an empty folder, so that the demo farm is the default."""
    monkeypatch.chdir(tmp_path)


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    """A farm of one's own: a copy of the demo."""
    return demo_copy(tmp_path / "farm")


def test_a_spray_that_worked(capsys: pytest.CaptureFixture[str]) -> None:
    """23 plants in 10 squares beside 388: 94 % fewer, 36.8 and 620.8 a square metre.

    Paraquat at flowering kept 81 % of the seed from setting (Leys, Cullis & Plater
    1991): 0.19 · 0.99 + 0.01 = 20 % of the untreated are likely.
    """
    asked = ("result", "creek flat", *FEWER, *UNTREATED, "--active", "paraquat")
    text = flat(capsys, *asked)
    assert "Silver grass, spray of spring 2025, paraquat" in text
    assert "36.8 plants/m² in 10 squares of 25 cm" in text
    assert "620.8 plants/m²" in text
    assert "94 % fewer; 95 % limits" in text
    assert "likely 20 %" in text
    assert "What may lie behind it" not in text
    found = tree(capsys, *asked)
    assert found["judged"] in {"as expected", "better than expected"}
    assert found["seedlings_of_untreated"]["found"] == pytest.approx(23 / 388)
    assert found["expected_of_untreated"]["control"]["mark"]
    assert found["causes"] == []


def test_one_that_fell_short_names_causes_and_claims_none(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """67 % came: at watery trials kept 59 % at best, 41 to 53 % were to come."""
    asked = ("result", "Creek Flat", *HALF, *UNTREATED, "--active", "paraquat")
    told = (*asked, "--stage", "watery", "--rain", "--even")
    text = flat(capsys, *told)
    assert "so fell short" in text
    assert "stage at the spray (told): trials found clearly less at watery" in text
    assert "weather in the rain-free hours (told)" in text
    assert "uneven heads (told that it was not so)" in text
    assert "resistance (not known): test before use" in text
    assert text.index("older bank") < text.index("resistance (not known)")
    names = [each["cause"] for each in tree(capsys, *told)["causes"]]
    assert names[-1] == "resistance"
    plain = flat(capsys, *asked)
    assert "type it with --stage" in plain
    as_good = flat(capsys, *asked, "--stage", "flowering")
    assert "trials found as much at flowering" in as_good
    between = flat(capsys, *asked, "--stage", "milk")
    assert "trials do not settle how much that stage costs" in between


def test_old_seed_beyond_any_share_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    """More than in the untreated strip: no bank of seed explains it."""
    more = ("--treated", "60,70,66,59,71", "--untreated", "41,38,52,40,33")
    text = flat(capsys, "result", "Creek Flat", *more, "--control", "90")
    assert "% more; 95 % limits" in text
    assert "no share of older seed explains it" in text


def three_running(farm: Path) -> None:
    """Type glyphosate for Lone Gum in 2024 as well as in 2023 and 2025."""
    path = farm / "farm.toml"
    text = path.read_text(encoding="utf-8")
    old = 'year = 2024\nactive = "paraquat"'
    new = 'year = 2024\nactive = "glyphosate"'
    assert text.index("Lone Gum") < text.index(old) < text.index("Stony Rise")
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def test_three_springs_running_are_told(
    capsys: pytest.CaptureFixture[str], farm: Path
) -> None:
    """Lone Gum: glyphosate in 2023, 2024 and 2025, the spray itself among them."""
    three_running(farm)
    base = ("result", "Lone Gum", *HALF, *UNTREATED, "--active", "glyphosate",
            "--farm", str(farm))  # fmt: skip
    text = flat(capsys, *base, "--control", "80-95")
    assert "3 springs running with glyphosate, as typed" in text
    assert tree(capsys, *base)["springs_running"] == 3
    assert tree(capsys, *base, "--year", "2024")["springs_running"] == 2


def test_no_seedling_is_never_all_of_them(capsys: pytest.CaptureFixture[str]) -> None:
    """At least so many fewer; a bare hundred per cent is nowhere."""
    none = ("--treated", "0,0,0,0,0")
    text = flat(capsys, "result", "Creek Flat", *none, *UNTREATED)
    assert "none where it was sprayed: at least" in text
    assert "100 %" not in text
    assert "few; count 10 or more" in text
    thin = flat(capsys, "result", "Creek Flat", *none, "--untreated", "1,0,0")
    assert "too few grew untreated to say" in thin
    nearly = ("--treated", "1" + ",0" * 39, "--untreated", ",".join(["400"] * 40))
    assert "over 99 % fewer" in flat(capsys, "result", "Creek Flat", *nearly)


def test_what_cannot_be_told_is_unknown(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing untreated; one square each; no trial; no active; wide limits."""
    base = ("result", "Woolshed")
    empty = flat(capsys, *base, "--treated", "1,2", "--untreated", "0,0")
    assert "nothing grew in the untreated strip" in empty
    single = flat(capsys, *base, "--treated", "1", "--untreated", "9")
    assert "how sure cannot be told" in single
    barley = flat(capsys, *base, *FEWER, *UNTREATED, "--active", "paraquat")
    assert "no published control of this weed by stage of head" in barley
    assert "name what was sprayed with --active" in flat(
        capsys, *base, *FEWER, *UNTREATED
    )
    wide = ("--treated", "0,9,40", "--untreated", "2,60,10", "--control", "80-95")
    text = flat(capsys, *base, *wide)
    assert "not settled by these counts" in text
    assert "too wide to settle it" in text
    found = tree(capsys, *base, "--treated", "1", "--untreated", "9")
    assert found["seedlings_of_untreated"]["high"] is None


WRONG = [
    (("--treated", "3,x"), "--treated: square 2 is"),
    (("--treated", "3,,1"), 'square 2 is ""'),
    (("--treated", "-1"), "allowed is a whole number"),
    (("--treated", "100001"), "from 0 to 100000"),
    (("--treated", ",".join(["1"] * 501)), "501 squares"),
    (("--side", "2"), "--side 2: allowed is 5 to 500 cm"),
    (("--side", "nan"), "--side nan"),
    (("--year", "2027"), "--year 2027: allowed is 1960 to 2026"),
    (("--stage", "blossom"), "--stage: "),
    (("--control", "95-80"), "--control"),
    (("--control", "101"), "per cent from 0 to 100"),
    (("--control", "lots"), "--control"),
    (("--active", "water"), "unknown active 'water'"),
    (("--weed", "capeweed"), "has no capeweed"),
    (("--format", "svg"), "text or json"),
    (("--save",), "this is the demo"),
]


@pytest.mark.parametrize(("arguments", "said"), WRONG)
def test_a_wrong_command_line_is_one_clear_error(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], said: str
) -> None:
    """Exit code 64, what is allowed, and nothing on standard output."""
    assert exit_code(["result", "Creek Flat", *FEWER, *UNTREATED, *arguments]) == 64
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err


def test_results_are_kept_and_rank_the_paddocks(
    capsys: pytest.CaptureFixture[str], farm: Path
) -> None:
    """Share typed times seedlings found: 30 · 36.8 = 1,104 for Creek Flat.

    Of the same year the last line stands: 416 plants/m² make 12,480.
    """
    base = ("result", "Creek Flat", *UNTREATED, "--farm", str(farm), "--save")
    run(capsys, *base, *FEWER, "--active", "paraquat", "--stage", "flowering")
    assert "1,104" in run(capsys, "clock", "--farm", str(farm))
    run(capsys, *base, *HALF)
    run(capsys, *base, *FEWER, "--year", "2024")
    entries = read_results(farm / "results.jsonl").entries
    assert [each.year for each in entries] == [2025, 2025, 2024]
    assert entries[0].stage == "flowering"
    found = tree(capsys, "clock", "--farm", str(farm))["candidates"]
    assert found[0]["paddock"] == "Creek Flat"
    assert found[0]["rank"] == pytest.approx(30 * 416.0)
    assert found[0]["spray_year"] == 2025


def test_a_result_taken_back_counts_no_more_and_stays_in_the_log(
    capsys: pytest.CaptureFixture[str], farm: Path
) -> None:
    """The clock goes back to the first: 30 % of 36.8 plants/m²."""
    here = ("--farm", str(farm))
    base = ("result", "Creek Flat", *UNTREATED, *here, "--save")
    run(capsys, *base, *FEWER, "--active", "paraquat", "--stage", "not out")
    run(capsys, *base, *HALF)
    assert "12,480" in run(capsys, "clock", *here)
    why = ("--because", "wrong paddock", "--by", "J")
    said = run(capsys, "result", "--withdraw", "2", *why, *here)
    assert "Withdrawn result 2; it stays in the log." in said
    assert "1,104" in run(capsys, "clock", *here)
    text = flat(capsys, "result", "--list", *here)
    title = "Creek Flat, Silver grass, spray of spring 2025"
    assert f"1: {title}, paraquat at not out treated 3, 0, 2, 1" in text
    assert f"2: {title}, active not told WITHDRAWN by J" in text
    assert "wrong paddock" in text
    assert text.endswith("2 results, 1 of them withdrawn.")
    first, second = tree(capsys, "result", "--list", "creek flat", *here)["results"]
    assert (first["number"], first["withdrawn"]) == (1, None)
    assert second["withdrawn"]["reason"] == "wrong paddock"
    assert tree(capsys, "result", "--list", "Woolshed", *here)["results"] == []


@pytest.mark.parametrize(("arguments", "said"), [
    (("--withdraw", "1"), "--withdraw needs a reason"),
    (("--withdraw", "2", "--because", "x"), "no result has the number 2"),
    (("--withdraw", "one", "--because", "x"), "Invalid value for '--withdraw'"),
    (("--withdraw", "1", "--because", "x", "--save"), "--save does not go with"),
    (("--list", "--treated", "1"), "--treated does not go with --list"),
    (("--list", "No Such"), "no paddock called"),
    (("Creek Flat", "--treated", "1"), "missing: --untreated; such as:"),
    ((), "missing: PADDOCK, --treated, --untreated; such as:"),
    (("Creek Flat", *FEWER, *UNTREATED, "--because", "x"), "--because does not go"),
])  # fmt: skip
def test_a_log_that_is_asked_wrongly_stays_as_it_is(
    capsys: pytest.CaptureFixture[str],
    farm: Path,
    arguments: tuple[str, ...],
    said: str,
) -> None:
    """One clear error, exit code 64, nothing on standard output."""
    run(capsys, "result", "Creek Flat", *FEWER, *UNTREATED, "--farm", str(farm),
        "--save")  # fmt: skip
    before = (farm / "results.jsonl").read_bytes()
    assert exit_code(["result", *arguments, "--farm", str(farm)]) == 64
    out, err = capsys.readouterr()
    assert out == ""
    assert said in " ".join(err.split())
    assert (farm / "results.jsonl").read_bytes() == before


def test_the_demo_is_listed_and_nothing_of_it_taken_back(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """It keeps no results."""
    assert run(capsys, "result", "--list") == "No results yet.\n"
    assert exit_code(["result", "--withdraw", "1", "--because", "x"]) == 64
    assert "this is the demo" in " ".join(capsys.readouterr().err.split())


def test_pages_of_the_demo_say_that_they_are(
    capsys: pytest.CaptureFixture[str], farm: Path
) -> None:
    """The banner of its other pages, and none on a farm of one's own."""
    for asked in (("clock",), ("result", "Creek Flat", *FEWER, *UNTREATED)):
        assert flat(capsys, *asked).startswith("DEMO FARM: its paddocks, people")
        assert "DEMO FARM" not in run(capsys, *asked, "--farm", str(farm))
        assert tree(capsys, *asked)["demo"] is True


def test_the_clock_lists_springs_running(
    capsys: pytest.CaptureFixture[str], farm: Path
) -> None:
    """Three of glyphosate for Lone Gum, two of paraquat for Vine Boundary."""
    three_running(farm)
    text = flat(capsys, "clock", "--farm", str(farm))
    assert (
        "Lone Gum, glyphosate: 3 springs running (2023, 2024, 2025): test before"
        in text
    )
    assert "Vine Boundary, paraquat: 2 springs running (2024, 2025): one more" in text
    assert "no past spray typed" in text
    assert "Nothing here says that a weed is resistant" in text
    found = tree(capsys, "clock", "--farm", str(farm))
    assert found["latest_spring"] == 2026
    assert [each["running"] for each in found["springs"]] == [3, 2]


def test_another_active_between_breaks_a_run(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The demo's Lone Gum: paraquat in 2024 between two of glyphosate."""
    found = tree(capsys, "clock")["springs"]
    ours = [each for each in found if each["paddock"] == "Lone Gum"]
    assert [(e["active"], e["years"], e["running"]) for e in ours] == [
        ("glyphosate", [2023, 2025], 1),
        ("paraquat", [2024], 0),
    ]


def test_last_springs_of_the_choice_count_too(
    capsys: pytest.CaptureFixture[str], farm: Path
) -> None:
    """Newest first: 2025 and 2023; hay between them breaks the run."""
    path = farm / "farm.toml"
    text = path.read_text(encoding="utf-8")
    new = 'last_springs = ["paraquat", "hay", "paraquat"]'
    path.write_text(text.replace('last_springs = ["nothing"]', new), encoding="utf-8")
    found = tree(capsys, "clock", "--farm", str(farm))["springs"]
    (ours,) = [each for each in found if each["paddock"] == "Creek Flat"]
    assert (ours["years"], ours["running"]) == ([2023, 2025], 1)


def test_a_log_that_cannot_be_read_costs_only_its_counts(
    capsys: pytest.CaptureFixture[str], farm: Path
) -> None:
    """The springs are told all the same, with a warning."""
    (farm / "results.jsonl").mkdir()
    text = flat(capsys, "clock", "--farm", str(farm))
    assert "no result is used" in text
    assert "Vine Boundary, paraquat: 2 springs" in text


def test_a_result_of_a_paddock_that_is_gone_ranks_nothing(
    capsys: pytest.CaptureFixture[str], farm: Path
) -> None:
    """It stays in the log."""
    base = ("result", "Stony Rise", *UNTREATED, *FEWER, "--farm", str(farm), "--save")
    run(capsys, *base)
    path = farm / "farm.toml"
    text = path.read_text(encoding="utf-8").replace('"Stony Rise"', '"Stony Hill"')
    path.write_text(text.replace('map = "paddocks.geojson"', ""), encoding="utf-8")
    found = tree(capsys, "clock", "--farm", str(farm))["candidates"]
    assert {each["rank"] for each in found} == {None}


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("year = 2023", "year = 2199", "year = 2199 has not come"),
        ("year = 2023\n", "year = 2025\n", "stands here twice"),
        ("year = 2023", "year = 1066", "1066"),
        ('year = 2023\nactive = "glyphosate"', 'year = 2023\nactive = "salt"', "salt"),
    ],
)
def test_a_wrong_past_spray_is_placed(
    capsys: pytest.CaptureFixture[str], farm: Path, old: str, new: str, said: str
) -> None:
    """Exit code 78 with file, line and column."""
    path = farm / "farm.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")
    assert exit_code(["clock", "--farm", str(farm)]) == 78
    err = capsys.readouterr().err
    assert said in err
    assert "farm.toml:1" in err
