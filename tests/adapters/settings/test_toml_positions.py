"""Places of keys, against the standard library's own reading of the same text."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

import pytest

from forecaster.settings.shipped import config_folder
from forecaster.settings.toml_positions import positions, repeated

if TYPE_CHECKING:
    from pathlib import Path

CONFIG = config_folder()

TEXT = """\
top = 1
"quoted key" = 2
'lite\\ral' = 3
"esc\\u0061pe" = 4
dotted.key = 5
é = 6
"""
# A bare key must be ASCII (TOML 1.0.0, "Keys"), so the last line is quoted:
TEXT = TEXT.replace("é =", '"é" =') + (
    'list = [1, # a remark\n  "ü", { a = 1 }, [2, 3]]\n'
    "inline = { a = 1, b = { c = 2 } }\n"
    "[table]\n"
    "  deep = 1\n"
    "[table.'sub.table']\n"
    "x = 1\n"
    "[[many]]\n"
    "x = 1\n"
    "[[many]]\n"
    "x = 2\n"
    "[many.inner]\n"
    "y = 3\n"
    "[[many.more]]\n"
    "z = 4\n"
)

PLACES = {
    ("top",): (1, 1),
    ("quoted key",): (2, 1),
    ("lite\\ral",): (3, 1),
    ("escape",): (4, 1),
    ("dotted", "key"): (5, 1),
    ("é",): (6, 1),
    ("list",): (7, 1),
    ("list", 0): (7, 9),
    ("list", 1): (8, 3),
    ("list", 2): (8, 8),
    ("list", 2, "a"): (8, 10),
    ("list", 3): (8, 19),
    ("list", 3, 0): (8, 20),
    ("list", 3, 1): (8, 23),
    ("inline",): (9, 1),
    ("inline", "a"): (9, 12),
    ("inline", "b"): (9, 19),
    ("inline", "b", "c"): (9, 25),
    ("table",): (10, 2),
    ("table", "deep"): (11, 3),
    ("table", "sub.table"): (12, 2),
    ("table", "sub.table", "x"): (13, 1),
    ("many", 0): (14, 3),
    ("many", 0, "x"): (15, 1),
    ("many", 1): (16, 3),
    ("many", 1, "x"): (17, 1),
    ("many", 1, "inner"): (18, 2),
    ("many", 1, "inner", "y"): (19, 1),
    ("many", 1, "more", 0): (20, 3),
    ("many", 1, "more", 0, "z"): (21, 1),
}


def test_places_counted_by_hand() -> None:
    """Every form a key can take, each at the line and column counted in the text."""
    assert positions(TEXT) == PLACES


def leaves(value: Any, path: tuple[str | int, ...] = ()) -> set[tuple[str | int, ...]]:
    """Paths of all values of a parsed file that are no tables."""
    if isinstance(value, dict) and value:
        items: Any = value.items()
    elif isinstance(value, list) and value and isinstance(value[0], dict):
        items = enumerate(value)
    else:
        return {path}
    return {leaf for key, each in items for leaf in leaves(each, (*path, key))}


@pytest.mark.parametrize(
    "path",
    sorted(CONFIG.rglob("*.toml")),
    ids=lambda path: path.relative_to(CONFIG).as_posix(),
)
def test_every_value_of_the_shipped_files_has_a_place(path: Path) -> None:
    """The standard parser (tomllib) knows no value whose place is not known here."""
    text = path.read_text(encoding="utf-8").replace("$", "# $")
    if path.parent.name == "templates":
        text = "\n".join(
            line for line in text.splitlines() if not line.endswith("= # $name")
        )
        text = text.replace('"# $zone"', '"z"').replace("= # $l", "= 1 # $l")
    found = positions(text)
    lines = text.split("\n")
    for leaf in leaves(tomllib.loads(text)):
        line, column = found[leaf]
        assert lines[line - 1][column - 1 :].startswith(str(leaf[-1]))


def test_windows_line_ends_count_once() -> None:
    """The same places with CRLF."""
    assert positions(TEXT.replace("\n", "\r\n")) == PLACES


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("a = 1\nb = 2\na = 3\n", (1, 1)),
        ("[t]\na = 1\n[u]\n[t]\n", (1, 2)),
        ("[t]\n a = 1\n'a' = 2\n", (2, 2)),
        ("x = { a = 1, a = 2 }\n", (1, 7)),
        ("[[t]]\na = 1\n[[t]]\na = 2\n", None),
        ("a.b = 1\na.c = 2\n", None),
    ],
)
def test_what_stands_twice(text: str, place: tuple[int, int] | None) -> None:
    """The first place of a repeated key or table; array tables may repeat."""
    assert repeated(text) == place
