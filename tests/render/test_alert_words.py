"""Words of the alerts: what stands against spraying is said instead of hours."""

from __future__ import annotations

from dataclasses import replace

import pytest
from scene import KEY, NOW, kept, reading

from forecaster.domain.alerts.news import Item
from forecaster.domain.alerts.records import Change, Event, Phase, Rank
from forecaster.domain.alerts.sending import SINCE
from forecaster.render import alert_words
from forecaster.render.phone_fit import Part
from forecaster.render.words import LocalClock

CLOCK = LocalClock("Australia/Melbourne")
AGAINST = "heads are uneven, do not spray on their mean"


@pytest.mark.parametrize("change", sorted(SINCE))
def test_what_a_sprayed_paddock_asks_for_names_no_hours(change: Change) -> None:
    """What to do stands in the text; no block, and no date of the window."""
    event = Event("k", change, Rank.DIGEST, NOW, NOW, KEY)
    item = Item((event,), kept(Phase.CLOSED, sprayed=True), reading(-9, -2))
    full = "\n".join(alert_words.lines(item, CLOCK, usable=True))
    assert f"Back Road: {alert_words.head(item)}" in full
    feed = {Change.SOAKED, Change.GOES_OFF}
    assert ("graze it soon" in full) is (change in feed)
    assert ("keep it out" in full) is (change is Change.STOCK_EARLY)
    assert ("count heads that escaped" in full) is (change is Change.LOOK_AGAIN)
    assert not alert_words.tells_hours(item, usable=True)
    assert "13 Oct" not in full


@pytest.mark.parametrize("phase", [Phase.OPEN, Phase.CLOSING])
def test_uneven_heads_are_told_instead_of_hours(phase: Phase) -> None:
    """In full, in the digest's line and on the phone; never a block."""
    free = reading(-1, 5)
    held = replace(free, blocks=(), against=AGAINST)
    for mine, named in ((free, True), (held, False)):
        item = Item((), kept(phase), mine)
        full = "\n".join(alert_words.lines(item, CLOCK, usable=True))
        line = alert_words.standing(item, CLOCK, usable=True)
        phone = alert_words.phone_parts(item, CLOCK, Part("", 9), usable=True)
        brief = " ".join(part.words for part in phone)
        assert alert_words.tells_hours(item, usable=True) is named
        for said in (full, line, brief):
            assert (AGAINST in said) is not named
            assert ("13 Oct" in said) is named
