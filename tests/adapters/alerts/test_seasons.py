"""Paddocks that leave and come back, a new season, and channels that stay silent."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import driver
import numpy as np
from test_relay import Channel, Farm, farm

from forecaster.domain.alerts.messages import Way
from forecaster.domain.alerts.records import Change, Rank
from forecaster.store.ledger import Ledger

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.alerts.records import Event
    from forecaster.service.alerts.sight import Sight


def events(here: Farm, change: Change) -> list[Event]:
    """All events of one kind."""
    with Ledger.open(here.folder, here.now) as ledger:
        return [each for each in ledger.events() if each.change is change]


def without(sight: Sight, paddock: str) -> Sight:
    """The same farm without one paddock."""
    left = [each for each in sight.windows or () if each.paddock != paddock]
    return replace(sight, windows=tuple(left))


def test_a_paddock_that_leaves_and_comes_back(tmp_path: Path) -> None:
    """T15, E21: told once; back, it is a new epoch and opens anew."""
    here = farm(tmp_path, Channel("phone"))
    here.check()
    here.later(24).check(without(driver.sight_at(here.now, here.step), "back-road"))
    here.later(24).check(without(driver.sight_at(here.now, here.step), "back-road"))
    (gone,) = events(here, Change.RETIRED)
    assert gone.window is not None
    assert gone.window.paddock == "back-road"
    here.later(24).check()
    with Ledger.open(tmp_path, here.now) as ledger:
        kept = ledger.windows(2026)[gone.window]
    assert (kept.retired, kept.epoch) == (False, 2)
    opened = [e for e in events(here, Change.OPENED) if e.window == gone.window]
    assert [each.epoch for each in opened] == [2]


def test_a_new_season_lists_what_was_not_sprayed(tmp_path: Path) -> None:
    """T16, E18: once, in the digest; the season is the reading's, not the date's."""
    phone = Channel("phone")
    here = farm(tmp_path, phone)
    for _ in range(5):
        here.check()
        here.later(24)
    seen = driver.sight_at(here.now, here.step)
    windows = tuple(
        replace(each, key=each.key._replace(season=2027), sprayed=False)
        for each in seen.windows or ()
    )
    new = replace(seen, farm=replace(seen.farm, season=2027), windows=windows)
    here.check(new)
    missed = {e.window.paddock for e in events(here, Change.NOT_SPRAYED) if e.window}
    assert missed == {"back-road", "creek-flat", "house"}
    assert any("closed, not marked sprayed" in each.text for each in phone.letters)
    here.later(24)
    later = replace(new.farm, now=here.now, issued=here.now)
    here.check(replace(new, farm=later))
    assert len(events(here, Change.NOT_SPRAYED)) == 3


def test_a_channel_that_stays_silent_is_tried_out_each_week(tmp_path: Path) -> None:
    """2.9: its absence is the only thing a farm without a watcher can notice."""
    urgent = Way("phone", frozenset({Rank.URGENT}))
    phone, mail = Channel("phone"), Channel("mail")
    here = farm(tmp_path, phone, mail, phone=urgent)
    for _ in range(22):
        seen = driver.sight_at(here.now, 0)
        calm = tuple(
            replace(
                each, open=each.open._replace(likely=here.now + 60 * driver.DAY),
                close=each.close._replace(likely=here.now + 70 * driver.DAY),
                close_soon=None,
            )
            for each in seen.windows or ()
        )  # fmt: skip
        here.check(
            replace(
                seen, windows=calm,
                farm=replace(seen.farm, issued=here.now - np.timedelta64(3600, "s")),
            )
        )  # fmt: skip
        here.later(24)
    tests = [each for each in phone.letters if each.rank is Rank.RECEIPT]
    assert len(tests) == 3
    assert all("test" in each.title for each in tests)
