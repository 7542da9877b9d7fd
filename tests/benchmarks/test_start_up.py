"""What a cold start costs, as a ratio to importing pandas in the same minute."""

from __future__ import annotations

import subprocess
import sys
import time
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable

RUNS = 5


def seconds(*arguments: str) -> float:
    """Wall time of one fresh process."""
    start = time.perf_counter()
    subprocess.run([sys.executable, *arguments], check=True, capture_output=True)
    return time.perf_counter() - start


@pytest.mark.benchmark
def test_cold_demo_outlook_against_importing_pandas(
    measured: Callable[[str], None],
) -> None:
    """The demo outlook, cold, costs at most three times ``import pandas``."""
    pandas, outlook, help_text = [], [], []
    for _ in range(RUNS):
        pandas.append(seconds("-c", "import pandas"))
        outlook.append(seconds("-m", "forecaster", "outlook"))
        help_text.append(seconds("-m", "forecaster", "--help"))
    # What else the machine does only ever slows a run: the quickest tells the most.
    base = min(pandas)
    ratio = min(outlook) / base
    measured(
        f"baseline import pandas 1.00 ({base:.2f} s); demo outlook {ratio:.2f}; "
        f"--help {min(help_text) / base:.2f}"
    )
    assert ratio <= 3.0
