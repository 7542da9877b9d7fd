"""The house keeps its own rules."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

import forecaster
from forecaster.settings.shipped import config_folder

PACKAGE = Path(forecaster.__file__).parent
SOURCES = sorted(PACKAGE.rglob("*.py"))
LONGEST_FILE = 400
LONGEST_BODY = 45
HEAVY = (
    "metpy", "pandas", "scipy", "xarray", "pint", "matplotlib", "apscheduler",
    "icalendar", "jinja2",
)  # fmt: skip


def loaded_after(*arguments: str) -> set[str]:
    """Top-level modules a fresh process has loaded after running the program."""
    code = (
        "import sys\n"
        "from forecaster.cli.main import exit_code\n"
        f"code = exit_code({list(arguments)!r})\n"
        "print(' '.join({name.split('.')[0] for name in sys.modules}), file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    return set(done.stderr.split())


def test_help_and_the_demo_load_nothing_heavy() -> None:
    """Neither --help nor the demo outlook touches MetPy, pandas, SciPy or xarray."""
    assert not loaded_after("--help") & set(HEAVY)
    assert not loaded_after("outlook") & set(HEAVY)
    assert "numpy" not in loaded_after("--help")


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.name)
def test_files_and_functions_stay_small(path: Path) -> None:
    """No file over 400 lines, no function body over 45 without its docstring."""
    text = path.read_text(encoding="utf-8")
    assert text.count("\n") <= LONGEST_FILE
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef):
            body = node.body[1:] if ast.get_docstring(node) else node.body
            lines = body[-1].end_lineno - body[0].lineno + 1 if body else 0  # type: ignore[operator]  # parsed nodes have ends
            assert lines <= LONGEST_BODY, f"{path.name}: {node.name} has {lines}"


def test_no_work_is_left_for_later() -> None:
    """No notes to self in the package."""
    pattern = re.compile(r"\b(TODO|FIXME|XXX|HACK)\b")
    found = [path for path in SOURCES if pattern.search(path.read_text("utf-8"))]
    assert not found


def test_only_one_file_reads_the_clock() -> None:
    """``now`` is an argument everywhere but in service/clock.py."""
    pattern = re.compile(r"\.(now|utcnow|today|time_ns)\(|\btime\.time\(")
    found = {
        path.relative_to(PACKAGE).as_posix()
        for path in SOURCES
        if pattern.search(path.read_text("utf-8"))
    }
    assert found == {"service/clock.py"}


def test_the_package_names_no_machine() -> None:
    """No absolute home or work path in anything that ships."""
    pattern = re.compile(r"(/home/|/work/|/root/|C:\\{1,2}Users)")
    config = [each for each in config_folder().rglob("*") if each.is_file()]
    assert config
    shipped = [*SOURCES, *config]
    assert not [path for path in shipped if pattern.search(path.read_text("utf-8"))]
