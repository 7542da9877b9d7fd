"""``forecaster outlook``, ``hours`` and ``explain`` as a user runs them."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from typing import TYPE_CHECKING, Any

import jsonschema
import pytest

from forecaster.cli.main import exit_code
from forecaster.service.new_farm import quoted

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.usefixtures("no_farm_here")


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Standard output of a run that must succeed."""
    assert exit_code(list(arguments)) == 0
    return capsys.readouterr().out


def test_without_a_farm_the_demo_says_so_in_its_first_line(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """And it is complete, plain and free of colour codes when piped."""
    printed = run(capsys, "outlook")
    assert printed.startswith("DEMO FARM")
    assert "\x1b" not in printed
    for name in (
        "Creek Flat",
        "Woolshed",
        "Top Dam",
        "Lone Gum",
        "Stony Rise",
        "Vine Boundary",
        "House",
        "Back Road",
    ):
        assert f"\n{name}, " in printed
    assert "No forecast can clear an inversion" in printed
    assert "no label" in printed


def test_json_follows_the_published_schema(
    capsys: pytest.CaptureFixture[str], root: Path
) -> None:
    """docs/reference/outlook.schema.json, strictly."""
    path = root / "docs" / "reference" / "outlook.schema.json"
    schema: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    printed = run(capsys, "outlook", "--format", "json")
    jsonschema.validate(json.loads(printed), schema)


def test_json_says_the_same_as_text(capsys: pytest.CaptureFixture[str]) -> None:
    """Every status of the JSON stands in the summary of the text."""
    printed = run(capsys, "outlook")
    tree = json.loads(run(capsys, "outlook", "--format", "json"))
    for paddock in tree["paddocks"]:
        for active in paddock["actives"]:
            row = (
                f"{paddock['name']:15.15} {paddock['weed_name']:15.15} "
                f"{active['active']:10} {active['status']}"
            )
            assert row in printed


def test_hours_lists_every_hour_of_the_week(capsys: pytest.CaptureFixture[str]) -> None:
    """168 hours, each with a verdict and a reason."""
    tree = json.loads(run(capsys, "hours", "woolshed", "--format", "json"))
    assert len(tree["hours"]) == 168
    assert {hour["verdict"] for hour in tree["hours"]} >= {"good", "hold", "look first"}
    assert all(hour["reasons"] for hour in tree["hours"])
    printed = run(capsys, "hours", "Woolshed")
    assert len(re.findall(r"(?m)^\d\d:00 ", printed)) == 168


def test_explain_gives_a_source_for_every_number(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """No number without source, page and mark; what would change it is said."""
    tree = json.loads(run(capsys, "explain", "Back Road", "--format", "json"))
    for number in [*tree["numbers"], *tree["limits"]]:
        assert number["source"]
        assert number["page"]
        assert number["mark"]
    assert {change["what"] for change in tree["changes"]} >= {
        "break 10 days earlier",
        "break 10 days later",
    }
    assert "What would change it" in run(capsys, "explain", "Back Road")


def test_lifting_a_limit_is_worth_what_explain_says(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Moving the farm's advice on a low Delta T away gains just those hours."""
    import shutil

    from forecaster.settings.shipped import demo_folder

    before = json.loads(run(capsys, "explain", "Back Road", "--format", "json"))
    gained = {each["limit"]: each["hours_gained_without"] for each in before["limits"]}
    assert gained["delta_t_preferred_low"] > 0
    folder = tmp_path / "farm"
    shutil.copytree(demo_folder(), folder)
    farm = folder / "farm.toml"
    lifted = (
        '\n[advice.delta_t_preferred_low]\nbound = 0\nbecause = "a test"\n\n[[paddock]]'
    )
    text = farm.read_text(encoding="utf-8")
    farm.write_text(text.replace("\n[[paddock]]", lifted, 1), encoding="utf-8")
    after = json.loads(
        run(capsys, "explain", "Back Road", "--farm", str(folder), "--format", "json")
    )
    assert after["good_hours"] - before["good_hours"] == gained["delta_t_preferred_low"]


def test_out_writes_the_page_whole(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The file holds what the screen would have shown; the screen holds nothing."""
    printed = run(capsys, "outlook")
    path = tmp_path / "outlook.txt"
    assert run(capsys, "outlook", "--out", str(path)) == ""
    assert path.read_text(encoding="utf-8") == printed
    assert [each.name for each in tmp_path.iterdir()] == ["outlook.txt"]


def test_a_farm_in_this_folder_is_found(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """farm.toml here counts before the demo."""
    run(capsys, "init", str(tmp_path / "here"), "--name", "Home block")
    import os

    os.chdir(tmp_path / "here")
    printed = run(capsys, "outlook")
    assert "Home block: spray outlook" in printed
    assert printed.startswith("INVENTED WEATHER")


@pytest.mark.parametrize(
    "command",
    [
        (),
        *(
            (name,)
            for name in (
                "outlook",
                "hours",
                "explain",
                "stock",
                "weather",
                "sources",
                "propose",
                "hindcast",
                "init",
            )
        ),
    ],
)
def test_help_shows_an_example(
    command: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    """Every command's --help."""
    assert "Example:  forecaster" in run(capsys, *command, "--help")


def test_no_command_at_all_prints_the_help(capsys: pytest.CaptureFixture[str]) -> None:
    """A bare ``forecaster`` says what there is."""
    assert run(capsys) == run(capsys, "--help")


def test_version_is_the_package_s(capsys: pytest.CaptureFixture[str]) -> None:
    """One version, from the package."""
    from forecaster import __version__

    assert run(capsys, "--version") == f"forecaster {__version__}\n"


def test_the_program_runs_as_a_module_and_survives_a_closed_pipe() -> None:
    """A reader that goes away after one line is no error."""
    with subprocess.Popen(
        [sys.executable, "-m", "forecaster", "outlook"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        first = process.stdout.readline()
        process.stdout.close()
        errors = process.stderr.read()
    assert first.startswith("DEMO FARM")
    assert errors == ""
    assert process.returncode == 0


def test_names_of_any_script_come_back_as_typed(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Markup, formulas, emoji and other alphabets are only text."""
    names = [
        "<img src=x onerror=y>",
        '=HYPERLINK("x")',
        "Dam; END:VEVENT",
        "Łąka",
        "牧場",
        "🐑🐑",
    ]
    folder = tmp_path / "names"
    run(capsys, "init", str(folder))
    farm = folder / "farm.toml"
    text = farm.read_text(encoding="utf-8").split("[[paddock]]\n")[0]
    for name in names:
        text += (
            f"[[paddock]]\nname = {quoted(name)}\nhectares = 9\n"
            "weeds = { barley_grass = 9 }\nnothing_near = true\n"
        )
    farm.write_text(text, encoding="utf-8")
    printed = run(capsys, "outlook", "--farm", str(folder))
    as_json = run(capsys, "outlook", "--farm", str(folder), "--format", "json")
    tree = json.loads(as_json)
    assert [paddock["name"] for paddock in tree["paddocks"]] == names
    for name in names:
        assert f"\n{name}, 9 ha" in printed
