"""The relay and the check on a made-up farm, with channels that fail in every way."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import driver
import numpy as np
import pytest

from forecaster.domain.alerts.letter import Fate, Letter, Outcome
from forecaster.domain.alerts.messages import Way
from forecaster.domain.alerts.records import Change, Rank, Sending
from forecaster.render import alert_text
from forecaster.render.phone import fits
from forecaster.service.alerts import emergency
from forecaster.service.alerts import log as log_module
from forecaster.service.alerts.check import Check, Result
from forecaster.service.alerts.log import Log
from forecaster.store.ledger import Ledger

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from forecaster.service.alerts.sight import Sight

HOUR = np.timedelta64(3600, "s")
ACCEPTED = Outcome(Fate.ACCEPTED)


@dataclass
class Channel:
    """Answers as told; remembers what it accepted."""

    name: str
    answer: Callable[[Letter], Outcome] = lambda _: ACCEPTED
    letters: list[Letter] = field(default_factory=list)

    def send(self, letter: Letter, deadline_s: float) -> Outcome:
        """Answer."""
        del deadline_s
        outcome = self.answer(letter)
        if outcome.fate is Fate.ACCEPTED:
            self.letters.append(letter)
        return outcome

    def probe(self, deadline_s: float) -> Outcome:
        """Answer."""
        del deadline_s
        return ACCEPTED


@dataclass
class Farm:
    """A farm whose checks can be run one by one."""

    folder: Path
    channels: list[Channel]
    ways: tuple[Way, ...]
    now: np.datetime64 = driver.START
    quiet: tuple[dt.time, dt.time] | None = None

    def check(self, sight: Sight | None = None) -> Result:
        """One check."""
        begin, end = self.quiet or (None, None)
        post = replace(
            driver.post(self.folder), ways=self.ways, quiet_from=begin, quiet_to=end,
            channels={each.name: each for each in self.channels},
        )  # fmt: skip
        seen = sight or driver.sight_at(self.now, self.step)
        with Ledger.open(self.folder, self.now) as ledger:
            log = Log(None, self.now)
            check = Check(ledger, post, driver.RULES, lambda: self.now, log)
            return check.run(lambda _: seen)

    @property
    def step(self) -> int:
        """Days from the start."""
        return int((self.now - driver.START) / driver.DAY)

    def later(self, hours: float) -> Farm:
        """Time passes."""
        self.now = self.now + np.timedelta64(round(hours * 3600), "s")
        return self

    def deliveries(self, **which: Sending) -> dict[tuple[str, str], str]:
        """Rank and channel of each delivery, and how it stands."""
        with Ledger.open(self.folder, self.now) as ledger:
            rows = ledger.deliveries(**which)
            told = ledger.messages([each.message for each in rows])
            return {
                (told[each.message].rank.value, each.channel): each.note
                for each in rows
            }


def farm(folder: Path, *channels: Channel, **ways: Way) -> Farm:
    """All channels for everything, unless told otherwise."""
    plain = tuple(
        ways.get(each.name, Way(each.name, driver.RANKS)) for each in channels
    )
    return Farm(folder, list(channels), plain)


def later(_: Letter) -> Outcome:
    """Down."""
    return Outcome(Fate.LATER, "down")


def never(_: Letter) -> Outcome:
    """Refused for good."""
    return Outcome(Fate.NEVER, "refused")


def broken(_: Letter) -> Outcome:
    """A fault of the channel's own."""
    raise RuntimeError("token=hunter2")


def test_each_channel_lives_its_own_life(tmp_path: Path) -> None:
    """E24, F36: one that fails, or raises, stops no other and is tried again."""
    bad, good = Channel("bad", broken), Channel("good")
    here = farm(tmp_path, bad, good)
    here.check()
    here.later(24 * 3).check()
    assert good.letters
    notes = here.deliveries(state=Sending.WAITING)
    assert any("RuntimeError" in note for note in notes.values())
    assert not any("hunter2" in note for note in notes.values())
    bad.answer = lambda _: ACCEPTED
    result = here.later(24).check()
    assert len(bad.letters) >= len(good.letters) - 2
    assert result.counts["waiting"] == 0


def test_a_poisoned_message_stops_no_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Poison: it is dead, the check says so, the next one goes out."""
    right = alert_text.letter

    def poison(news, key):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
        if news.rank is Rank.URGENT:
            raise ValueError("poison")
        return right(news, key)

    monkeypatch.setattr(alert_text, "letter", poison)
    phone = Channel("phone")
    here = farm(tmp_path, phone)
    here.check()
    result = here.later(24 * 4).check()
    assert {each.rank for each in phone.letters} >= {Rank.PUSH}
    dead = here.deliveries(state=Sending.DEAD)
    assert [note for (rank, _), note in dead.items() if rank == "urgent"]
    assert "a message that no channel took" in result.wanting
    assert result.exit == 75


def test_escalation(tmp_path: Path) -> None:
    """A push that the first channel refuses goes to the next at once."""
    first, second = Channel("first", never), Channel("second")
    here = farm(tmp_path, first, second)
    here.check()
    assert [each.rank for each in second.letters] == [Rank.PUSH]


def test_a_channel_that_is_down_gives_way_after_half_an_hour(tmp_path: Path) -> None:
    """And what was accepted elsewhere is called off."""
    first, second = Channel("first", later), Channel("second")
    here = farm(tmp_path, first, second)
    here.check()
    assert second.letters == []
    here.later(0.6).check()
    assert [each.rank for each in second.letters] == [Rank.PUSH]
    first.answer = lambda _: ACCEPTED
    here.later(1).check()
    assert [each.rank for each in first.letters] == [Rank.PUSH]


def test_the_second_contact_is_asked_after_two_hours(tmp_path: Path) -> None:
    """Only where nobody was reached."""
    own, other = Channel("own", later), Channel("other")
    here = farm(tmp_path, own, other, other=Way("other", driver.RANKS, second=True))
    here.check()
    here.later(1.9).check()
    assert other.letters == []
    here.later(0.2).check()
    assert len(other.letters) == 1


def test_quiet_hours_hold_and_the_morning_sends(tmp_path: Path) -> None:
    """A push waits until they end; a file is not kept waiting."""
    phone, shed = Channel("phone"), Channel("shed")
    here = farm(tmp_path, phone, shed, shed=Way("shed", driver.RANKS, silent=True))
    here.quiet = (dt.time(6, 30), dt.time(9, 0))  # the start is 06:00, AEST
    here.later(1).check()
    assert (len(phone.letters), len(shed.letters)) == (0, 1)
    assert here.deliveries(state=Sending.WAITING) == {("push", "phone"): "hold.quiet"}
    here.later(2.5).check()
    assert len(phone.letters) == 1


def test_what_was_sprayed_meanwhile_is_not_told(tmp_path: Path) -> None:
    """T10: queued messages for it are cancelled, with the reason."""
    phone = Channel("phone", later)
    here = farm(tmp_path, phone)
    here.later(24).check()
    seen = driver.sight_at(here.later(1).now, 1)
    assert seen.windows is not None
    done = tuple(replace(each, sprayed=True) for each in seen.windows)
    here.check(replace(seen, windows=done))
    # The first message also says that this is the first check: that part stays.
    events = [each.change for each in _events(here) if each.change is Change.SPRAYED]
    assert len(events) == 4
    phone.answer = lambda _: ACCEPTED
    here.later(24).check()
    assert not any("open" in each.title for each in phone.letters)


def _events(here: Farm) -> list:  # type: ignore[type-arg]
    with Ledger.open(here.folder, here.now) as ledger:
        return ledger.events()


def test_of_several_digests_the_newest_holds_all(tmp_path: Path) -> None:
    """E42: days offline end in one digest."""
    phone = Channel("phone", later)
    here = farm(tmp_path, phone)
    for _ in range(5):
        here.check()
        here.later(24)
    phone.answer = lambda _: ACCEPTED
    here.check()
    digests = [each for each in phone.letters if each.rank is Rank.DIGEST]
    assert len(digests) == 1
    assert "marked sprayed" in digests[0].text


def test_a_second_look_is_asked_for_once_in_a_digest(tmp_path: Path) -> None:
    """A sprayed paddock asks in the morning, wakes nobody, and asks once."""
    phone = Channel("phone")
    here = farm(tmp_path, phone)
    for _ in range(9):
        here.check()
        here.later(24)
    asked = [each for each in phone.letters if "second look due" in each.text]
    assert [each.rank for each in asked] == [Rank.DIGEST]
    assert "woolshed: second look due" in asked[0].text
    assert "count heads that escaped" in asked[0].text


def test_undelivered_messages_are_told_with_the_close(tmp_path: Path) -> None:
    """E37: the close says that earlier ones did not get through."""
    phone = Channel("phone", later)
    here = farm(tmp_path, phone)
    for _ in range(7):
        here.check()
        here.later(24)
    phone.answer = lambda _: ACCEPTED
    here.check()
    closed = [each for each in phone.letters if "closed" in each.title]
    assert closed
    assert any("could not be delivered" in each.text for each in closed)


def test_no_message_tells_hours_on_old_weather(tmp_path: Path) -> None:
    """A false good costs a drift claim."""
    phone = Channel("phone")
    here = farm(tmp_path, phone)
    here.later(24).check()
    phone.letters.clear()
    seen = driver.sight_at(here.later(24 * 2).now, 1)
    old = replace(seen.farm, issued=here.now - 40 * HOUR)
    result = here.check(replace(seen, farm=old))
    assert result.exit == 69
    texts = "\n".join(each.text for each in phone.letters)
    assert "I HAVE NO WEATHER" in texts
    assert "holds" not in texts
    assert "CANNOT BE JUDGED" in texts
    assert "Weather 40 h old" in texts


def test_phones_get_160_characters(tmp_path: Path) -> None:
    """3GPP TS 23.040: one short message."""
    phone = Channel("phone")
    here = farm(tmp_path, phone)
    for _ in range(9):
        here.check()
        here.later(24)
    assert len(phone.letters) > 6
    for each in phone.letters:
        assert 0 < len(each.short) <= 160
        assert fits(each.short)
        assert "\n" not in each.short
        if "Check at the site" not in each.short:
            assert " km/h" not in each.short


def test_the_log_is_bounded_and_says_why(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One JSON object a line; five files, turned when they are large."""
    assert log_module.LARGEST == 2 * 1024 * 1024
    monkeypatch.setattr(log_module, "LARGEST", 1000)
    for _ in range(30):
        log = Log(tmp_path, driver.START)
        for _ in range(5):
            log.say("windows", why="same.open", windows=3)
        log.write()
    paths = sorted(tmp_path.iterdir())
    assert len(paths) == log_module.FILES == 5
    for path in paths:
        lines = [json.loads(line) for line in path.read_text().splitlines()]
        assert {each["why"] for each in lines} == {"same.open"}
        assert path.stat().st_size < 3000


@pytest.mark.parametrize(("hour", "told"), [(6, 2), (7, 0), (18, 2), (12, 0)])
def test_the_emergency_path(tmp_path: Path, hour: int, told: int) -> None:
    """Nothing can be kept: said in two hours of the day, to all that still work."""
    channels = [Channel("a"), Channel("b", broken), Channel("c")]
    post = replace(
        driver.post(tmp_path), channels={each.name: each for each in channels}
    )
    # Melbourne is ten hours ahead of UTC on 1 October.
    moment = np.datetime64("2026-10-01T00:00:00", "s") + (hour - 10) * HOUR
    assert emergency.cry_out(post, moment, "no room") == told
    assert len(channels[0].letters) == (1 if told else 0)
