"""Names: any script is welcome and is printed as it was typed."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest

from forecaster.cli.main import exit_code
from forecaster.settings.names import name_fault, plain, same_name, text_fault

if TYPE_CHECKING:
    from pathlib import Path

WELCOME = [
    "<img src=x onerror=alert(1)>",
    '=HYPERLINK("http://example.org")',
    "+1",
    "-5 acre",
    "@x",
    "Dam; END:VEVENT",
    "a, b\\c",
    "$HOME `id` %s {0}",
    "[bold red]Hill[/]",
    "Дальнее поле",
    "遠い畑",
    "مرعى",
    "आम का खेत",
    "क्‍ष",  # a joiner after a virama belongs to the letter
    "Dam 🐑",
    "👩‍🌾 home",  # woman, joiner, sheaf: one emoji
    "x" * 80,
]


@pytest.mark.parametrize("form", ["text", "json"])
def test_names_of_any_kind_come_back_equal(
    spoil: Any, capsys: pytest.CaptureFixture[str], form: str
) -> None:
    """Markup, formulas, emoji and other scripts: in, through the outlook, and out."""
    more = "".join(
        f"[[paddock]]\nname = {json.dumps(name, ensure_ascii=False)}\nhectares = 9\n"
        "weeds = { annual_ryegrass = 35 }\nactives = ['paraquat']\n"
        for name in WELCOME
    )
    folder = spoil("", more)
    assert exit_code(["outlook", "--farm", str(folder), "--format", form]) == 0
    out = capsys.readouterr().out
    if form == "json":
        names = [paddock["name"] for paddock in json.loads(out)["paddocks"]]
        assert names[2:] == WELCOME
        return
    unwrapped = "".join(out.split())  # a long name is broken at the page's edge
    for name in WELCOME:
        assert "".join(f"{name}, 9 ha".split()) in unwrapped


@pytest.mark.parametrize("name", WELCOME)
def test_a_name_is_found_again_on_the_command_line(
    spoil: Any, tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    """No name is taken for an option, a pattern or markup once ``--`` is given."""
    folder = spoil('"Hill"', json.dumps(name, ensure_ascii=False))
    out = tmp_path / "hours.txt"
    arguments = ["hours", "--farm", str(folder), "--out", str(out), "--", name]
    assert exit_code(arguments) == 0, capsys.readouterr().err
    printed = "".join(out.read_text(encoding="utf-8").split())
    assert "".join(name.split()) in printed


def test_eighty_characters_are_the_longest() -> None:
    """80 pass, 81 do not."""
    assert name_fault("a" * 80) is None
    assert name_fault("a" * 81) is not None


def test_free_text_may_be_empty_but_not_hidden() -> None:
    """Notes and reasons have the rule of names without their length."""
    assert text_fault("") is None
    assert text_fault("x" * 500) is None
    assert text_fault("\u202etxt.exe") is not None


def test_sameness_is_caseless_and_canonical() -> None:
    """ß folds to ss and the Kelvin sign to k (Unicode CaseFolding.txt)."""
    assert same_name(" Straße ") == same_name("STRASSE")
    assert same_name("\u212a") == same_name("k")
    assert same_name("Hill") != same_name("Hall")


def test_text_in_a_message_is_cut_and_tame() -> None:
    """Long text is cut, what a terminal would obey is spelt out."""
    assert plain("x" * 100) == '"' + "x" * 59 + '…"'
    assert plain("a\x1b\u202eb") == '"a\\u001b\\u202eb"'
