"""Which recorded sprays close a window: our own rule, assumed."""

from __future__ import annotations

import pytest

from forecaster.domain.record.topping import southern_month, tops


@pytest.mark.parametrize(
    ("month", "heads_out", "closes"),
    [
        (5, None, False),
        (7, None, False),
        (8, None, True),
        (12, None, True),
        (1, None, False),
        (6, True, True),
        (10, False, False),
    ],
)
def test_the_stage_goes_before_the_month(
    month: int, heads_out: bool | None, *, closes: bool
) -> None:
    """From August on, or with heads out whenever."""
    assert tops(month, heads_out=heads_out, first_month=8) is closes


def test_months_turn_over_north_of_the_equator() -> None:
    """February there is August here, December June."""
    assert [southern_month(each, southern=True) for each in (1, 8)] == [1, 8]
    north = [southern_month(each, southern=False) for each in (1, 2, 6, 7, 12)]
    assert north == [7, 8, 12, 1, 6]
