"""``config/grazing.toml`` as shipped, and what is said of a faulty one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from forecaster.domain.sourced import Mark
from forecaster.errors import SettingsError
from forecaster.settings.grazing import load_grazing
from forecaster.settings.shipped import config_folder

if TYPE_CHECKING:
    from pathlib import Path

SHIPPED = config_folder() / "grazing.toml"


def test_every_effect_is_marked_assumed() -> None:
    """No amount was found published, so none may claim to be."""
    numbers = load_grazing(SHIPPED)
    for change in (numbers.even, numbers.late, numbers.uneven):
        assert change.spread.mark is Mark.ASSUMED
        assert change.later.mark is Mark.ASSUMED


def test_spell_and_stocking_are_the_trade_s() -> None:
    """Two of three are common practice, one is published.

    14–21 days and 1 kg a day: common practice, no source. 30–40 DSE/ha: WeedSmart,
    grazing strategies (published, seen in excerpt).
    """
    numbers = load_grazing(SHIPPED)
    assert (numbers.spell_shortest.value, numbers.spell_longest.value) == (14, 21)
    assert (numbers.stocking_least.value, numbers.stocking_most.value) == (30, 40)
    assert numbers.intake.value == 1


FAULTS = [
    ("value = 0.75, ", "", "even.spread.value is missing"),
    ('value = 20, unit = "degC d"', 'value = 20, unit = "d"', 'must be "degC d"'),
    ("value = 14, unit", "value = 22, unit", "must not be above longest 21"),
    ("value = 30, unit", "value = 41, unit", "must not be above most 40"),
    ("[spell]", "[spel]", "did you mean spell?"),
]


@pytest.mark.parametrize(("old", "new", "said"), FAULTS)
def test_a_faulty_file_is_told_at_its_place(
    tmp_path: Path, old: str, new: str, said: str
) -> None:
    """A part missing, a wrong unit, ends swapped, a misspelt table."""
    text = SHIPPED.read_text(encoding="utf-8")
    assert old in text
    spoilt = text.replace(old, new, 1)
    if "must not be above" in said:
        spoilt = spoilt.replace("high = 14", "high = 30").replace(
            "high = 30, mark", "high = 50, mark"
        )
    path = tmp_path / "grazing.toml"
    path.write_text(spoilt, encoding="utf-8")
    with pytest.raises(SettingsError) as caught:
        load_grazing(path)
    told = [str(fault) for fault in caught.value.faults]
    assert any(said in each and each.startswith(f"{path}:") for each in told)
