"""The limits we ship, and what is said of a faulty file."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from forecaster.domain.sourced import Mark
from forecaster.domain.spraying.limits import Quantity, Rank, Side, Verdict
from forecaster.errors import SettingsError
from forecaster.settings.limits import MODES, load_limits
from forecaster.settings.shipped import config_folder

SHIPPED = config_folder() / "limits"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the shipped files to spoil."""
    return Path(shutil.copytree(SHIPPED, tmp_path / "limits"))


def spoil(folder: Path, pattern: str, new: str) -> Path:
    """Change the table of the advised wind maximum."""
    path = folder / "wind.toml"
    text = path.read_text(encoding="utf-8")
    at = text.index("[wind_top_advice]")
    changed, count = re.subn(pattern, new, text[at:], count=1)
    assert count == 1
    changed = re.sub(r",\s*}", " }", changed, count=1)  # no comma before a }
    path.write_text(text[:at] + changed, encoding="utf-8")
    return path


def fault(folder: Path) -> str:
    """The one fault of the folder."""
    with pytest.raises(SettingsError) as caught:
        load_limits(folder)
    (found,) = caught.value.faults
    return str(found)


def test_every_shipped_limit_says_where_it_comes_from() -> None:
    """A source, a page and a mark that no user typed; the bound is in its range."""
    for limits in load_limits(SHIPPED).values():
        assert len(limits) >= 15
        for limit in limits:
            stated = limit.stated
            assert stated.low <= stated.value <= stated.high
            assert stated.source
            assert stated.page
            assert stated.mark is not Mark.USER
            assert limit.error > 0


def test_a_limit_arrives_in_the_units_of_the_model() -> None:
    """15 km/h is 15 / 3.6 m/s; the source's own figure is kept beside it."""
    limits = {limit.id: limit for limit in load_limits(SHIPPED)["contact"]}
    top = limits["wind_top_advice"]
    assert (top.quantity, top.side, top.rank) == (
        Quantity.WIND_10M,
        Side.MAX,
        Rank.ADVICE,
    )
    assert (top.stated.value, top.stated.unit) == (15, "km/h")
    assert top.bound == pytest.approx(15 / 3.6)
    assert limits["gust_advice"].on_missing is not Verdict.UNKNOWN
    assert limits["wind_side"].rank is Rank.LAW


def test_a_limit_of_one_mode_is_not_in_the_other() -> None:
    """Recent frost slows a translocated active only, as its file says."""
    ids = {
        mode: {each.id for each in found}
        for mode, found in load_limits(SHIPPED).items()
    }
    assert set(ids) == set(MODES)
    assert "frost_recent" in ids["translocated"] - ids["contact"]


@pytest.mark.parametrize("number", ["bound", "error"])
@pytest.mark.parametrize(
    "part", ["value", "unit", "low", "high", "source", "page", "mark"]
)
def test_a_number_without_one_of_its_parts_is_refused(
    folder: Path, number: str, part: str
) -> None:
    """A bare or unsourced limit never loads; the fault is at its line."""
    path = spoil(
        folder, rf'(?m)^({number} = .*?)\b{part} = ("[^"]*"|[\d.]+)(, )?', r"\1"
    )
    at = path.read_text(encoding="utf-8").index("[wind_top_advice]")
    before = path.read_text(encoding="utf-8")[:at].count("\n")
    found = fault(folder)
    assert f"wind_top_advice.{number}.{part} is missing" in found
    line = int(found.removeprefix(f"{path}:").split(":")[0])
    assert path.read_text(encoding="utf-8").split("\n")[line - 1].startswith(number)
    assert line > before


@pytest.mark.parametrize(
    ("pattern", "new", "said"),
    [
        (r'15, unit = "km/h"', '15, unit = "knots"', "stated in km/h or m/s, not 'kn"),
        (r'(error = .*?)"km/h"', r'\1"K"', "stated in km/h or m/s, not 'K'"),
        (r"value = 5, (.*?)low = 3", r"value = 0, \1low = 0", "error must be above 0"),
        (r'"wind_10m"', '"wind_9m"', "quantity = \"wind_9m\": allowed is 'wind_10m'"),
        (r'side = "max"', 'side = "top"', "side = \"top\": allowed is 'min'"),
        (r'rank = "advice"', 'rank = "hint"', 'rank = "hint": allowed is \'law or'),
        (r'words = ".*?"', 'words = "x"', 'words = "x": allowed is 3 or more'),
        (r"value = 15", "value = 99", "value 99 must lie between low 15 and high 20"),
        (r'rank = "adv', 'modes = []\nrank = "adv', "modes: allowed is 1 or more"),
        (r'rank = "adv', 'modes = ["both"]\nrank = "adv', "allowed is 'translocated'"),
        (r'rank = "adv', 'missing = "ok"\nrank = "adv', "allowed is 'pass over'"),
        (r'rank = "advice"', 'rank = "law or label"', "is only for the wind side"),
        (r"side =", "sides =", "did you mean side?"),
        (r"side =", "side = side =", "not TOML"),
    ],
)
def test_wrong_entries_are_named(
    folder: Path, pattern: str, new: str, said: str
) -> None:
    """A wrong unit, quantity, side, rank, mode, range or key is said plainly."""
    path = spoil(folder, pattern, new)
    with pytest.raises(SettingsError) as caught:
        load_limits(folder)
    assert said in str(caught.value)
    assert f"{path}:" in str(caught.value)


def test_a_limit_named_twice_is_refused(folder: Path) -> None:
    """The second file is told where the first stands."""
    text = (folder / "rain.toml").read_text(encoding="utf-8")
    path = folder / "zz.toml"
    path.write_text(text[text.index("[wet_leaf]") :], encoding="utf-8")
    found = fault(folder)
    assert found.startswith(f"{path}:1:2: limit wet_leaf is already in ")
    assert str(folder / "rain.toml") in found


def test_an_empty_folder_is_refused(tmp_path: Path) -> None:
    """Without limits every hour would be good."""
    assert fault(tmp_path) == f"{tmp_path}: holds no limits (*.toml)"
