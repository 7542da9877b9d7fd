"""What a sprayed paddock asks for; its spans are common practice, no source."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from forecaster.domain.growth.look import Look, LookClass
from forecaster.domain.growth.stage import Stage
from forecaster.domain.planning.stock_off import Stay
from forecaster.domain.record.after_spray import AfterSpray, Due, Escaped, escaped
from forecaster.domain.record.keeping import Keeping, RainAfter, Soaked


def day(text: str) -> np.datetime64:
    """A day of spring 2026."""
    return np.datetime64(f"2026-{text}", "D")


def after(today: str, soaked: Soaked = Soaked.NO, **other: Any) -> AfterSpray:
    """Sprayed on 14 October with seven days typed; a soaking ends it on 27 October."""
    held = (day("11-11"), day("11-25"))
    if soaked is not Soaked.NO:
        held = (day("10-27"), day("10-27"))
    told: dict[str, Any] = {
        "today": day(today),
        "sprayed": day("10-14"),
        "recorded": None,
        "not_before": day("10-22"),
        "look_again": (day("10-28"), day("11-04")),
        "escaped": (),
        "keeping": Keeping(held, RainAfter(soaked, None, 0.0, 0)),
    }
    return AfterSpray(**(told | other))


def found(late: int, ripe: int) -> tuple[Escaped, ...]:
    """One count."""
    return (Escaped("Silver grass", day("10-29"), late, ripe),)


@pytest.mark.parametrize(
    ("state", "due"),
    [
        (after("10-27"), ()),
        (after("10-28"), (Due.LOOK_AGAIN,)),
        (after("11-10"), (Due.LOOK_AGAIN,)),
        (after("11-25"), (Due.LOOK_AGAIN, Due.GOES_OFF)),
        (after("11-26"), ()),
        (after("10-29", escaped=found(0, 0), looked=True), ()),
        (after("11-11", escaped=found(3, 0), looked=True), (Due.GOES_OFF,)),
        (after("11-11"), (Due.LOOK_AGAIN, Due.GOES_OFF)),
        (after("11-25", escaped=found(0, 0), looked=True), (Due.GOES_OFF,)),
        (after("11-26", escaped=found(0, 0), looked=True), ()),
        (after("10-20", Soaked.FELL), (Due.SOAKED,)),
        (after("10-27", Soaked.FELL), (Due.SOAKED,)),
        (after("10-20", Soaked.AHEAD), ()),
        (after("10-28", Soaked.FELL), (Due.LOOK_AGAIN,)),
    ],
)
def test_what_is_due(state: AfterSpray, due: tuple[Due, ...]) -> None:
    """A look until somebody counted; feed until its last day; no forecast rain."""
    assert state.due == due


def test_a_count_of_another_weed_is_no_second_look() -> None:
    """Its late heads count; that it has none says nothing of the target."""
    other = after("10-29", escaped=found(0, 3))
    assert (other.due, other.late_heads) == ((Due.LOOK_AGAIN,), None)
    late = after("10-29", escaped=found(1, 3))
    assert (late.due, late.late_heads) == ((Due.LOOK_AGAIN,), True)


@pytest.mark.parametrize(
    ("start", "end", "early"),
    [
        ("10-20", "10-25", True),
        ("10-21", "10-21", True),
        ("10-22", "10-30", False),
        ("10-01", "10-15", True),
        ("10-01", "10-14", False),
    ],
)
def test_mobs_before_the_first_day_for_stock_clash(
    start: str, end: str, *, early: bool
) -> None:
    """Sprayed on the 14th, stock from the 22nd; out on the day of the spray is out."""
    stays = (Stay("Ewes", 900.0, day(start), day(end)),)
    state = after("10-15", stays=stays)
    assert bool(state.too_early) is early
    assert (Due.STOCK_EARLY in state.due) is early
    assert Due.STOCK_EARLY not in after("10-22", stays=stays).due
    unknown = after("10-15", stays=stays, not_before=None)
    assert bool(unknown.too_early) is (end != "10-14")


def test_stock_wait_for_the_day_and_for_a_day_that_is_known() -> None:
    """Day and label come before all else."""
    assert not after("10-21").may_graze
    assert after("10-22").may_graze
    assert not after("12-22", not_before=None).may_graze


def test_late_heads() -> None:
    """Not known until somebody counted; heads whose seed is set are late no more."""
    assert after("10-29").late_heads is None
    assert after("10-29", escaped=found(0, 9), looked=True).late_heads is False
    assert after("10-29", escaped=found(1, 9), looked=True).late_heads is True


@pytest.mark.parametrize(
    ("counts", "late", "ripe"),
    [
        (((None, 4), (Stage.HEADING, 6)), 10, 0),
        (((Stage.HEADING, 0),), 0, 0),
        (((Stage.HEADING, 5), (Stage.SOFT_DOUGH, 3), (Stage.HARD_DOUGH, 2)), 8, 2),
        (((Stage.HARD_DOUGH, 7),), 0, 7),
    ],
)
def test_heads_before_hard_dough_can_still_be_stopped(
    counts: tuple[tuple[LookClass, int], ...], late: int, ripe: int
) -> None:
    """The class of hard dough holds what is set; all before it is late."""
    look = Look("a", "Back Road", "silver_grass", np.datetime64("2026-10-29"), counts)
    made = escaped(look, "Silver grass", day("10-29"))
    assert (made.late, made.ripe, made.heads) == (late, ripe, late + ripe)
