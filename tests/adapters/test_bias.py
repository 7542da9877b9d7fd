"""A known bias is found, shrunk and capped."""

from __future__ import annotations

import numpy as np
import pytest

from forecaster.sources.bias import bias_of, without_bias
from forecaster.sources.days_table import DaysTable


def table(first: str, days: int, tmax: float, tmin: float) -> DaysTable:
    """Steady days."""
    day = np.datetime64(first) + np.arange(days)
    return DaysTable(day, np.full(days, tmax), np.full(days, tmin), np.zeros(days))


def test_a_month_of_shared_days_is_mostly_believed() -> None:
    """30 days 1.5 K too warm: 1.5 × 30 / (30 + 15) = 1.0 K; other months nothing."""
    bias = bias_of(
        table("2026-06-01", 30, 15.5, 4.0), table("2026-06-01", 30, 14.0, 4.0)
    )
    assert bias.tmax[5] == pytest.approx(1.0)
    assert bias.tmin[5] == 0.0
    assert bias.days.tolist() == [0, 0, 0, 0, 0, 30, 0, 0, 0, 0, 0, 0]
    assert np.count_nonzero(bias.tmax) == 1
    assert bias.largest == pytest.approx(1.0)


def test_only_shared_and_known_days_count() -> None:
    """Ten shared days, one of them unknown: nine."""
    record = table("2026-06-21", 30, 14.0, 4.0)
    holed = record.tmax.copy()
    holed[0] = np.nan
    record = DaysTable(record.day, holed, record.tmin, record.rain)
    bias = bias_of(table("2026-06-01", 30, 15.5, 4.0), record)
    assert bias.days[5] == 9
    assert bias.tmax[5] == pytest.approx(1.5 * 9 / 24)


def test_a_huge_difference_is_capped() -> None:
    """30 K off is a wrong station; no more than 3 K is taken away."""
    bias = bias_of(table("2026-06-01", 30, 45, 4), table("2026-06-01", 30, 15, 4))
    assert bias.tmax[5] == 3.0


def test_no_shared_days_leave_the_source_alone() -> None:
    """Nothing in common, nothing corrected."""
    source = table("2026-06-01", 30, 15, 4)
    bias = bias_of(source, table("2020-06-01", 30, 10, 4))
    assert not bias.days.any()
    same = without_bias(source, bias)
    np.testing.assert_array_equal(same.tmax, source.tmax)


def test_taking_the_bias_away_brings_the_source_to_the_record() -> None:
    """After correction a long shared stretch differs by the shrinkage only."""
    source, record = table("2025-01-01", 365, 16, 5), table("2025-01-01", 365, 14, 6)
    mended = without_bias(source, bias_of(source, record))
    july = slice(181, 212)
    np.testing.assert_allclose(mended.tmax[july], 16 - 2 * 31 / 46)
    np.testing.assert_allclose(mended.tmin[july], 5 + 1 * 31 / 46)
