"""Forty hostile paddock names go through the alerts and come back as they were."""

from __future__ import annotations

import json
import shutil
import unicodedata
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hostile_names import HOSTILE

from forecaster.cli.main import exit_code
from forecaster.domain.alerts.records import WindowKey
from forecaster.service.alerts.farm_check import check_farm
from forecaster.settings.alerts import ids_of
from forecaster.settings.alerts_file import ID, RESERVED
from forecaster.settings.shipped import demo_folder
from forecaster.store.ledger import Ledger

if TYPE_CHECKING:
    from pathlib import Path

NOW = np.datetime64("2026-10-11T20:00:00", "s")


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    """The demo's weather under paddocks of these names."""
    folder = tmp_path / "farm"
    shutil.copytree(demo_folder(), folder)
    path = folder / "farm.toml"
    head = path.read_text(encoding="utf-8").split("[[paddock]]")[0]
    head = head.replace('map = "paddocks.geojson"\n', "")
    paddocks = "".join(
        f"[[paddock]]\nname = {json.dumps(name, ensure_ascii=False)}\nhectares = 30\n"
        'weeds = { silver_grass = 20 }\nactives = ["glyphosate"]\n'
        "nothing_near = true\n\n"
        for name in HOSTILE
    )
    path.write_text(head + paddocks, encoding="utf-8")
    (folder / "looks.jsonl").unlink()
    return folder


def test_names_come_back_equal(farm: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Out of the state, the messages and the history; no control code on the way."""
    assert check_farm(farm, lambda: NOW).exit == 0
    with Ledger.open(farm / ".alerts", NOW) as ledger:
        keys = list(ledger.windows(2026))
        assert {each.paddock for each in ledger.sights(keys).values()} == set(HOSTILE)
    check_farm(farm, lambda: NOW + np.timedelta64(24, "h"))
    text = (farm / "alerts.txt").read_text(encoding="utf-8")
    shown = [name for name in HOSTILE if f"{name}: " in text or f"- {name}, " in text]
    # A digest shows thirty windows in full and counts the rest.
    assert len(shown) >= 30
    argv = ["history", "--farm", str(farm), "--on", "2026-10-12", "--format", "json"]
    capsys.readouterr()
    assert exit_code(argv) == 0
    whole = capsys.readouterr().out
    found = json.dumps(json.loads(whole), ensure_ascii=False)
    for name in HOSTILE:
        assert json.dumps(name, ensure_ascii=False)[1:-1] in found, name
    argv[-1] = "text"
    assert exit_code(argv) == 0
    for letter in capsys.readouterr().out + text:
        assert letter == "\n" or unicodedata.category(letter) != "Cc"


def test_ids_are_plain_and_never_the_same() -> None:
    """R26: whatever the names are; a typed one is never taken."""
    names = [
        *HOSTILE,
        "Creek Flat",
        "creek flat.",
        "Creek-Flat",
        "CON",
        "com1",
        "x" * 80,
    ]
    typed = [(name, None) for name in names] + [("Other", "creek-flat")]
    ids = ids_of(typed)
    assert len(set(ids)) == len(ids)
    for each in ids:
        assert ID.fullmatch(each), each
        assert each not in RESERVED
    assert ids == ids_of(typed)
    assert str(WindowKey(2026, ids[0], "w", "a")).count("/") == 3
