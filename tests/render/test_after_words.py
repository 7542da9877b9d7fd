"""Words for a paddock since its spray; the days are those of the calendar."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from forecaster.domain.record.after_spray import AfterSpray, Escaped
from forecaster.domain.record.keeping import Keeping, RainAfter, Soaked
from forecaster.render import after_words
from forecaster.render.words import LocalClock

CLOCK = LocalClock("Australia/Melbourne")


def day(text: str) -> np.datetime64:
    """A day of 2026."""
    return np.datetime64(f"2026-{text}", "D")


DRY = Keeping((day("11-11"), day("11-25")), RainAfter(Soaked.NO, None, 0.0, 0))
STATE = AfterSpray(
    today=day("10-20"),
    sprayed=day("10-14"),
    recorded=None,
    not_before=day("10-22"),
    look_again=(day("10-28"), day("11-04")),
    escaped=(),
    keeping=DRY,
)
FELL = np.datetime64("2026-10-25T15:00", "s")
"""Monday 26 October, 02:00 at the farm."""
WET = Keeping((day("11-02"), day("11-02")), RainAfter(Soaked.FELL, FELL, 30.0, 0))


@pytest.mark.parametrize(
    ("today", "said"),
    [
        ("10-27", "second look 28 Oct to 4 Nov"),
        ("10-28", "second look DUE (28 Oct to 4 Nov): count heads that escaped"),
        ("11-04", "second look DUE (28 Oct to 4 Nov): count heads that escaped"),
        ("11-05", "second look OVERDUE (28 Oct to 4 Nov): count heads that escaped"),
        ("11-26", "second look 28 Oct to 4 Nov: nobody counted"),
    ],
)
def test_the_second_look(today: str, said: str) -> None:
    """Asked for from its first day until three weeks after its last."""
    assert after_words.look_again_words(replace(STATE, today=day(today))) == said


@pytest.mark.parametrize(
    ("late", "ripe", "said"),
    [
        (0, 0, "no head of silver grass escaped"),
        (0, 3, "seed is set"),
        (2, 3, "of 5 heads of silver grass counted 29 Oct 2 can still be stopped: a "),
    ],
)
def test_what_escaped(late: int, ripe: int, said: str) -> None:
    """What is left to do is named only where something is."""
    found = Escaped("Silver grass", day("10-29"), late, ripe)
    words = after_words.look_again_words(replace(STATE, escaped=(found,)))
    assert said in words
    assert ("second pass" in words) is bool(late)


def test_feed_and_a_soaking() -> None:
    """A soaking is named by its local day and ends the span on one."""
    dry = after_words.feed_words(STATE, CLOCK)
    assert dry == "its feed goes off between 11 Nov and 25 Nov (assumed)"
    wet = after_words.feed_words(replace(STATE, keeping=WET), CLOCK)
    assert wet == "SOAKED Mon 26 Oct; its feed goes off by 2 Nov (assumed)"


@pytest.mark.parametrize(
    ("changes", "order", "rest"),
    [
        ({}, "Nothing to spray", "stock not before Thu 22 Oct"),
        ({"not_before": None}, "Nothing to spray", "read your label before stock"),
        ({"today": day("10-27"), "keeping": WET}, "Graze it soon", "feed goes off"),
        (
            {"today": day("10-27"), "keeping": WET, "not_before": day("10-28")},
            "Nothing to spray",
            "stock not before Wed 28 Oct",
        ),
        ({"today": day("10-28")}, "Second look", "escaped; stock not before Thu 22"),
        (
            {"escaped": (Escaped("Silver grass", day("10-29"), 2, 0),)},
            "Stop the late heads",
            "hard grazing, or leave them; stock not before Thu 22 Oct",
        ),
    ],
)
def test_what_is_next(changes: dict[str, Any], order: str, rest: str) -> None:
    """No grazing is asked for before the days of the label are over."""
    found, more = after_words.next_words(replace(STATE, **changes))
    assert found == order
    assert rest in more
