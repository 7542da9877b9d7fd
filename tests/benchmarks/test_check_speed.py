"""What a check of many paddocks costs, as a ratio to their outlooks one by one.

The baseline is the outlook of as many paddocks in the same run: the same weather, the
same steps, none of them shared. ``FORECASTER_BENCH=full`` takes 10,000 paddocks.
"""

from __future__ import annotations

import os
import shutil
from time import perf_counter
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.service.alerts.farm_check import check_farm
from forecaster.service.daily import outlook
from forecaster.service.wiring import farm_day
from forecaster.settings.shipped import demo_folder

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

PADDOCKS = 10_000 if os.environ.get("FORECASTER_BENCH") == "full" else 200
NOW = np.datetime64("2026-10-11T20:00:00", "s")
FEW = 10


def farm_of(folder: Path, paddocks: int) -> Path:
    """The demo's weather under so many paddocks, two actives each."""
    shutil.copytree(demo_folder(), folder)
    path = folder / "farm.toml"
    head = path.read_text(encoding="utf-8").split("[[paddock]]")[0]
    head = head.replace('map = "paddocks.geojson"\n', "")
    rows = "".join(
        f'[[paddock]]\nname = "Paddock {number}"\nhectares = {20 + number % 40}\n'
        "weeds = { silver_grass = 20 }\nnothing_near = true\n\n"
        for number in range(paddocks)
    )
    path.write_text(head + rows, encoding="utf-8")
    (folder / "looks.jsonl").unlink()
    return folder


@pytest.mark.benchmark
def test_a_check_of_many_paddocks(
    tmp_path: Path, measured: Callable[[str], None]
) -> None:
    """Sharing what paddocks have in common makes a check several times quicker."""
    begun = perf_counter()
    day, _ = farm_day(farm_of(tmp_path / "few", FEW), None, None)
    outlook(day)
    each = (perf_counter() - begun) / FEW
    many = farm_of(tmp_path / "many", PADDOCKS)
    times = []
    for _ in range(2):
        begun = perf_counter()
        result = check_farm(many, lambda: NOW)
        times.append((perf_counter() - begun) / PADDOCKS)
        assert result.counts["windows"] == 2 * PADDOCKS
    measured(
        f"outlook {1000 * each:.1f} ms a paddock; check of {PADDOCKS:,} first "
        f"{times[0] / each:.3f}, later {times[1] / each:.3f} of that"
    )
    assert times[1] < each
