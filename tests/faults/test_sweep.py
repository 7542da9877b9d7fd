"""A check killed, or refused by the disk, at each call that changes what is kept.

The order "commit, send, mark" is that of the transactional outbox; that each system
call is struck in turn is how SQLite tests itself (its documentation, "How SQLite Is
Tested", on anomaly testing).
"""

from __future__ import annotations

import os
import shutil
from typing import TYPE_CHECKING

import driver
import harness
import history
import pytest

if TYPE_CHECKING:
    from pathlib import Path

FULL = os.environ.get("FORECASTER_FAULTS") == "full"
STEP = 3
"""The step that is struck: windows open and close in it, and one is sprayed."""
MOST = 400
pytestmark = pytest.mark.skipif(
    harness.STRACE is None, reason="strace is not installed"
)


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A farm just before the step that is struck."""
    return harness.begun(tmp_path_factory.mktemp("sweep") / "farm", STEP)


def _sweep(begun: Path, folder: Path, blow: str, *, after: str = "", every: int) -> int:
    """Strike every call in turn; the number of blows that landed."""
    landed = 0
    for call in harness.CALLS:
        for number in range(1, MOST, 1 if FULL else every):
            farm = folder / f"{call}-{number}"
            shutil.copytree(begun, farm)
            if not harness.struck(farm, STEP, call, f"{number}{after}", blow):
                break
            landed += 1
            harness.until_through(farm, STEP)
            harness.whole(farm, STEP + 1)
            verdict = history.judge(farm, crashes=1)
            assert not verdict, f"{blow} at {call} {number}: {verdict}"
            shutil.rmtree(farm)
    return landed


def test_no_kill_loses_anything(begun: Path, tmp_path: Path) -> None:
    """F1: killed at the n-th write, sync, rename …: nothing lost, one copy more."""
    landed = _sweep(begun, tmp_path, "signal=KILL", every=15)
    assert landed >= (100 if FULL else 10), f"only {landed} kills landed"


@pytest.mark.parametrize("error", ["ENOSPC", "EIO"])
@pytest.mark.parametrize("after", ["", "+"], ids=["once", "for ever"])
def test_no_refusal_loses_anything(
    begun: Path, tmp_path: Path, error: str, after: str
) -> None:
    """F5, F6: no room, or a failing disk, at the n-th call: nothing lost."""
    landed = _sweep(begun, tmp_path, f"error={error}", after=after, every=40)
    assert landed >= (100 if FULL else 5), f"only {landed} refusals landed"


def test_checker_sees_a_loss(tmp_path: Path) -> None:
    """The checker itself: a message taken out of the sink is missed."""
    farm = harness.begun(tmp_path / "farm", driver.STEPS)
    assert not history.judge(farm, crashes=0)
    sink = farm / "phone.sink"
    lines = sink.read_text().splitlines()
    sink.write_text("\n".join(lines[1:]) + "\n")
    assert history.judge(farm, crashes=0).lost
    sink.write_text("\n".join([*lines, lines[0]]) + "\n")
    assert history.judge(farm, crashes=0).doubled
    assert not history.judge(farm, crashes=1).doubled
