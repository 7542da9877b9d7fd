"""``forecaster feed`` and money in ``advise`` as a user meets them."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest
from own_farm import demo_copy

from forecaster.cli.main import exit_code
from forecaster.errors import SettingsError
from forecaster.settings.feed_file import load_feed
from forecaster.settings.shipped import config_folder

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.usefixtures("no_farm_here")


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Standard output of a run that must succeed, on one line."""
    assert exit_code(list(arguments)) == 0
    return " ".join(capsys.readouterr().out.split())


def told(capsys: pytest.CaptureFixture[str], *arguments: str) -> Any:
    """The JSON of ``feed``."""
    assert exit_code(["feed", *arguments, "--format", "json"]) == 0
    return json.loads(capsys.readouterr().out)


def changed(tmp_path: Path, *pairs: tuple[str, str]) -> str:
    """The demo farm with parts of its file changed."""
    return str(demo_copy(tmp_path / "farm", *pairs))


def test_the_demo_s_loss_is_that_of_the_hand_sum(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """185 ha × 45 kg × 42 d × a fifth to a third: 69.93 to 116.55 t, 16.65 to 27.75 d.

    The five paddocks the choice is not against have 34 + 26 + 41 + 29 + 55 = 185 ha.
    """
    tree = told(capsys)
    assert sum(each["hectares"] for each in tree["paddocks"]) == pytest.approx(185.0)
    assert "House" not in {each["name"] for each in tree["paddocks"]}
    assert tree["lost_kg_dm"] == pytest.approx([69_930.0, 116_550.0])
    assert tree["days_of_feed"] == pytest.approx([16.65, 27.75], abs=1e-4)
    assert tree["unsprayed"] == {"known": True, "short_from": None}
    assert "not short before 23 Nov" in run(capsys, "feed")


SCARCE = (
    ("on_offer_kg_ha = 1500", "on_offer_kg_ha = 1000"),
    ("kg_ha_day = 45", "kg_ha_day = 7"),
    ("dse = 4200", "dse = 4400\nspoilage_percent = 0"),
)
"""Nothing over what is to be left; 640 ha × 7 = 4,480 kg grow, 4,400 are eaten."""


def test_a_paddock_sprayed_tips_the_balance(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """80 kg a day over. House: 18 × 7 ÷ 3 = 42 lost, enough; Back Road 128, short.

    Both by hand; short on the first evening, 12 October.
    """
    farm = changed(tmp_path, *SCARCE)
    tree = told(capsys, "--farm", farm, "--spray", "House", "--spray", "back road")
    by_name = {each["name"]: each for each in tree["paddocks"]}
    assert tree["unsprayed"]["short_from"] is None
    assert tree["sprayed"]["short_from"] == "2026-10-12"
    assert by_name["House"]["alone"]["short_from"] is None
    assert by_name["Back Road"]["alone"]["short_from"] == "2026-10-12"
    assert by_name["Back Road"]["left_out"]["short_from"] is None
    assert by_name["House"]["left_out"]["short_from"] == "2026-10-12"
    printed = run(capsys, "feed", "--farm", farm, "--spray", "Back Road")
    assert "alone short from 12 Oct" in printed


def test_the_budget_feeds_row_6(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Back Road would run the farm short, and stock that come first are typed there.

    Without the typed answer the budget speaks; outlook and advise agree.
    """
    farm = changed(
        tmp_path,
        *SCARCE,
        (
            'feed_short = false\nlast_springs = ["hay"]',
            'priority_stock = true\nlast_springs = ["hay"]',
        ),
    )
    printed = run(capsys, "advise", "Back Road", "--farm", farm)
    assert "row 6: up to a third" in printed
    assert exit_code(["outlook", "--farm", farm, "--format", "json"]) == 0
    tree = json.loads(capsys.readouterr().out)
    step = tree["paddocks"][-1]["actives"][0]["next"]
    assert (step["step"], step["against"]["row"]) == ("do not spray", "6")


def test_without_numbers_it_says_what_it_needs(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Each key by its name; a paddock may have its own feed on offer."""
    farm = changed(
        tmp_path,
        ("dse = 4200\non_offer_kg_ha = 1500\nleave_kg_ha = 1000\n", ""),
        (
            "feed_short = true # of",
            "feed_on_offer_kg_ha = 1200\nfeed_short = true # of",
        ),
    )
    tree = told(capsys, "--farm", farm)
    assert tree["missing"][:2] == ["dse", "leave_kg_ha"]
    assert "Creek Flat" in tree["missing"][2]
    assert "other_hectares" in tree["missing"][2]
    assert "House" not in tree["missing"][2]
    assert tree["unsprayed"] is None
    assert "type in [feed]" in run(capsys, "feed", "--farm", farm)


def test_growth_not_typed_for_today_is_unknown(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """It starts tomorrow; and it ended yesterday."""
    late = changed(tmp_path, ("from = 2026-09-01\nkg_ha", "from = 2026-10-13\nkg_ha"))
    assert "unknown: growth is not typed" in run(capsys, "feed", "--farm", late)
    over = tmp_path / "farm" / "farm.toml"
    text = over.read_text(encoding="utf-8")
    text = text.replace("growth_until = 2026-11-23", "growth_until = 2026-10-12")
    text = text.replace("from = 2026-10-13\nkg_ha", "from = 2026-09-01\nkg_ha")
    over.write_text(text, encoding="utf-8")
    assert told(capsys, "--farm", late)["unsprayed"]["known"] is False


MONEY = """
[prices]
spraying_per_ha = 12
feed_per_tonne = 200
weed_per_percent_ha = 2
control_percent = 80

[prices.actives_per_ha]
glyphosate = 8
"""


def test_money_only_where_prices_are_given(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Back Road, 55 ha, growth to come 1,890 kg/ha, all by hand.

    A fifth is 378 kg or 75.60, a third 630 kg or 126.00; with 20.00 for the spray
    95.60 to 146.00 a hectare, and 59.75 to 91.25 % of weed at 1.60 a per cent.
    """
    assert "money" not in run(capsys, "advise", "Back Road")
    farm = changed(tmp_path, ("[[paddock]]\n", f"{MONEY}\n[[paddock]]\n"))
    printed = run(capsys, "advise", "Back Road", "--farm", farm)
    assert "glyphosate $20.00/ha, feed $75.60 to $126.00/ha" in printed
    assert "pays from 60 to 91 % of weed" in printed
    assert "paraquat $" not in printed
    (cost,) = told(capsys, "--farm", farm, "--spray", "Back Road")["paddocks"][0][
        "costs"
    ]
    assert cost["total"] == pytest.approx([55 * 95.6, 55 * 146.0])
    assert cost["break_even_percent"] == pytest.approx([59.75, 91.25])
    assert "$20.00/ha" in run(capsys, "feed", "--farm", farm)


def test_money_without_feed_or_weed_says_so(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """No growth for today: feed is not priced; no cost of weed: no break-even."""
    some = "\n[prices]\nspraying_per_ha = 12\nfeed_per_tonne = 200\n"
    some += "actives_per_ha = { glyphosate = 8 }\n"
    farm = changed(
        tmp_path,
        ("[[paddock]]\n", f"{some}\n[[paddock]]\n"),
        ("from = 2026-09-01\nkg_ha", "from = 2026-10-13\nkg_ha"),
    )
    printed = run(capsys, "advise", "Back Road", "--farm", farm)
    assert "feed not priced: $1,100 for the paddock" in printed
    assert "break-even not told" in printed


WRONG = [
    ("kg_ha_day = 45", "kg_ha_day = 450", "kg_ha_day"),
    ("growth_until = 2026-11-23", "growth_until = 2026-08-23", "must be after"),
    (
        "kg_ha_day = 45",
        "kg_ha_day = 45\n\n[[feed.growth]]\nfrom = 2026-08-01\nkg_ha_day = 20",
        "of the entry before it",
    ),
    (
        "[[paddock]]\n",
        "[prices]\nactives_per_ha = { salt = 3 }\n\n[[paddock]]\n",
        "salt",
    ),
]


@pytest.mark.parametrize(("old", "new", "said"), WRONG)
def test_a_wrong_number_is_told_at_its_place(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, old: str, new: str, said: str
) -> None:
    """Exit code 78, file, line and column."""
    assert exit_code(["feed", "--farm", changed(tmp_path, (old, new))]) == 78
    err = capsys.readouterr().err
    assert said in err
    assert "farm.toml:" in err


def test_a_paddock_nobody_knows(capsys: pytest.CaptureFixture[str]) -> None:
    """The nearest name is offered."""
    assert exit_code(["feed", "--spray", "Hous"]) == 64
    assert "did you mean House?" in capsys.readouterr().err


def test_a_loss_out_of_order_is_refused(tmp_path: Path) -> None:
    """The least loss must not be above the most."""
    text = (config_folder() / "feed.toml").read_text(encoding="utf-8")
    path = tmp_path / "feed.toml"
    old = 'value = 20, unit = "%", low = 20, high = 20'
    assert old in text
    path.write_text(
        text.replace(old, 'value = 50, unit = "%", low = 50, high = 50', 1),
        encoding="utf-8",
    )
    with pytest.raises(SettingsError, match="must not be above"):
        load_feed(path)


def test_the_demo_is_called_invented(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """On the page and in JSON; a farm of one's own is not."""
    assert run(capsys, "feed").startswith("DEMO FARM")
    assert told(capsys)["demo"] is True
    own = changed(tmp_path)
    assert not run(capsys, "feed", "--farm", own).startswith("DEMO FARM")
    assert told(capsys, "--farm", own)["demo"] is False
