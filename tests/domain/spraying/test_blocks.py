"""Runs of hours."""

from __future__ import annotations

import numpy as np
import pytest

from forecaster.domain.sourced import Mark, Sourced
from forecaster.domain.spraying import blocks
from forecaster.domain.spraying.hours import judge
from forecaster.domain.spraying.limits import Limit, Quantity, Rank, Side, Verdict


@pytest.mark.parametrize(
    ("flags", "expected"),
    [
        ("", []),
        ("....", []),
        ("####", [(0, 4)]),
        ("#..#", [(0, 1), (3, 4)]),
        (".##.#", [(1, 3), (4, 5)]),
    ],
)
def test_runs_are_maximal(flags: str, expected: list[tuple[int, int]]) -> None:
    """Drawn as # and dots, read off by eye."""
    assert (
        blocks.runs(np.array([flag == "#" for flag in flags], dtype=bool)) == expected
    )


def test_a_block_knows_what_ends_it() -> None:
    """At the ends of the table nothing does; inside, the neighbouring hour."""
    found = blocks.of(np.array([True, True, False, True, False, True]))
    assert [(b.before, b.first, b.end, b.after, b.hours) for b in found] == [
        (None, 0, 2, 2, 2),
        (2, 3, 4, 4, 1),
        (4, 5, 6, None, 1),
    ]


def test_blocks_are_of_one_verdict() -> None:
    """Good and hold hours make each their own blocks."""
    number = Sourced(5, "m/s", 5, 5, "a test", "a page", Mark.ASSUMED)
    limit = Limit("w", Quantity.WIND_10M, Side.MAX, 5.0, number, Rank.LAW, "wind", 1.0)
    times = np.arange(4).astype("datetime64[h]").astype("datetime64[s]")
    judged = judge(times, np.array([[1.0, 9.0, 9.0, 1.0]]), [limit])
    assert [(b.first, b.end) for b in blocks.find(judged)] == [(0, 1), (3, 4)]
    assert [(b.first, b.end) for b in blocks.find(judged, Verdict.HOLD)] == [(1, 3)]
