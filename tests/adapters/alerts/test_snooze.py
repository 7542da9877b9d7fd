"""Quiet about a paddock: asked for, replaced, ended, and what comes through anyway.

Melbourne's clocks skip 02:00 to 03:00 on 4 October 2026 and repeat that hour on 4 April
2027 (IANA time-zone database, rule AV).
"""

from __future__ import annotations

from dataclasses import replace

import driver
import numpy as np
import pytest
from written import HOUSE, KEY, START, Writer, at

from forecaster.domain.alerts.farm_news import Past
from forecaster.domain.alerts.records import (
    Change,
    FarmKept,
    Kept,
    Phase,
    Rank,
    Snooze,
)
from forecaster.domain.alerts.snoozes import covers, in_force
from forecaster.errors import (
    BusyError,
    InputMissingError,
    StateError,
    UsageError,
)
from forecaster.render import snooze_text
from forecaster.service.alerts import snoozing
from forecaster.service.alerts.decisions import Before, decide_all
from forecaster.service.alerts.snoozing import Asked, end, listed, moment_typed, snooze
from forecaster.store.ledger import Ledger
from forecaster.store.one_check import alone

DAY = np.timedelta64(86_400, "s")
MELBOURNE = "Australia/Melbourne"
SKIPPED = "02:30 does not exist on that day; the later moment is meant"
TWICE = "02:30 comes twice on that day; the later moment is meant"


@pytest.fixture
def checked(own: Writer) -> Writer:
    """A farm that was checked once."""
    own.check(0, {KEY: "same.open"})
    return own


def kept(own: Writer, now: np.datetime64) -> list[Snooze]:
    """What is in force by the ledger a check opens."""
    with Ledger.open(own.state, now) as ledger:
        return ledger.snoozes(now)


def test_days_are_24_hours_and_all_actives_are_meant(checked: Writer) -> None:
    """Three days from Monday 07:07."""
    quiet = snooze(checked.farm, Asked("creek flat", days=3, by="Jo"), START)
    assert quiet.paddock == "Creek Flat"
    (found,) = kept(checked, START)
    assert found == Snooze("creek-flat", "", START, START + 3 * DAY, "Jo")
    assert covers(found, KEY)
    assert not covers(found, HOUSE)
    assert kept(checked, START + 3 * DAY) == []


def test_the_newest_of_a_paddock_and_active_counts(checked: Writer) -> None:
    """A shorter one replaces a longer one; another active is another snooze."""
    farm = checked.farm
    snooze(farm, Asked("Creek Flat", days=7), at(0))
    snooze(farm, Asked("Creek Flat", days=1), at(1))
    snooze(farm, Asked("Creek Flat", "paraquat", days=2), at(2))
    found = [(each.active, each.until) for each in kept(checked, at(3))]
    assert found == [("", at(25)), ("paraquat", at(50))]


def test_one_asked_for_later_does_not_count_yet() -> None:
    """A clock set back, or a look at the past."""
    late = Snooze("a", "", at(5), at(50))
    early = Snooze("a", "", at(0), at(20))
    assert in_force([early, late], at(1)) == [early]
    assert in_force([early, late], at(30)) == [late]


def test_end_ends_what_is_in_force(checked: Writer) -> None:
    """Of the paddock, or of one active; the others go on."""
    farm = checked.farm
    snooze(farm, Asked("House", "paraquat", days=2), at(0))
    snooze(farm, Asked("House", "glyphosate", days=2), at(0))
    snooze(farm, Asked("Creek Flat", days=2), at(0))
    (one,) = end(farm, Asked("House", "paraquat"), at(1))
    assert one.snooze.active == "paraquat"
    assert {each.snooze.active for each in listed(farm, at(1))} == {"glyphosate", ""}
    end(farm, Asked("House"), at(2))
    assert [each.paddock for each in listed(farm, at(2))] == ["Creek Flat"]
    with pytest.raises(UsageError, match="no snooze of House is in force"):
        end(farm, Asked("House"), at(3))
    with pytest.raises(UsageError, match="for all its actives"):
        end(farm, Asked("Creek Flat", "paraquat"), at(3))


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (Asked("Creek Flt", days=1), "did you mean Creek Flat"),
        (Asked("Creek Flat", "salt", days=1), "--active 'salt'"),
        (Asked("Creek Flat"), "until when"),
        (Asked("Creek Flat", days=1, until="2026-10-13"), "until when"),
        (Asked("Creek Flat", days=0), "allowed is 1 to 7"),
        (Asked("Creek Flat", days=8), "allowed is 1 to 7"),
        (Asked("Creek Flat", until="Friday"), "not a moment"),
        (Asked("Creek Flat", until="2026-10-12T07:07"), "has passed"),
        (Asked("Creek Flat", until="2026-10-19T07:08"), "more than 7 days off"),
        (Asked("Creek Flat", days=1, by=" "), "--by"),
    ],
)
def test_what_is_refused_and_nothing_kept(
    checked: Writer, asked: Asked, words: str
) -> None:
    """At most seven days, a known paddock, one end that is still to come."""
    with pytest.raises(UsageError, match=words):
        snooze(checked.farm, asked, START)
    assert kept(checked, START) == []


def test_seven_days_to_the_minute_are_allowed(checked: Writer) -> None:
    """Monday 07:07 to Monday 07:07."""
    quiet = snooze(checked.farm, Asked("House", until="2026-10-19T07:07"), START)
    assert quiet.snooze.until == START + 7 * DAY


@pytest.mark.parametrize(
    ("typed", "moment", "odd", "shown"),
    [
        ("2026-10-20T06:00", "2026-10-19T19:00", "", "06:00 AEDT (UTC+11:00)"),
        ("2026-10-04T02:30", "2026-10-03T16:30", SKIPPED, "03:30 AEDT (UTC+11:00)"),
        ("2027-04-04T02:30", "2027-04-03T16:30", TWICE, "02:30 AEST (UTC+10:00)"),
        ("2027-04-04T02:30+11:00", "2027-04-03T15:30", "", "02:30 AEDT (UTC+11:00)"),
    ],
)
def test_the_later_moment_with_its_offset(
    typed: str, moment: str, odd: str, shown: str
) -> None:
    """A time that is skipped or repeated is the later of the two it may mean."""
    found, said = moment_typed(typed, MELBOURNE)
    assert (found, said) == (np.datetime64(moment, "s"), odd)
    assert snooze_text.end_words(found, MELBOURNE).endswith(shown)


def test_what_is_said_of_it() -> None:
    """Its end, what is odd about that, and what comes through anyway."""
    made = Snooze("house", "glyphosate", START, START + DAY, "Jo")
    said = " ".join(snooze_text.made(made, "House", "02:30 is odd", MELBOURNE).split())
    assert said.startswith("House, glyphosate: quiet until Tue 13 Oct 2026 07:07 AEDT")
    assert "02:30 is odd. What is closing or closed" in said
    assert "asked for by Jo" in " ".join(
        snooze_text.listing([(made, "House")], MELBOURNE).split()
    )
    assert snooze_text.listing([], MELBOURNE) == "No snooze is in force.\n"
    assert "told again" in snooze_text.ended([(made, "House")])


def test_without_a_state_a_check_has_to_come_first(own: Writer) -> None:
    """Nothing is begun by a snooze."""
    with pytest.raises(InputMissingError, match="Run one"):
        snooze(own.farm, Asked("House", days=1), START)
    with pytest.raises(InputMissingError):
        listed(own.farm, START)
    with Ledger.open(own.state, START) as ledger:
        assert ledger.snoozes(START) == []


def test_damage_is_left_for_the_check_to_tell(checked: Writer) -> None:
    """A snooze neither mends a state nor hides that an older one was put back."""
    for hour in (1, 2):
        checked.check(hour, {})
    with Ledger.open(checked.state, START) as ledger:
        ledger._db.execute("DELETE FROM runs WHERE id > 1")
    with pytest.raises(StateError, match="older than it was"):
        snooze(checked.farm, Asked("House", days=1), at(3))


def test_it_waits_for_a_check_and_gives_up(
    checked: Writer, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Here for a tenth of a second in place of ten."""
    monkeypatch.setattr(snoozing, "WAIT_S", 0.1)
    with alone(checked.state, START), pytest.raises(BusyError, match="another check"):
        snooze(checked.farm, Asked("House", days=1), START)


def test_a_snoozed_window_that_closes_is_told_and_quiet_no_longer(
    checked: Writer,
) -> None:
    """Opened waits for the digest; hours found while it is closing do not."""
    key, name = driver.sight(0).windows[0].key, "back-road"  # type: ignore[index]
    quiet = Snooze(name, "", driver.START - DAY, driver.START + 9 * DAY)
    del checked

    def step(phase: Phase, number: int, **more: object) -> dict[Change, Rank]:
        kept = replace(Kept(key, phase, basis="b", source="made up"), **more)  # type: ignore[arg-type]
        before = Before(FarmKept(season=2026), {key: kept}, {}, [quiet], Past(), "i", 1)
        after = decide_all(before, driver.sight(number), driver.RULES)
        return {each.change: each.rank for each in after.events if each.window == key}

    assert step(Phase.NOT_OPEN, 1) == {Change.SOON: Rank.DIGEST,
                                       Change.OPENED: Rank.DIGEST}  # fmt: skip
    assert step(Phase.OPEN, 4)[Change.CLOSING] is Rank.URGENT
    assert step(Phase.CLOSING, 4, has_hours=False) == {Change.HOURS_FOUND: Rank.PUSH}
