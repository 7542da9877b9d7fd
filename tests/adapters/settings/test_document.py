"""Reading a file: what is missing, unreadable, in another encoding, or no TOML."""

from __future__ import annotations

import errno
import os
from pathlib import Path
from typing import Annotated, Any

import pytest
from pydantic import Field, RootModel

from forecaster.cli.main import exit_code
from forecaster.errors import InputMissingError, SettingsError
from forecaster.settings.document import (
    LARGEST_FILE,
    Moment,
    Strict,
    read_document,
    read_text,
    validate,
    within,
)


def test_a_missing_farm_is_told_what_to_do(tmp_path: Path, refused: Any) -> None:
    """Exit 66, the path, and the command that makes a farm."""
    told = refused(tmp_path, 66)
    assert f"{tmp_path / 'farm.toml'}: no such file" in told
    assert "forecaster init" in told
    assert f"{tmp_path / 'no.toml'}: no such file" in refused(tmp_path / "no.toml", 66)


def test_a_folder_in_place_of_the_file(tmp_path: Path, refused: Any) -> None:
    """Exit 66 and what to name instead."""
    (tmp_path / "farm.toml").mkdir()
    assert "farm.toml: is a folder; name the file inside it" in refused(tmp_path, 66)


def test_a_file_that_may_not_be_read(
    spoil: Any, refused: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Exit 66 with the system's own words (the tests may run as root, who may read)."""
    folder = spoil()

    def denied(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr(Path, "open", denied)
    told = refused(folder, 66)
    assert "farm.toml: cannot be read (Permission denied)" in told


def test_a_missing_map_is_named(spoil: Any, refused: Any) -> None:
    """Exit 66 with the map's path, not the farm file's."""
    folder = spoil("elevation_m = 200", 'map = "none.geojson"')
    assert f"{folder / 'none.geojson'}: no such file" in refused(folder, 66)
    assert "is a folder" in refused(spoil("elevation_m = 200", 'map = "."'), 66)


def test_a_byte_order_mark_is_taken(spoil: Any) -> None:
    """Some editors put one; the file is read without it."""
    path = spoil() / "farm.toml"
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
    assert exit_code(["outlook", "--farm", str(path.parent)]) == 0


@pytest.mark.parametrize(
    ("encoding", "said"),
    [
        # The first byte that is no UTF-8: a mark of two bytes, then a zero byte.
        ("utf-16", ":1:4: byte 3 (0x00) is not UTF-8; the file looks like UTF-16"),
        ("utf-16-le", ":1:2: byte 1 (0x00) is not UTF-8; the file looks like UTF-16"),
        ("utf-16-be", ":1:1: byte 0 (0x00) is not UTF-8; the file looks like UTF-16"),
        # "[farm]\n" has 7 bytes, 'name = "F' has 9: é is byte 16, line 2, column 10.
        ("latin-1", ":2:10: byte 16 (0xe9) is not UTF-8; the file looks like Latin-1"),
        ("cp1252", ":2:10: byte 16 (0xe9) is not UTF-8; the file looks like Latin-1"),
    ],
)
def test_another_encoding_is_guessed(
    spoil: Any, refused: Any, encoding: str, said: str
) -> None:
    """Exit 78 with the byte it shows at, and the encoding to save in."""
    path = spoil("Test farm", "Férme") / "farm.toml"
    text = path.read_text(encoding="utf-8")
    path.write_bytes(text.encode(encoding))
    told = refused(path.parent)
    assert f"{path}{said}" in told
    assert "save it as UTF-8" in told


def test_windows_line_ends_keep_their_numbers(spoil: Any, refused: Any) -> None:
    """CRLF: the fault is on the same line as with LF."""
    path = spoil("longitude", "longtude") / "farm.toml"
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    assert f"{path}:5:1: farm.longtude is not a known key" in refused(path.parent)


def test_a_huge_file_is_not_read(spoil: Any, refused: Any) -> None:
    """Past 4 MiB it is no settings file."""
    path = spoil("", "# " + "x" * LARGEST_FILE) / "farm.toml"
    assert f"{path}: larger than 4 MiB" in refused(path.parent)


def test_an_endless_file_is_cut_off(tmp_path: Path) -> None:
    """A link to a device that never ends is read no further than the cap."""
    path = tmp_path / "farm.toml"
    path.symlink_to("/dev/zero")
    with pytest.raises(SettingsError, match="larger than 4 MiB"):
        read_text(path)


def test_the_end_of_the_file_has_a_line(tmp_path: Path) -> None:
    """A list that is never closed is a fault of the last line."""
    path = tmp_path / "a.toml"
    path.write_text("a = [1,\n2,\n", encoding="utf-8")
    with pytest.raises(SettingsError, match=r"a\.toml:3:1: not TOML"):
        read_document(path)


def test_a_control_character_is_shown_not_obeyed(tmp_path: Path) -> None:
    """A raw ESC on a wrong line is printed as its number."""
    path = tmp_path / "a.toml"
    path.write_text('a = "\x1b[2J"\n', encoding="utf-8")
    with pytest.raises(SettingsError) as caught:
        read_document(path)
    assert "\x1b" not in str(caught.value)
    assert "\\u001b[2J" in str(caught.value)


class Inner(Strict):
    """A table of a table."""

    size: Annotated[float, within(0, 10)] = 0.0


class Sample(Strict):
    """Every way a table may hold another."""

    word: str = "a"
    count: int = 0
    maybe: Inner | None = None
    listed: list[Inner] = Field(default_factory=list)
    marked: Annotated[list[Inner], Field(max_length=2)] = Field(default_factory=list)
    named: dict[str, Inner] = Field(default_factory=dict)
    noted: dict[str, Annotated[Inner, "a note"]] = Field(default_factory=dict)
    fixed: tuple[Inner, ...] = ()
    either: Annotated[int, Field(strict=True)] | bool = False
    moment: Moment | None = None
    above: Annotated[float, Field(gt=0, lt=1)] = 0.5
    from_to: Annotated[float, Field(ge=0, le=1)] = 0.5


class Tables(RootModel[dict[str, Inner]]):
    """A file of tables without a fixed name."""


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[maybe]\nsise = 1", "2:1: maybe.sise is not a known key; did you mean size?"),
        ("[[listed]]\nsise = 1", "2:1: listed 1: sise is not a known key; did you"),
        ("[[marked]]\nsise = 1", "2:1: marked 1: sise is not a known key; did you"),
        ("[named.x]\nsise = 1", "2:1: named.x.sise is not a known key; did you"),
        ("[noted.x]\nsise = 1", "2:1: noted.x.sise is not a known key; did you"),
        ("[[fixed]]\nsise = 1", "2:1: fixed 1: sise is not a known key; did you"),
        ('either = "x"', '1:1: either = "x": allowed is a whole number'),
        ("[maybe]\nzz = 1", "zz is not a known key; remove it or check the spelling"),
        ("maybe = 3", "1:1: maybe = 3: allowed is a table of keys and values"),
        ("listed = 3", "1:1: listed = 3: allowed is a list in [square brackets]"),
        ("count = 1.5", "1:1: count = 1.5: "),
        ('count = "1"', "count"),
        ("above = 0", "above = 0: allowed is above 0"),
        ("above = 1", "above = 1: allowed is below 1"),
        ("from_to = -1", "from_to = -1: allowed is 0 or more"),
        ("from_to = 2", "from_to = 2: allowed is 1 or less"),
        ("moment = 2026-01-01", "moment = 2026-01-01: allowed is a date and time"),
        ("[maybe]\nsize = 11", "2:1: maybe.size = 11: allowed is 0 to 10"),
    ],
)
def test_faults_of_any_model(tmp_path: Path, text: str, said: str) -> None:
    """Keys are compared with those of their own table, through lists and options."""
    path = tmp_path / "a.toml"
    path.write_text(text + "\n", encoding="utf-8")
    if text == 'count = "1"':
        assert validate(read_document(path), Sample).count == 1
        return
    with pytest.raises(SettingsError) as caught:
        validate(read_document(path), Sample)
    assert said in str(caught.value)


def test_faults_of_a_file_of_tables(tmp_path: Path) -> None:
    """A root of free names: the known keys are those of the tables inside."""
    path = tmp_path / "a.toml"
    path.write_text("[x]\nsise = 1\n", encoding="utf-8")
    with pytest.raises(SettingsError, match=r"2:1: x\.sise .* did you mean size"):
        validate(read_document(path), Tables)


def test_no_such_file() -> None:
    """The path as it was given."""
    with pytest.raises(InputMissingError, match=r"nowhere\.toml: no such file"):
        read_document(Path("nowhere.toml"))
