"""Springs running with one active, counted by hand."""

from __future__ import annotations

import pytest

from forecaster.domain.result.spring_clock import Advice, candidates, running, ticks


@pytest.mark.parametrize(
    ("years", "latest", "run"),
    [
        ({2023, 2024, 2025}, 2025, 3),
        ({2023, 2024, 2025}, 2026, 3),
        ({2023, 2024, 2025, 2026}, 2026, 4),
        ({2023, 2025}, 2025, 1),
        ({2021, 2022, 2023}, 2025, 0),
        (set(), 2025, 0),
    ],
)
def test_springs_running_to_the_last_one(
    years: set[int], latest: int, run: int
) -> None:
    """A spring that has begun without a spray yet does not break a run."""
    assert running(years, latest) == run


def test_a_test_is_asked_for_at_three_springs_and_named_at_two() -> None:
    """Three is assumed; the longest run comes first, twice is once."""
    past = [(year, "glyphosate") for year in (2023, 2024, 2025, 2025)]
    past += [(2024, "paraquat"), (2025, "paraquat"), (2020, "other")]
    ours = ticks("Creek", past, 2025)
    assert [(e.active, e.run, e.advice) for e in ours] == [
        ("glyphosate", 3, Advice.TEST),
        ("paraquat", 2, Advice.ONE_MORE),
        ("other", 0, Advice.NONE),
    ]
    assert ours[0].years == (2023, 2024, 2025)
    assert ticks("Creek", [], 2025) == ()


def test_years_that_a_record_holds_are_told_apart() -> None:
    """By active, oldest first."""
    past = [(2024, "glyphosate"), (2025, "glyphosate"), (2025, "paraquat")]
    held = [(2025, "paraquat"), (2025, "glyphosate")]
    ours = ticks("Creek", past, 2025, held)
    assert [each.recorded for each in ours] == [(2025,), (2025,)]
    assert ours[0].years == (2024, 2025)
    assert ticks("Creek", past, 2025)[0].recorded == ()


def test_candidates_by_share_times_seedlings_and_the_uncounted_by_share() -> None:
    """10 · 90 = 900 before 45 · 10 = 450; none found is still counted."""
    shares = {
        ("A", "w"): 45.0, ("B", "w"): 10.0, ("C", "w"): 5.0, ("D", "w"): 30.0,
        ("E", "w"): 20.0,
    }  # fmt: skip
    seen = {("A", "w"): (2025, 10.0), ("B", "w"): (2025, 90.0), ("E", "w"): (2024, 0.0)}
    ours = candidates(shares, seen)
    assert [each.paddock for each in ours] == ["B", "A", "E", "D", "C"]
    assert [each.rank for each in ours] == [900.0, 450.0, 0.0, None, None]
