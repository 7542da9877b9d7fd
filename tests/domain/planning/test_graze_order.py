"""Which paddock to graze next; the order is common practice, no source."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest

from forecaster.domain.planning.graze_order import (
    IN_ORDER,
    Facts,
    Place,
    Turn,
    order,
    turn_of,
)


def day(text: str) -> np.datetime64:
    """A day of spring 2026."""
    return np.datetime64(f"2026-{text}", "D")


TODAY = day("10-28")
HELD = (day("11-11"), day("11-25"))
TOPPED: dict[str, Any] = {
    "sprayed": True, "not_before": day("10-22"), "held": HELD, "ripe": day("11-12"),
}  # fmt: skip


@pytest.mark.parametrize(
    ("facts", "wanted"),
    [
        (Facts(**TOPPED), Turn(Place.KEEPS, day("11-11"))),
        (Facts(**TOPPED, soaked=True), Turn(Place.GOING, day("11-25"))),
        (Facts(**{**TOPPED, "held": (TODAY - 9, TODAY)}), Turn(Place.GOING, TODAY)),
        (Facts(**{**TOPPED, "held": (TODAY - 9, TODAY - 1)}), Turn(Place.GONE, None)),
        (Facts(**{**TOPPED, "held": (TODAY, HELD[1])}), Turn(Place.GOING, HELD[1])),
        (Facts(**TOPPED, late_heads=True), Turn(Place.LATE_HEADS, None)),
        (Facts(**TOPPED, late_heads=True, soaked=True),
         Turn(Place.LATE_HEADS, None)),
        (Facts(**{**TOPPED, "not_before": None}), Turn(Place.READ_LABEL, None)),
        (Facts(**{**TOPPED, "not_before": day("10-29")}, late_heads=True),
         Turn(Place.WAITS, day("10-29"), Place.LATE_HEADS)),
        (Facts(**{**TOPPED, "not_before": TODAY}), Turn(Place.KEEPS, HELD[0])),
        (Facts(**TOPPED, toxic=True), Turn(Place.TOXIC, None)),
        (Facts(**TOPPED, known=False, toxic=True), Turn(Place.UNKNOWN, None)),
        (Facts(**{**TOPPED, "held": None}), Turn(Place.KEEPS, None)),
        (Facts(sprayed=False, to_spray=True), Turn(Place.TO_SPRAY, None)),
        (Facts(sprayed=False, ripe=day("11-12")), Turn(Place.RIPENING, day("11-12"))),
        (Facts(sprayed=False, toxic=True), Turn(Place.TOXIC, None)),
    ],
)  # fmt: skip
def test_where_a_paddock_stands(facts: Facts, wanted: Turn) -> None:
    """The first rule that fits; no rule lets stock in before the label's days."""
    assert turn_of(facts, TODAY) == wanted


def test_nothing_is_grazed_before_its_day_or_with_toxic_heads() -> None:
    """Every mix of facts: in the order stand only paddocks that may be grazed."""
    flags = itertools.product([True, False], repeat=6)
    days = [None, TODAY - 1, TODAY, TODAY + 1]
    for (sprayed, known, toxic, to_spray, late, soaked), first in itertools.product(
        flags, days
    ):
        facts = Facts(
            sprayed, known, toxic, to_spray, late, first, HELD, soaked, HELD[0]
        )
        if turn_of(facts, TODAY).place in IN_ORDER:
            assert known
            assert not toxic
            assert (first is not None and first <= TODAY) if sprayed else not to_spray


def test_the_order() -> None:
    """Late heads, going off, ripening, keeps, gone; the sooner day first, none last."""
    turns = [
        Turn(Place.WAITS, TODAY), Turn(Place.KEEPS, HELD[0]),
        Turn(Place.RIPENING, None), Turn(Place.GOING, HELD[1]),
        Turn(Place.RIPENING, HELD[0]),
        Turn(Place.LATE_HEADS, None), Turn(Place.GOING, HELD[0]),
        Turn(Place.GONE, None),
    ]  # fmt: skip
    assert order(turns) == [5, 6, 3, 4, 2, 1, 7, 0]
    assert order([turns[0], turns[0]]) == [0, 1]
