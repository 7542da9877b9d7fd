"""Documentation that cannot drift from the program."""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Any

import pytest
import typer.main

from forecaster import errors
from forecaster.cli.main import app
from forecaster.settings.shipped import config_folder

if TYPE_CHECKING:
    from pathlib import Path

LINK = re.compile(r"(?<!!)\[[^\]]*\]\(([^)#\s]+)(#[^)]*)?\)")


def pages(root: Path) -> list[Path]:
    """Every Markdown page."""
    return [*root.glob("*.md"), *(root / "docs").rglob("*.md")]


def test_every_link_to_a_file_leads_somewhere(root: Path) -> None:
    """Relative links of every page."""
    broken = [
        f"{page.relative_to(root)}: {link}"
        for page in pages(root)
        for link, _ in LINK.findall(page.read_text(encoding="utf-8"))
        if "://" not in link and not link.startswith("mailto:")
        if not (page.parent / link).exists()
        if not link.startswith(("forecaster/", "../forecaster/", "../../forecaster/"))
    ]
    assert not broken


def test_every_command_and_option_is_documented(root: Path) -> None:
    """docs/reference/commands.md names each, and each has help."""
    page = (root / "docs" / "reference" / "commands.md").read_text(encoding="utf-8")
    group: Any = typer.main.get_command(app)
    for name, command in group.commands.items():
        section = re.search(rf"(?ms)^## `forecaster {name}\b.*?(?=^## |\Z)", page)
        assert section, name
        assert command.help
        for parameter in command.params:
            if parameter.param_type_name == "option" and parameter.name != "help":
                assert f"`{parameter.opts[0]}" in section[0], (name, parameter.opts)
                assert parameter.help


def test_every_exit_code_is_documented(root: Path) -> None:
    """The table of docs/reference/commands.md holds each error's number."""
    page = (root / "docs" / "reference" / "commands.md").read_text(encoding="utf-8")
    codes = {
        each.exit_code
        for each in vars(errors).values()
        if isinstance(each, type) and issubclass(each, errors.ForecasterError)
    }
    for code in codes - {errors.ForecasterError.exit_code}:
        assert re.search(rf"^\| *`?{code}`? *\|", page, re.MULTILINE), code


def test_the_readme_keeps_its_two_commands(root: Path) -> None:
    """One line sets up and prints an outlook, one sets up and passes the tests."""
    readme = (root / "README.md").read_text(encoding="utf-8")
    lines = [line for line in readme.splitlines() if line.startswith("python3 ")]
    assert len(lines) == 2
    assert lines[0].endswith("forecaster outlook")
    assert lines[1].endswith("pytest -q")


def test_the_readme_shows_what_the_demo_prints(root: Path) -> None:
    """Each row of its example stands in the golden outlook."""
    readme = (root / "README.md").read_text(encoding="utf-8")
    golden = (root / "fixtures" / "golden" / "outlook.txt").read_text(encoding="utf-8")
    example = readme.split("```text\n")[1].split("```")[0]
    for row in example.strip().splitlines():
        assert row in golden.splitlines()


@pytest.mark.parametrize("folder", ["weeds", "limits", "actives", "control"])
def test_every_shipped_number_has_its_origin(folder: str) -> None:
    """Walk each file: whatever holds a value holds unit, range, source, page, mark."""
    needed = {"value", "unit", "low", "high", "source", "page", "mark"}
    count = 0

    def walk(node: object, where: str) -> None:
        nonlocal count
        if isinstance(node, dict):
            if "value" in node:
                count += 1
                assert set(node) == needed, where
                assert node["low"] <= node["value"] <= node["high"], where
            for key, each in node.items():
                walk(each, f"{where}.{key}")
        elif isinstance(node, list):
            for number, each in enumerate(node):
                walk(each, f"{where}[{number}]")

    for path in sorted((config_folder() / folder).glob("*.toml")):
        walk(tomllib.loads(path.read_text(encoding="utf-8")), path.name)
    assert count > 10


def test_pages_a_source_names_exist(root: Path) -> None:
    """Where a number's page is one of our own docs, that page is there."""
    for path in config_folder().rglob("*.toml"):
        for page in re.findall(r'"(docs/[^"]+\.md)', path.read_text(encoding="utf-8")):
            assert (root / page).is_file(), (path.name, page)
