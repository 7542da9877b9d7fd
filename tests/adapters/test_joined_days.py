"""Days of several records in one table, each value with its origin."""

from __future__ import annotations

import numpy as np

from forecaster.sources.days_table import DayOrigin, DaysTable
from forecaster.sources.joined_days import joined, warmth_known, wholly_known

NAN = np.nan


def table(
    first: str,
    tmax: list[float],
    tmin: list[float],
    rain: list[float],
    origin: DayOrigin = DayOrigin.UNSTATED,
) -> DaysTable:
    """A few days."""
    day = np.datetime64(first) + np.arange(len(tmax))
    made = DaysTable(day, np.array(tmax), np.array(tmin), np.array(rain))
    return made.said_to_be_from(origin)


def test_both_extremes_of_a_day_are_of_one_record() -> None:
    """A maximum without its minimum gives way to the second record's two."""
    first = table("2026-05-01", [20, 21], [8, NAN], [NAN, 1], DayOrigin.SILO)
    second = table("2026-05-01", [15, 16], [3, 4], [7, 8], DayOrigin.ARCHIVE)
    both = joined([first, second])
    assert both.tmax.tolist() == [20, 16]
    assert both.tmin.tolist() == [8, 4]
    assert both.rain.tolist() == [7, 1]
    assert both.warmth_from.tolist() == [DayOrigin.SILO, DayOrigin.ARCHIVE]
    assert both.rain_from.tolist() == [DayOrigin.ARCHIVE, DayOrigin.SILO]


def test_days_between_records_are_missing_and_from_none() -> None:
    """Two years apart, in whatever order they are given."""
    late = table("2026-05-04", [20], [8], [1], DayOrigin.ARCHIVE)
    early = table("2026-05-01", [10], [2], [0], DayOrigin.ARCHIVE)
    both = joined([late, early])
    assert [str(day) for day in both.day[[0, -1]]] == ["2026-05-01", "2026-05-04"]
    np.testing.assert_array_equal(both.tmax, [10, NAN, NAN, 20])
    assert both.warmth_from.tolist() == [2, 0, 0, 2]


def test_a_cut_keeps_each_day_s_origin() -> None:
    """The days between two dates, with their codes; one code serves a whole table."""
    both = joined(
        [
            table("2026-05-01", [20], [8], [1], DayOrigin.SILO),
            table("2026-05-02", [20], [8], [1], DayOrigin.ARCHIVE),
        ]
    )
    cut = both.between(np.datetime64("2026-05-02"), np.datetime64("2026-05-03"))
    assert cut.warmth_from.tolist() == [DayOrigin.ARCHIVE]
    plain = table("2026-05-01", [20, 21], [8, 9], [1, 1])
    assert plain.warmth_from.tolist() == [DayOrigin.UNSTATED] * 2


def test_known_days_need_both_extremes_and_wholly_known_ones_rain_too() -> None:
    """One value missing is enough."""
    days = table("2026-05-01", [20, NAN, 20, 20], [8, 8, NAN, 8], [1, 1, 1, NAN])
    assert warmth_known(days).tolist() == [True, False, False, True]
    assert wholly_known(days).tolist() == [True, False, False, False]
