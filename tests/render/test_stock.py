"""Stock off in words; the dates are counted on a calendar."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from forecaster.domain.planning.stock_off import Heading, Spell, Stay, stock_off
from forecaster.render.stock_text import stock_off_words


def day(text: str) -> np.datetime64:
    """A date of 2026."""
    return np.datetime64(f"2026-{text}", "D")


HEADING = Heading(day("10-20"), day("10-24"), day("10-28"))
EWES = Stay("Ewes", 900.0, day("09-01"), day("10-20"))


def said(today: str, heading: Heading = HEADING, *, stock_on: bool = True) -> str:
    """The line of a paddock with a spell of 14 to 21 days, common practice."""
    off = stock_off(
        heading, day(today), Spell(14, 21), stock_on=stock_on, stays=(EWES,)
    )
    return stock_off_words(replace(off, clashes=off.clashes[:1]))


def test_overdue_with_its_clash() -> None:
    """24 October less three and two weeks; the 12th is two days past the 10th."""
    assert said("10-12") == (
        "3 to 10 Oct (heading 24 Oct, 20 to 28 Oct): OVERDUE by 2 days; CLASH: Ewes "
        "planned here until 20 Oct"
    )


@pytest.mark.parametrize(
    ("today", "words"),
    [
        ("09-22", "not yet"),
        ("09-23", "soon, within 10 days"),
        ("09-30", "soon, within 3 days"),
        ("10-03", "DUE NOW, 7 days left"),
        ("10-09", "DUE NOW, 1 day left"),
        ("10-10", "DUE NOW, the last day is today"),
        ("10-11", "OVERDUE by 1 day"),
        ("10-24", "too late to even the heads: they are out, with stock on"),
    ],
)
def test_each_status_in_words(today: str, words: str) -> None:
    """On its day."""
    assert f": {words}" in said(today)


def test_no_stock_is_said() -> None:
    """Never *overdue* where none is known."""
    assert ": no stock known here" in said("10-12", stock_on=False)


def test_bands_across_the_end_of_a_month() -> None:
    """1 October less 21 and 14 days is 10 and 17 September; 19 October, 28 and 5."""
    assert said("08-01", Heading(None, day("10-01"), None)).startswith(
        "10 to 17 Sep (heading 1 Oct, later to later)"
    )
    assert said("08-01", Heading(day("09-30"), day("10-19"), None)).startswith(
        "28 Sep to 5 Oct (heading 19 Oct, 30 Sep to later)"
    )
