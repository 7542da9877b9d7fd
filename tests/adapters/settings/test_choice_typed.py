"""Facts for the choice in a farm file: how they arrive, and what is wrong with them.

The sound farm has 32 lines; the demo weather stands at 12 October 2026.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from forecaster.domain.choice.facts import Clover, CloverStage, Resists
from forecaster.errors import SettingsError
from forecaster.settings.choice import load_choice
from forecaster.settings.farm import load_farm
from forecaster.settings.shipped import config_folder

if TYPE_CHECKING:
    from pathlib import Path

FACTS = """
[paddock.sward]
clover = "wanted"
clover_stage = "flowering"
perennials_per_m2 = 6
established = true

[paddock.choice]
feed_short = true
resistance = { glyphosate = "suspected" }
last_springs = ["glyphosate", "hay"]
"""


def test_what_is_typed_arrives(spoil: Any) -> None:
    """The last paddock has its facts; the first has none."""
    farm = load_farm(spoil("", FACTS))
    typed = farm.paddocks[-1].typed
    assert typed.sward.clover is Clover.WANTED
    assert typed.sward.clover_stage is CloverStage.FLOWERING
    assert typed.sward.perennials_per_m2 == 6
    assert typed.sward.age_months == inf
    assert typed.feed_short is True
    assert typed.resists == {"glyphosate": Resists.SUSPECTED}
    assert typed.last_springs == ("glyphosate", "hay")
    bare = farm.paddocks[0].typed
    assert bare.sward.clover is None
    assert bare.feed_short is None
    assert bare.last_springs is None


def test_weights_name_the_weed_that_matters_most(spoil: Any) -> None:
    """Half the share at three times the harm counts for more."""
    paddock = """
[[paddock]]
name = "Third"
hectares = 10
weeds = { barley_grass = 20, brome_grass = 10 }

[weights.brome_grass]
harm = 3
because = "seedy lambs"
"""
    third = load_farm(spoil("", paddock)).paddocks[-1]
    assert third.target == "brome_grass"
    assert not third.typed.picked


def test_a_date_of_sowing_arrives(spoil: Any) -> None:
    """As a day."""
    farm = load_farm(spoil("", "\n[paddock.sward]\nperennials_sown = 2026-04-20\n"))
    assert farm.paddocks[-1].typed.sown == np.datetime64("2026-04-20", "D")


WRONG = [
    ('[paddock.sward]\nclover = "some"', 'clover = "some"'),
    ("[paddock.sward]\nperennials_per_m2 = 900", "perennials_per_m2"),
    ("[paddock.sward]\nclovers = 1", "clovers is not a known key"),
    (
        "[paddock.sward]\nestablished = true\nperennials_sown = 2026-04-20",
        "type the date alone",
    ),
    ('[paddock.choice]\nresistance = { glyphosat = "confirmed" }', "did you mean"),
    ('[paddock.choice]\nlast_springs = ["glyfosate"]', "glyfosate"),
    ('[paddock.choice]\nfeed_short = "yes"', "true or false"),
    ("[weights.barley]\nharm = 2\nbecause = 'wool'", "barley"),
    ("[weights.barley_grass]\nharm = 0\nbecause = 'wool'", "harm"),
    ("[weights.barley_grass]\nharm = 2", "because is missing"),
]


@pytest.mark.parametrize(("text", "said"), WRONG)
def test_each_fault_is_told_at_its_place(spoil: Any, text: str, said: str) -> None:
    """After the 32 sound lines and an empty one."""
    with pytest.raises(SettingsError) as caught:
        load_farm(spoil("", f"\n{text}\n"))
    (fault,) = caught.value.faults
    assert said in fault.message
    assert fault.line > 32


def test_a_sowing_in_the_future_is_refused(spoil: Any) -> None:
    """Once the day is known."""
    import datetime as dt

    farm = load_farm(spoil("", "\n[paddock.sward]\nperennials_sown = 2026-12-01\n"))
    today = dt.date(2026, 10, 12)
    with pytest.raises(SettingsError, match="in the future"):
        farm.on(today, today)


SPOILT = [
    ('conditions = ["no_label"]', 'conditions = ["no_lable"]', "no_lable"),
    ('id = "1"\n', 'id = "0"\n', "second row"),
    (
        'kind = "stop"\nconditions = ["all_hard"]',
        'kind = "choose"\nconditions = ["all_hard"]',
        "about an active",
    ),
    (
        'kind = "bar"\neach = true\nconditions = ["no_label"]',
        'kind = "stop"\neach = true\nconditions = ["no_label"]',
        "about the paddock",
    ),
    ('answer = "no go"\n', "", "every other row has"),
    ('"medic_translocated", "clover_contact"]', '"medik"]', "medik"),
]


@pytest.mark.parametrize(("old", "new", "said"), SPOILT)
def test_a_spoilt_table_is_refused(
    tmp_path: Path, old: str, new: str, said: str
) -> None:
    """The table is data somebody may change: each slip is told."""
    text = (config_folder() / "choice.toml").read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "choice.toml"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(SettingsError, match=said):
        load_choice(path)
