"""Stock off, worked back from heading: the spell of 14 to 21 days.

Common practice, no source (an industry news item gives the same two to three weeks).
Dates are counted on a calendar.
"""

from __future__ import annotations

import numpy as np
import pytest

from forecaster.domain.planning.stock_off import (
    Band,
    ClashKind,
    Heading,
    Spell,
    Stay,
    StockStatus,
    band,
    stock_off,
)

SPELL = Spell(14, 21)


def day(text: str) -> np.datetime64:
    """A date of 2026, such as ``10-24``."""
    return np.datetime64(f"2026-{text}", "D")


HEADING = Heading(day("10-20"), day("10-24"), day("10-28"))
"""Half the heads out on 24 October, give or take four days."""


def stay(start: str, end: str, mob: str = "Ewes") -> Stay:
    """A stay of a mob of 1000 DSE."""
    return Stay(mob, 1000.0, day(start), day(end))


def test_the_band_is_two_to_three_weeks_before_heading() -> None:
    """24 October less 21 and 14 days is 3 and 10 October; so for early and late."""
    found = stock_off(HEADING, day("10-12"), SPELL, stock_on=True)
    assert found.likely == Band(day("10-03"), day("10-10"))
    assert found.early == Band(day("09-29"), day("10-06"))
    assert found.late == Band(day("10-07"), day("10-14"))


# 3 October less ten days is 23 September, less three is 30 September.
DAYS = [
    ("09-22", StockStatus.NOT_YET, None, 18),
    ("09-23", StockStatus.SOON, 10, 17),
    ("09-29", StockStatus.SOON, 10, 11),
    ("09-30", StockStatus.SOON, 3, 10),
    ("10-02", StockStatus.SOON, 3, 8),
    ("10-03", StockStatus.DUE, None, 7),
    ("10-10", StockStatus.DUE, None, 0),
    ("10-11", StockStatus.OVERDUE, None, -1),
    ("10-12", StockStatus.OVERDUE, None, -2),
    ("10-23", StockStatus.OVERDUE, None, -13),
    ("10-24", StockStatus.TOO_LATE, None, -14),
    ("11-20", StockStatus.TOO_LATE, None, -41),
]


@pytest.mark.parametrize(("today", "status", "alert", "left"), DAYS)
def test_each_day_has_its_status(
    *, today: str, status: StockStatus, alert: int | None, left: int
) -> None:
    """From long before to after heading, with stock in the paddock."""
    found = stock_off(HEADING, day(today), SPELL, stock_on=True)
    assert (found.status, found.alert, found.days_left) == (status, alert, left)


@pytest.mark.parametrize("today", ["09-23", "10-05", "10-12", "11-01"])
def test_no_stock_is_never_overdue(today: str) -> None:
    """The band is told, and no one is sent to fetch sheep that are not there."""
    found = stock_off(HEADING, day(today), SPELL, stock_on=False)
    assert found.status is StockStatus.NO_STOCK
    assert found.alert is None
    assert found.likely == Band(day("10-03"), day("10-10"))


@pytest.mark.parametrize("likely", [None, np.datetime64("NaT", "D")])
def test_an_unknown_heading_gives_no_band(likely: np.datetime64 | None) -> None:
    """Unknown, with the early one told where it is known."""
    heading = Heading(day("10-20"), likely, None)
    found = stock_off(
        heading, day("10-12"), SPELL, stock_on=True, stays=(stay("10-01", "10-20"),)
    )
    assert found.status is StockStatus.UNKNOWN
    assert found.likely is None
    assert found.late is None
    assert found.early == band(day("10-20"), SPELL)
    assert (found.days_left, found.clashes) == (None, ())


CLASHES = [
    ("leaves on the last day of the band", "09-01", "10-10", None),
    ("leaves a day later", "09-01", "10-11", ClashKind.STAYS),
    ("comes and goes inside the band", "10-04", "10-08", None),
    ("comes inside it and stays", "10-04", "10-12", ClashKind.STAYS),
    ("comes on its last day and stays", "10-10", "10-12", ClashKind.STAYS),
    ("comes the day after", "10-11", "10-12", ClashKind.ENTERS),
    ("comes on the last day of spraying", "11-05", "11-20", ClashKind.ENTERS),
    ("comes after spraying", "11-06", "11-20", None),
]


@pytest.mark.parametrize(
    ("start", "end", "kind"), [pytest.param(*row[1:], id=row[0]) for row in CLASHES]
)
def test_what_breaks_the_spell(start: str, end: str, kind: ClashKind | None) -> None:
    """Stock off by 10 October, spraying until 5 November; today is 1 September."""
    found = stock_off(
        HEADING,
        day("09-01"),
        SPELL,
        stock_on=False,
        stays=(stay(start, end),),
        spray_until=day("11-05"),
    )
    assert [each.kind for each in found.clashes] == ([] if kind is None else [kind])


def test_a_mob_that_came_after_stock_off_and_is_there_stays() -> None:
    """In since the 11th, today is the 12th: no longer a plan to come."""
    found = stock_off(
        HEADING, day("10-12"), SPELL, stock_on=True, stays=(stay("10-11", "10-20"),)
    )
    assert [each.kind for each in found.clashes] == [ClashKind.STAYS]


def test_stays_that_are_over_are_no_plans() -> None:
    """A mob gone on 11 October is no clash on the 12th; one that stays is."""
    gone, there = stay("09-01", "10-11"), stay("09-20", "10-20", "Wethers")
    found = stock_off(HEADING, day("10-12"), SPELL, stock_on=True, stays=(there, gone))
    assert [each.stay.mob for each in found.clashes] == ["Wethers"]


def test_two_mobs_in_one_paddock_are_listed_by_their_start() -> None:
    """Without a day for spraying, heading ends it."""
    stays = (stay("10-24", "10-30", "B"), stay("10-12", "10-13", "A"))
    more = (stay("10-25", "10-30", "C"),)
    found = stock_off(
        HEADING, day("10-01"), SPELL, stock_on=False, stays=(*stays, *more)
    )
    assert [each.stay.mob for each in found.clashes] == ["A", "B"]


def test_a_stay_covers_both_its_days() -> None:
    """First and last day included."""
    one = stay("10-03", "10-05")
    assert [one.covers(day(f"10-0{each}")) for each in range(2, 7)] == [
        False, True, True, True, False,
    ]  # fmt: skip
