"""Stock and toxicity as a user meets them: ``forecaster stock`` and the outlook."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import jsonschema
import pytest
from own_farm import demo_copy

from forecaster.cli.main import exit_code

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.usefixtures("no_farm_here")


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Standard output of a run that must succeed."""
    assert exit_code(list(arguments)) == 0
    return capsys.readouterr().out


def changed(tmp_path: Path, *pairs: tuple[str, str]) -> str:
    """The demo farm with parts of its file changed."""
    folder = demo_copy(tmp_path / "farm", *pairs)
    (folder / "looks.jsonl").unlink()
    return str(folder)


def paddock(capsys: pytest.CaptureFixture[str], name: str, *arguments: str) -> Any:
    """One paddock of the outlook's JSON, checked against the schema's form."""
    tree = json.loads(run(capsys, "outlook", "--format", "json", *arguments))
    return next(each for each in tree["paddocks"] if each["name"] == name)


def test_stock_on_past_the_band_are_overdue_with_their_clash(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Lone Gum on 12 October: off 14 to 21 days before heading, and the ewes stay on.

    14 to 21 days is common practice, no source.
    """
    from datetime import date, timedelta

    stock = paddock(capsys, "Lone Gum")["stock"]
    heading = date.fromisoformat(stock["heading"]["likely"])
    assert stock["off"]["likely"] == {
        "first": str(heading - timedelta(days=21)),
        "last": str(heading - timedelta(days=14)),
    }
    assert date.fromisoformat(stock["off"]["likely"]["last"]) < date(2026, 10, 12)
    assert stock["status"] == "overdue"
    assert (
        stock["days_left"] == (heading - timedelta(days=14) - date(2026, 10, 12)).days
    )
    (clash,) = stock["clashes"]
    assert (clash["mob"], clash["until"]) == ("Ewes", "2026-10-20")
    printed = run(capsys, "outlook")
    assert "OVERDUE by" in printed
    assert "CLASH: Ewes planned here until 20 Oct" in " ".join(printed.split())


def test_grazing_moves_heading_by_the_stated_warmth(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Without its grazing Lone Gum heads earlier; the JSON says by what."""
    before = paddock(capsys, "Lone Gum")
    line = "dse = 2170 # 35 DSE/ha, still on\n"
    bare = changed(
        tmp_path, (f'\n[[paddock.grazed]]\nhow = "hard"\nfrom = 2026-09-01\n{line}', "")
    )
    after = paddock(capsys, "Lone Gum", "--farm", bare)
    assert before["stock"]["grazing"] == {
        "how": "hard",
        "from": "2026-09-01",
        "until": None,
        "dse_per_ha": 35.0,
        "effect": "hard, into early head emergence",
        "spread_factor": 1.2,
        "later_cd": 60.0,
    }
    assert after["stock"]["grazing"] is None
    assert (
        before["heads"]["half_headed"]["likely"]
        > after["heads"]["half_headed"]["likely"]
    )


def test_a_sprayed_paddock_says_nothing_of_stock(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The spell is over with the spraying."""
    farm = changed(
        tmp_path,
        (
            'name = "Lone Gum"\nhectares',
            'name = "Lone Gum"\nsprayed = 2026-10-11\nhectares',
        ),
    )
    assert paddock(capsys, "Lone Gum", "--farm", farm)["stock"] is None


def test_without_a_break_stock_off_cannot_be_told(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Unknown heading: no band, no clash, and no effect of grazing is guessed."""
    farm = changed(
        tmp_path,
        ('name = "Lone Gum"\n', 'name = "Lone Gum"\nautumn_break = 2025-09-20\n'),
    )
    stock = paddock(capsys, "Lone Gum", "--farm", farm)["stock"]
    assert stock["status"] == "unknown"
    assert stock["off"] == {"early": None, "likely": None, "late": None}
    assert stock["grazing"]["effect"] == "cannot be told"
    printed = " ".join(run(capsys, "outlook", "--farm", farm).split())
    assert "its effect on the heads cannot be told" in printed
    assert "stock off cannot be told" in printed
    told = run(capsys, "stock", "Lone Gum", "--farm", farm)
    assert "cannot be told" in told
    assert "until then" not in told
    tree = json.loads(
        run(capsys, "stock", "Lone Gum", "--farm", farm, "--format", "json")
    )
    assert tree["days_to_stock_off"] is None
    assert tree["mob"]["days_at_rate"] is None


@pytest.mark.parametrize("answer", ["soon", "DUE NOW", "not yet"])
def test_every_status_is_said_on_its_day(
    capsys: pytest.CaptureFixture[str], answer: str
) -> None:
    """From the band the program itself gives, the day of each status follows."""
    from datetime import date, timedelta

    days = {"not yet": 20, "soon": 5, "DUE NOW": 0}
    band = paddock(capsys, "Lone Gum", "--at", "2026-10-05T07:00")["stock"]["off"]
    first = date.fromisoformat(band["likely"]["first"])
    at = first - timedelta(days=days[answer])
    printed = run(capsys, "stock", "Lone Gum", "--at", f"{at}T07:00")
    assert answer in printed


def test_a_mob_s_arithmetic_by_hand(capsys: pytest.CaptureFixture[str]) -> None:
    """2,170 DSE on 62 ha is 35 a hectare, within 30–40; (1500 − 800)/(35 − 25) = 70 d.

    30–40 DSE/ha: WeedSmart, grazing strategies (published, seen in excerpt). 1 kg DM
    a DSE a day: common practice, no source.
    """
    arguments = (
        "stock",
        "Lone Gum",
        "--feed",
        "1500",
        "--leave",
        "800",
        "--growth",
        "25",
    )
    tree = json.loads(run(capsys, *arguments, "--format", "json"))
    assert tree["mob"]["dse_per_ha"] == 35.0
    assert tree["mob"]["fit"] == "within the rate"
    assert tree["mob"]["holds_ha"] == pytest.approx([54.25, 72.3333])
    assert tree["feed"]["days"] == pytest.approx(70.0)
    assert "= 70 days" in run(capsys, *arguments)


def test_days_before_stock_off_by_hand(capsys: pytest.CaptureFixture[str]) -> None:
    """Woolshed on 20 July, 26 ha: 390 DSE is 15 a hectare, half to three eighths.

    So, moved around, each hectare has 15/40 of the days to the first and 15/30 of those
    to the last day of the band; 780 DSE have all of them, and 1,560 are too many.
    """
    found = {}
    for dse in (390, 780, 1560):
        arguments = ("stock", "Woolshed", "--dse", str(dse), "--at", "2026-07-20T07:00")
        tree = json.loads(run(capsys, *arguments, "--format", "json"))
        found[dse] = tree["mob"]["days_at_rate"]
        first, last = tree["days_to_stock_off"]
        assert last - first == 7
        text = " ".join(run(capsys, *arguments).split())
        said = {390: "moved around", 780: "days at it", 1560: "1,040 DSE would do"}
        assert said[dse] in text
    assert found[390] == pytest.approx([first * 0.375, last * 0.5])
    assert found[780] == found[1560] == [first, last]


def test_feed_that_cannot_be_eaten_down_or_is_not_there(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Growth outpaces the mob; too little is there; feed runs out before stock-off."""
    base = ("stock", "Woolshed", "--at", "2026-07-20T07:00", "--dse", "780")
    for numbers, said in (
        (("1500", "800", "40"), "growth outpaces the mob"),
        (("700", "800", "0"), "less is there than is to be left: 0 days"),
        (("1000", "900", "0"), "short of stock-off"),
    ):
        options = ("--feed", numbers[0], "--leave", numbers[1], "--growth", numbers[2])
        assert said in " ".join(run(capsys, *base, *options).split())
    grown = ("--feed", "1500", "--leave", "800", "--growth", "40", "--format", "json")
    feed = json.loads(run(capsys, *base, *grown))["feed"]
    assert feed["days"] is None
    assert feed["growth_outpaces_mob"] is True


WRONG = [
    (("Lone Gum", "--dse", "0"), "--dse 0: allowed is 1 to 500,000 DSE"),
    (("Lone Gum", "--dse", "nan"), "--dse nan: allowed is"),
    (("Lone Gum", "--feed", "-1", "--leave", "0"), "--feed -1: allowed is 0"),
    (("Lone Gum", "--feed", "inf", "--leave", "0"), "--feed inf: allowed is 0"),
    (("Lone Gum", "--feed", "900"), "--feed and --leave go together"),
    (("Lone Gum", "--growth", "9"), "--growth needs --feed"),
    (("Woolshed", "--feed", "900", "--leave", "800"), "name its size with --dse"),
    (("Lone Gumm",), "did you mean Lone Gum?"),
    (("Lone Gum", "--format", "svg"), "text or json"),
]


@pytest.mark.parametrize(("arguments", "said"), WRONG)
def test_a_wrong_command_line_is_one_clear_error(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], said: str
) -> None:
    """Exit code 64, what is allowed, and nothing on standard output."""
    assert exit_code(["stock", *arguments]) == 64
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err


def test_a_paddock_without_a_known_mob_asks_for_one(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The band is told all the same; stock still on by grazing alone are known."""
    assert "name its size with --dse" in run(capsys, "stock", "Woolshed")
    tree = json.loads(run(capsys, "stock", "Woolshed", "--format", "json"))
    assert tree["mob"] is None
    assert tree["stock_off"]["status"] == "no stock known"


def test_the_mob_of_a_grazing_still_on_is_known(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Without any [[mob]], the grazing's own number counts."""
    farm = changed(
        tmp_path,
        (
            'paddock = "Lone Gum"\nfrom = 2026-09-01\nuntil = 2026-10-20',
            'paddock = "House"\nfrom = 2026-09-01\nuntil = 2026-10-20',
        ),
    )
    tree = json.loads(
        run(capsys, "stock", "Lone Gum", "--farm", farm, "--format", "json")
    )
    assert tree["mob"]["dse"] == 2170.0
    assert tree["days_at_rate_typed"] == 0


def test_grazing_that_ended_long_ago_says_so(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Off on 1 August, ten weeks before heading: spelled since winter."""
    farm = changed(
        tmp_path,
        (
            "from = 2026-08-20\nuntil = 2026-09-18",
            "from = 2026-07-01\nuntil = 2026-08-01",
        ),
    )
    printed = " ".join(run(capsys, "outlook", "--farm", farm).split())
    assert "spelled since winter, no change to the heads" in printed


def test_explain_names_the_grazing_s_numbers(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Each with source and mark."""
    tree = json.loads(run(capsys, "explain", "Creek Flat", "--format", "json"))
    found = [each for each in tree["numbers"] if each["what"].startswith("grazed")]
    assert [each["value"] for each in found] == [0.75, 20.0]
    assert {each["mark"] for each in found} == {"assumed"}


FLAG = (
    'target = "silver_grass"',
    'target = "annual_ryegrass"\nryegrass_toxicity = true',
)
RYE = (
    "{ barley_grass = 25, silver_grass = 20 }",
    "{ barley_grass = 25, annual_ryegrass = 20 }",
)


def test_toxicity_turns_wait_for_heads_round(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, root: Path
) -> None:
    """Two days after its first heads it is open; without the flag it waits.

    DPIRD Western Australia, annual ryegrass toxicity, March 2024 (published, seen in
    excerpt): at or before first head emergence, no later than 10 days after.
    """
    from datetime import datetime, timedelta

    toxic = changed(tmp_path, FLAG, RYE)
    plain = changed(tmp_path / "plain", (FLAG[0], 'target = "annual_ryegrass"'), RYE)
    there = paddock(capsys, "Back Road", "--farm", toxic)
    opened, closed = (
        datetime.fromisoformat(there["actives"][0]["window"][edge]["likely"])
        for edge in ("open", "closed")
    )
    assert (closed - opened).days == 10
    at = f"{opened + timedelta(days=2):%Y-%m-%dT%H:%M}Z"
    for active in paddock(capsys, "Back Road", "--farm", toxic, "--at", at)["actives"]:
        assert active["toxicity_window"] is True
        assert active["status"] in {"open", "closing"}
        assert active["next"]["step"] in {
            "count heads, then spray",
            "look at the gate",
            "no fit hours",
        }
    for active in paddock(capsys, "Back Road", "--farm", plain, "--at", at)["actives"]:
        assert active["toxicity_window"] is False
        assert active["status"] in {"not open", "opening soon"}
    path = root / "docs" / "reference" / "outlook.schema.json"
    schema = json.loads(path.read_text(encoding="utf-8"))
    tree = json.loads(run(capsys, "outlook", "--farm", toxic, "--format", "json"))
    jsonschema.validate(tree, schema)


def test_the_toxicity_warning_is_printed_with_the_paddock(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Resprouting, stock, the department, a vet; after ten days it is not *wait*."""
    farm = changed(tmp_path, FLAG, RYE)
    printed = " ".join(run(capsys, "outlook", "--farm", farm).split())
    for words in (
        "WARNING Annual ryegrass toxicity kills livestock",
        "shoot again after rain",
        "Take stock off",
        "department of agriculture",
        "ring a vet",
    ):
        assert words in printed
    late = " ".join(
        run(capsys, "outlook", "--farm", farm, "--at", "2026-10-18T07:00").split()
    )
    assert "first heads are past their ten days" in late
    told = run(capsys, "explain", "Back Road", "--farm", farm)
    assert "closed: days after that, toxicity" in told


def test_a_flagged_paddock_timed_for_another_weed_says_so(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The flag is only for annual ryegrass; the other weed keeps its own window."""
    farm = changed(
        tmp_path,
        (FLAG[0], f"{FLAG[0]}\nryegrass_toxicity = true"),
        (RYE[0], "{ silver_grass = 20, annual_ryegrass = 5 }"),
    )
    there = paddock(capsys, "Back Road", "--farm", farm)
    assert 'type target = "annual_ryegrass"' in there["warning"]
    assert {active["toxicity_window"] for active in there["actives"]} == {False}
    plain = paddock(capsys, "Back Road", "--farm", changed(tmp_path / "plain"))
    assert there["actives"][0]["window"] == plain["actives"][0]["window"]
