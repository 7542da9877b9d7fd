"""The control files we ship, and what is said of a faulty one."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest

from forecaster.domain.growth.stage import Stage
from forecaster.domain.sourced import Mark
from forecaster.errors import SettingsError
from forecaster.settings.controls import load_controls
from forecaster.settings.shipped import config_folder
from forecaster.settings.weeds import load_weeds

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.growth.control import WeedControl
    from forecaster.domain.growth.weed import Mode

SHIPPED = config_folder() / "control"
WEEDS = load_weeds(config_folder() / "weeds")
LEYS: dict[Mode, list[float]] = {
    "translocated": [0.84, 0.83, 0.28],
    "contact": [0.59, 0.81, 0.59],
}
"""Leys, Cullis & Plater 1991, Australian Journal of Agricultural Research
42(8):1405–1415, abstract: control at heading, anthesis and early grain filling."""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the shipped files to spoil."""
    copy = tmp_path / "control"
    shutil.copytree(SHIPPED, copy)
    return copy


def shipped() -> dict[str, WeedControl]:
    """The files we ship."""
    return load_controls(SHIPPED, WEEDS)


def faults(folder: Path) -> list[str]:
    """Every fault of the folder, as shown."""
    with pytest.raises(SettingsError) as caught:
        load_controls(folder, WEEDS)
    return [str(fault) for fault in caught.value.faults]


def test_every_weed_says_whether_a_trial_is_published() -> None:
    """One file a weed; only silver grass has published numbers by stage of head."""
    found = shipped()
    assert sorted(found) == sorted(WEEDS)
    assert [name for name, each in found.items() if each.trials] == ["silver_grass"]


@pytest.mark.parametrize("mode", ["translocated", "contact"])
def test_silver_grass_has_the_numbers_of_the_abstract(mode: Mode) -> None:
    """As printed, each within its range and marked as seen in an abstract only."""
    trial = dict(shipped()["silver_grass"].trials[mode])
    covered = trial.pop(None, None)
    assert list(trial) == [Stage.HEADING, Stage.FLOWERING, Stage.WATERY]
    assert [each.value for each in trial.values()] == LEYS[mode]
    # DPIRD Western Australia, Spray-topping pastures, 2023: paraquat does not reach
    # covered heads. It gives no percentage, so ours may not pass for published.
    assert (covered is None) == (mode == "translocated")
    assert covered is None or covered.mark is Mark.ASSUMED
    for each in trial.values():
        assert 0.0 <= each.low < each.value < each.high <= 1.0
        assert "1405–1415" in each.source
        assert each.mark is Mark.EXCERPT


def test_carry_over_has_a_range_and_a_source() -> None:
    """The 1970 trial in Victoria found under 1 % of all four grasses' seed alive.

    Australian Journal of Experimental Agriculture and Animal Husbandry 10(45):401–404,
    abstract: so none of their ranges may leave 1 % out.
    """
    for name, each in shipped().items():
        carried = each.carry_over
        assert carried.source
        assert carried.mark is not Mark.PUBLISHED
        if name != "capeweed":
            assert carried.low <= 0.01 <= carried.high
            assert "401–404" in carried.source


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('weed = "silver_grass"', 'weed = "silver"', "must be the name of the file"),
        ('stage = "watery"', 'stage = "juicy"', "must be one of not_out, heading"),
        ('stage = "watery"', 'stage = "heading"', "stage heading stands here twice"),
        (
            'stage = "not_out"',
            (
                'stage = "not_out"\n'
                'control = { value = 0.0, unit = "share", low = 0.0, high = 0.1, '
                'source = "a test", page = "a page", mark = "assumed" }\n'
                '[[trials.contact]]\nstage = "not_out"'
            ),
            "stage not_out stands here twice",
        ),
        ('value = 0.84, unit = "share"', 'value = 84, unit = "%"', "between low"),
        (
            'value = 0.84, unit = "share"',
            'value = 0.84, unit = "%"',
            'unit "%" must be "share"',
        ),
        ("high = 0.94", "high = 1.94", "must lie between 0 and 1"),
        ("low = 0.0", "low = -0.1", "must lie between 0 and 1"),
        ("trials.translocated", "trials.systemic", "systemic is not a known key"),
        ("[carry_over]", "[carried]", "carry_over is missing"),
    ],
)
def test_wrong_entries_are_named_at_their_line(
    folder: Path, old: str, new: str, words: str
) -> None:
    """A wrong name, stage, unit, range or key is said plainly, with its place."""
    path = folder / "silver_grass.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    found = faults(folder)
    assert any(words in each for each in found), found
    assert all(each.startswith(f"{path}:") for each in found)


def test_a_stage_twice_is_shown_at_the_second(folder: Path) -> None:
    """The line is that of the stage that comes again."""
    path = folder / "silver_grass.toml"
    text = path.read_text(encoding="utf-8")
    text = text.replace('stage = "watery"', 'stage = "heading"', 1)
    path.write_text(text, encoding="utf-8")
    second = text.index('stage = "heading"', text.index('stage = "heading"') + 1)
    line = text[:second].count("\n") + 1
    (found,) = faults(folder)
    assert found.startswith(f"{path}:{line}:")


def test_a_number_without_its_source_is_refused(folder: Path) -> None:
    """As in every other file."""
    path = folder / "silver_grass.toml"
    text = path.read_text(encoding="utf-8")
    at = text.index(', source = "Leys')
    end = text.index(", page", at)
    path.write_text(text[:at] + text[end:], encoding="utf-8")
    (found,) = faults(folder)
    assert "control.source is missing" in found


def test_a_file_for_an_unknown_weed_is_refused(folder: Path) -> None:
    """The weeds that are known are listed, and faults of all files come at once."""
    text = (folder / "capeweed.toml").read_text(encoding="utf-8")
    for name in ("thistle", "dock"):
        path = folder / f"{name}.toml"
        path.write_text(text.replace('"capeweed"', f'"{name}"'), encoding="utf-8")
    found = faults(folder)
    assert len(found) == 2
    assert 'weed = "dock" must be one of annual_ryegrass, barley_grass' in found[0]


def test_without_a_file_there_is_no_trial(tmp_path: Path) -> None:
    """A weed of one's own need not have one."""
    assert load_controls(tmp_path, WEEDS) == {}
