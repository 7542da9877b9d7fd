"""Looks in words: what a count cannot say is not said."""

from __future__ import annotations

import numpy as np

from forecaster.domain.growth.look import Look
from forecaster.domain.growth.look_log import LookEntry, LookLog
from forecaster.domain.growth.stage import Stage
from forecaster.render.look_log_text import listing, understood
from forecaster.render.words import WIDTH, LocalClock
from forecaster.settings.looks import read_look_numbers
from forecaster.settings.shipped import config_folder

MOMENT = np.datetime64("2026-10-11T01:00", "s")
CLOCK = LocalClock("Australia/Melbourne")
ENOUGH = read_look_numbers(config_folder() / "looks.toml").enough


def test_a_count_that_told_nothing_apart_has_no_share() -> None:
    """A line written by hand may hold *not out* alone."""
    look = Look("a", "Hill", "oak", MOMENT, ((None, 5),), "J")
    assert understood(look, "Oak", CLOCK, ENOUGH) == [
        "Hill, Oak, Sun 11 Oct 2026 12:00 AEDT, by J",
        "5 heads: 5 not out",
    ]


def test_no_line_is_wider_than_the_screen() -> None:
    """The longest name and note are wrapped."""
    words = " ".join(["word"] * 15)
    counts = tuple((stage, 1000) for stage in Stage)
    look = Look("a", words, "oak", MOMENT, counts, words, words * 3, words)
    log = LookLog((LookEntry(look, (), MOMENT),), (words * 3,))
    lines = [
        *understood(look, "Oak", CLOCK, ENOUGH),
        *listing(log, {}, CLOCK).splitlines(),
    ]
    assert max(map(len, lines)) <= WIDTH
