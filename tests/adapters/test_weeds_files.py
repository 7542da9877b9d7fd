"""The weed files we ship, and what is said of a faulty one."""

from __future__ import annotations

import re
import shutil
from typing import TYPE_CHECKING

import pytest

from forecaster.domain.growth.stage import Stage
from forecaster.domain.sourced import Mark, Sourced
from forecaster.errors import InputMissingError, SettingsError
from forecaster.settings.shipped import config_folder
from forecaster.settings.weeds import load_weeds, read_weed

if TYPE_CHECKING:
    from pathlib import Path


SHIPPED = config_folder() / "weeds"
IDS = [
    "annual_ryegrass",
    "barley_grass",
    "brome_grass",
    "capeweed",
    "silver_grass",
]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the shipped files to spoil."""
    copy = tmp_path / "weeds"
    shutil.copytree(SHIPPED, copy)
    return copy


def spoil(folder: Path, old: str, new: str, name: str = "barley_grass") -> Path:
    """Change the first ``old`` of a weed file."""
    path = folder / f"{name}.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return path


def faults(folder: Path) -> list[str]:
    """Every fault of the folder, as shown."""
    with pytest.raises(SettingsError) as caught:
        load_weeds(folder)
    return [str(fault) for fault in caught.value.faults]


def test_five_weeds_are_shipped() -> None:
    """The five weeds load, each under its own id and with its stages and windows."""
    weeds = load_weeds(SHIPPED)
    assert sorted(weeds) == IDS
    for name, weed in weeds.items():
        assert weed.id == name
        assert set(weed.stage_words) == set(Stage)
        assert set(weed.offsets) == set(Stage) - {Stage.HEADING}
        assert "translocated" in weed.windows
    assert [name for name in IDS if "contact" not in weeds[name].windows] == [
        "capeweed"
    ]


def test_shipped_numbers_say_where_they_come_from() -> None:
    """Every number has a source and page, and its value lies within its range."""
    for weed in load_weeds(SHIPPED).values():
        numbers = [
            getattr(weed, field)
            for field in weed.__slots__
            if isinstance(getattr(weed, field), Sourced)
        ]
        numbers += weed.offsets.values()
        numbers += [
            rule.share
            for window in weed.windows.values()
            for edge in (
                window.open,
                window.best_from,
                window.best_until,
                window.closed,
            )
            for rule in edge
        ]
        assert len(numbers) >= 19
        for number in numbers:
            assert number.low <= number.value <= number.high
            assert number.source
            assert number.page
            assert number.mark is not Mark.USER


def test_no_half_headed_claims_to_be_published() -> None:
    """No published thermal time to heading was found, so none may be marked so."""
    for weed in load_weeds(SHIPPED).values():
        assert weed.half_headed.mark is Mark.ASSUMED


@pytest.mark.parametrize(
    "key", ["value", "unit", "low", "high", "source", "page", "mark"]
)
def test_a_number_without_one_of_its_parts_is_refused(folder: Path, key: str) -> None:
    """Leaving out any part of a number is a fault at that number."""
    path = folder / "barley_grass.toml"
    text = path.read_text(encoding="utf-8")
    at = text.index("[heading.half_headed]")
    changed, count = re.subn(rf"(?m)^{key} = .*\n", "", text[at:], count=1)
    assert count == 1
    path.write_text(text[:at] + changed, encoding="utf-8")
    line = text[:at].count("\n") + 1
    (found,) = faults(folder)
    assert found.startswith(f"{path}:{line}:")
    assert f"heading.half_headed.{key} is missing" in found


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (
            '[heading.half_headed]\nvalue = 660.0\nunit = "degC d"',
            '[heading.half_headed]\nvalue = 660.0\nunit = "degF d"',
            'unit "degF d" must be "degC d"',
        ),
        ("value = 660.0", "value = -660.0", "must lie between low"),
        ("value = 660.0", 'value = "660"', "heading.half_headed.value"),
        ("[heading.spread]\nvalue = 60.0", "[heading.spread]\nvalue = 0.0", "spread"),
        ('mark = "assumed"', 'mark = "certain"', "mark"),
        ('stage = "late_milk"', 'stage = "cream"', "must be one of heading"),
        ("share = { value = 0.5", "share = { value = 50", "share"),
        ("latin = ", "latina = ", "latina is not a known key; did you mean latin?"),
        ('id = "barley_grass"', 'id = "barley"', "must be the name of the file"),
        ("value = 26.0", "value = 26.0\nvalue = 27.0", "not TOML"),
    ],
)
def test_wrong_entries_are_named(folder: Path, old: str, new: str, words: str) -> None:
    """A wrong unit, range, type, stage, mark, key or id is said plainly."""
    path = spoil(folder, old, new)
    found = faults(folder)
    assert any(str(path) in each and words in each for each in found), found


def test_a_spread_of_zero_is_refused(folder: Path) -> None:
    """A paddock whose heads all come at once is not believed."""
    spoil(
        folder,
        '[heading.spread]\nvalue = 60.0\nunit = "degC d"\nlow = 45.0',
        '[heading.spread]\nvalue = 0.0\nunit = "degC d"\nlow = 0.0',
    )
    (found,) = faults(folder)
    assert "value 0 must lie between 1 and 1000 degC d" in found


def test_offsets_must_not_fall(folder: Path) -> None:
    """A stage before the one it follows is a fault at its offset."""
    path = spoil(
        folder,
        '[stages.milk.offset]\nvalue = 170.0\nunit = "degC d"\nlow = 149.6',
        '[stages.milk.offset]\nvalue = 100.0\nunit = "degC d"\nlow = 90.0',
    )
    (found,) = faults(folder)
    text = path.read_text(encoding="utf-8")
    line = text[: text.index("[stages.milk.offset]")].count("\n") + 1
    assert found.startswith(f"{path}:{line}:")
    assert "stages.milk.offset 100 must not be less than that of watery, 110" in found


def test_the_ceiling_must_lie_above_the_base(folder: Path) -> None:
    """A clock that never runs is a fault."""
    spoil(
        folder,
        'value = 26.0\nunit = "degC"\nlow = 24.0',
        'value = 0.0\nunit = "degC"\nlow = 0.0',
    )
    (found,) = faults(folder)
    assert "clock.ceiling 0 must lie above clock.base 0" in found


def test_a_window_that_never_opens_is_refused(folder: Path) -> None:
    """Closing at 10 % in milk comes before opening at 99 % headed."""
    path = folder / "silver_grass.toml"
    text = path.read_text(encoding="utf-8")
    text = text.replace("share = { value = 0.7,", "share = { value = 0.99,")
    text = text.replace("low = 0.5, high = 0.8", "low = 0.5, high = 0.99")
    text = text.replace("low = 0.6, high = 0.8", "low = 0.6, high = 0.99")
    path.write_text(text, encoding="utf-8")
    (found,) = faults(folder)
    assert "windows.contact.closed comes before open" in found


def test_a_weed_without_any_window_is_refused(folder: Path) -> None:
    """A weed that can never be sprayed has no place in the folder."""
    path = folder / "capeweed.toml"
    text = path.read_text(encoding="utf-8")
    cut = text[: text.index("[[windows.translocated.open]]")] + "[windows]\n"
    path.write_text(cut, encoding="utf-8")
    (found,) = faults(folder)
    assert "windows must hold translocated, contact or both" in found


def test_faults_of_all_files_come_together(folder: Path) -> None:
    """Two spoilt files give the faults of both."""
    spoil(folder, 'latin = "', 'latine = "', "brome_grass")
    spoil(folder, 'latin = "', 'latine = "', "capeweed")
    found = "\n".join(faults(folder))
    assert "brome_grass.toml" in found
    assert "capeweed.toml" in found


def test_a_missing_folder_or_file_is_said(tmp_path: Path) -> None:
    """No folder, an empty one, or no such file: the path is named."""
    for path in (tmp_path, tmp_path / "none"):
        with pytest.raises(InputMissingError, match=re.escape(str(path))):
            load_weeds(path)
    with pytest.raises(InputMissingError, match="no such file"):
        read_weed(tmp_path / "thistle.toml")
