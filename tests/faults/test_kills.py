"""Checks killed at random moments, two at once, and a clock that jumps."""

from __future__ import annotations

import os
import random
import shutil
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

import driver
import harness
import history
import numpy as np
import pytest

from forecaster.service.alerts.check import Check
from forecaster.service.alerts.log import Log
from forecaster.store.ledger import Ledger
from forecaster.store.one_check import alone

if TYPE_CHECKING:
    from pathlib import Path

FULL = os.environ.get("FORECASTER_FAULTS") == "full"
KILLS = 1000 if FULL else 12
STARTS = 200 if FULL else 5
LONGEST_S = 0.45
"""A check takes about a quarter of a second, most of it to start."""


def test_random_kills_lose_nothing(tmp_path: Path) -> None:
    """F2: killed at any moment, step after step: nothing lost, one copy a kill."""
    dice = random.Random(20261004)
    landed = farms = 0
    while landed < KILLS:
        farm = tmp_path / f"farm{farms}"
        farm.mkdir()
        farms += 1
        crashes = 0
        for step in range(driver.STEPS - 1):
            for _ in range(3):
                process = harness.start(farm, step)
                crashes += harness.kill_after(process, dice.uniform(0.05, LONGEST_S))
                if process.returncode == 0:
                    break
            harness.until_through(farm, step)
        # What a killed check had claimed is free again at the last one, a day on.
        harness.whole(farm, driver.STEPS - 1)
        verdict = history.judge(farm, crashes=crashes)
        assert not verdict, f"farm {farms} after {crashes} kills: {verdict}"
        landed += crashes
        shutil.rmtree(farm)


def test_two_checks_at_once_send_once(tmp_path: Path) -> None:
    """F11: three checks begun together: each message goes out once."""
    for number in range(STARTS):
        farm = tmp_path / f"farm{number}"
        farm.mkdir()
        for step in range(2):
            with ThreadPoolExecutor(3) as pool:
                started = [pool.submit(harness.start, farm, step) for _ in range(3)]
                for each in started:
                    each.result().wait(60)
            harness.until_through(farm, step)
        harness.whole(farm, 2)
        assert not history.judge(farm, crashes=0)
        shutil.rmtree(farm)


def test_lock_of_a_killed_check_is_free_at_once(tmp_path: Path) -> None:
    """F12: the system lets go of the lock; no file has to be cleaned up."""
    farm = tmp_path / "farm"
    farm.mkdir()
    process = harness.start(farm, 0)
    state = farm / ".alerts"
    while not (state / "lock.since").exists() and process.poll() is None:
        pass
    process.kill()
    process.wait()
    with alone(state, driver.moment(0)):
        pass


def _check(farm: Path, now: np.datetime64, step: int) -> None:
    state = farm / ".alerts"
    with alone(state, now), Ledger.open(state, now) as ledger:
        check = Check(
            ledger, driver.post(farm), driver.RULES, lambda: now, Log(None, now)
        )
        check.run(lambda _: driver.sight_at(now, step))


@pytest.mark.parametrize(
    "wrong",
    [
        np.timedelta64(-3600, "s"),
        np.timedelta64(-86_400, "s"),
        np.timedelta64(-20_000 * 86_400, "s"),
    ],
    ids=["an hour back", "a day back", "1971"],
)
def test_a_clock_set_back_changes_no_window(
    tmp_path: Path, wrong: np.timedelta64
) -> None:
    """F25: a clock behind what was kept moves no window; put right, all goes on."""
    farm = harness.begun(tmp_path / "farm", 3)
    with Ledger.open(farm / ".alerts", driver.moment(3)) as ledger:
        before = ledger.windows(2026)
    _check(farm, driver.moment(2) + wrong, 2)
    with Ledger.open(farm / ".alerts", driver.moment(3)) as ledger:
        assert ledger.windows(2026) == before
        told = {each.change.value for each in ledger.events()}
    assert "clock wrong" in told
    harness.whole(farm, 3)
    lost = history.judge(farm, crashes=0).lost
    assert not lost


@pytest.mark.parametrize("year", [2038, 2100])
def test_a_clock_far_ahead_closes_nothing(tmp_path: Path, year: int) -> None:
    """F25: the weather does not reach so far: no weather, and no close for good."""
    farm = harness.begun(tmp_path / "farm", 3)
    with Ledger.open(farm / ".alerts", driver.moment(3)) as ledger:
        before = ledger.windows(2026)
    _check(farm, np.datetime64(f"{year}-01-19T03:14:08", "s"), -1)
    with Ledger.open(farm / ".alerts", driver.moment(3)) as ledger:
        assert ledger.windows(2026) == before
        told = {each.change.value for each in ledger.events()}
    assert "no weather" in told
    assert "not marked sprayed" not in told
    harness.whole(farm, 3)
    assert not history.judge(farm, crashes=0).lost
