"""Why there was an alert, or none, told from what is kept.

Local times: Melbourne is at UTC+11 from 4 October 2026 on (IANA time-zone database,
rule AV), so 20:07 UTC is 07:07 of the next day.
"""

from __future__ import annotations

import json
import re
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from written import HOUSE, KEY, START, Writer, at, event, sent

import forecaster
from forecaster.domain.alerts.records import (
    Change,
    Delivery,
    Message,
    Phase,
    Rank,
    Sending,
    Snooze,
)
from forecaster.errors import (
    InputMissingError,
    NewerStateError,
    StateError,
    UsageError,
)
from forecaster.render import history_json, history_text, history_words
from forecaster.render.json import dumps
from forecaster.render.words import LocalClock
from forecaster.service.alerts.history_view import history
from forecaster.service.alerts.history_words import Asked, span_of
from forecaster.store import meta
from forecaster.store.database import FILE
from forecaster.store.ledger import Ledger
from forecaster.store.migrations import NEWEST, migrate
from forecaster.store.one_check import alone
from forecaster.store.reader import Reader

if TYPE_CHECKING:
    from forecaster.domain.alerts.history_page import HistoryPage

NOW = at(60)
MONDAY = "2026-10-12"


def page(own: Writer, on: str = MONDAY, **more: str) -> HistoryPage:
    """The history of a day."""
    return history(own.farm, Asked(on=on, **more), NOW)


def flat(page: HistoryPage) -> str:
    """The text, unwrapped."""
    return " ".join(history_text.render(page).split())


def tree(page: HistoryPage) -> Any:
    """The JSON, read back."""
    return json.loads(dumps(history_json.tree(page)))


# ------------------------------------------------------------------- checks


def test_gaps_over_two_periods_are_told_and_others_not(own: Writer) -> None:
    """Hourly checks at 0, 2 and 5 h: the second gap of 3 h is over two periods."""
    for hour in (0, 2, 5):
        own.check(hour, {})
    own.check(16.5, {})  # 23:37 on the same day
    own.check(17.5, {})  # 00:37 on the next
    told = tree(page(own))
    assert len(told["checks"]) == 4
    assert [each["since"][:16] for each in told["gaps"]] == [
        "2026-10-11T22:07", "2026-10-12T01:07",
    ]  # fmt: skip
    said = flat(page(own))
    assert "4 checks, the first Mon 12 Oct 07:07, the last Mon 12 Oct 23:37" in said
    assert "NO CHECK from Mon 12 Oct 09:07 to Mon 12 Oct 12:07, 3.0 h" in said


def test_a_day_without_a_check_says_so_and_since_when(own: Writer) -> None:
    """On Tuesday nothing ran; the gap goes on until now."""
    own.check(0, {KEY: "same.open"})
    said = flat(page(own, "2026-10-13"))
    assert "NO CHECK RAN; the last before: Mon 12 Oct 07:07" in said
    assert "60.0 h: nothing could be told then" in said
    assert "(now)" in said
    assert "Creek Flat (Silver grass, paraquat): open" in said


def test_how_checks_ended_and_what_was_wanting(own: Writer) -> None:
    """One was killed, one found no weather and told nobody."""
    own.check(0, {})
    own.check(1, {}, exit_code=None)
    own.check(2, {}, exit_code=69, notes=("no weather, and nobody told",))
    said = flat(page(own))
    assert "1 ended well" in said
    assert "(Mon 12 Oct 08:07) never ended" in said
    assert "exit 69: no weather that can be used" in said
    assert "wanting: no weather, and nobody told; weather 1 h old" in said


# ------------------------------------------------------------------ windows


def test_reasons_of_a_window_with_the_time_each_began(own: Writer) -> None:
    """It waited for a second forecast, then opened, then nothing was new."""
    own.check(0, {KEY: "hold.confirm 1/2", HOUSE: "hold.band"})
    own.check(1, {KEY: "hold.confirm 1/2", HOUSE: "hold.band"})
    own.check(2, {KEY: "event.opened", HOUSE: "hold.band"})
    own.check(3, {KEY: "same.open", HOUSE: "skip.sprayed"})
    told = {each["window"]: each for each in tree(page(own))["windows"]}
    opened = told[str(KEY)]
    assert (opened["paddock"], opened["phase"]) == ("Creek Flat", "open")
    assert [(r["since"], r["reason"]) for r in opened["reasons"]] == [
        (f"{at(0)}Z", "hold.confirm 1/2"),
        (f"{at(2)}Z", "event.opened"),
        (f"{at(3)}Z", "same.open"),
    ]
    said = flat(page(own))
    assert "waits for another forecast to agree (seen in 1 of 2 so far)" in said
    assert "marked sprayed: it is followed in silence" in said


def test_a_reason_of_an_earlier_day_is_still_in_force(own: Writer) -> None:
    """Nothing changed on Tuesday: the reason began on Monday."""
    own.check(0, {KEY: "same.closing"})
    own.check(24, {KEY: "same.closing"})
    (window,) = page(own, "2026-10-13").windows
    assert [(step.since, step.reason) for step in window.steps] == [
        (START, "same.closing")
    ]
    assert window.phase is Phase.CLOSING


def test_only_windows_of_the_season_are_told(own: Writer) -> None:
    """Reasons of last season's windows stay in the table."""
    own.check(-8000, {KEY._replace(season=2025): "same.closed"})
    own.check(0, {KEY: "same.open"})
    assert [each.key for each in page(own).windows] == [KEY]


@pytest.mark.parametrize(
    ("later", "phase"),
    [
        ((), Phase.OPENING_SOON),
        (("same.not_open",), Phase.NOT_OPEN),
        (("event.opened",), None),
    ],
)
def test_after_a_step_back_the_next_answer_says_which_phase(
    own: Writer, later: tuple[str, ...], phase: Phase | None
) -> None:
    """A correction may lead to two phases; without a later answer what is kept."""
    own.check(0, {KEY: "event.opened"})
    own.check(1, {KEY: "event.not_open_yet"})
    for number, reason in enumerate(later):
        own.check(20 + number, {KEY: reason})
    own.phase(KEY, Phase.OPENING_SOON)
    (window,) = page(own).windows
    assert window.phase is phase


def test_one_paddock_or_active_alone(own: Writer) -> None:
    """Others are left out; what concerns the farm stays."""
    own.check(
        0, {KEY: "event.opened", HOUSE: "event.opened"},
        event(0, Change.OPENED, Rank.PUSH),
        event(0, Change.OPENED, Rank.PUSH, HOUSE),
        event(0, Change.WAS_OFF, Rank.PUSH, None),
    )  # fmt: skip
    told = page(own, paddock="house")
    assert [each.key for each in told.windows] == [HOUSE]
    assert [each.paddock for each in told.events] == ["", "House"]
    assert [each.key for each in page(own, active="paraquat").windows] == [KEY]


def test_a_paddock_that_is_gone_goes_by_its_id(own: Writer) -> None:
    """It is in no farm file any more, but was looked at."""
    gone = KEY._replace(paddock="old-yard")
    own.check(0, {gone: "skip.retired"})
    (window,) = page(own, paddock="old-yard").windows
    assert window.paddock == "old-yard"
    assert "no longer in the farm file" in flat(page(own))


# ---------------------------------------------------------------- messages


def test_what_became_of_each_delivery(own: Writer) -> None:
    """Accepted after quiet hours, cancelled, given up, waiting, standing by."""
    own.check(0, {KEY: "event.opened"}, event(0, Change.OPENED, Rank.PUSH))
    key = event(0, Change.OPENED, Rank.PUSH).key
    message = Message("m", Rank.PUSH, (key,), at(0))
    own.message(
        message,
        sent("m", 10, "accepted after hold.quiet"),
        Delivery("m", "a", Sending.CANCELLED, at(0), 1, "cancel.superseded", "", at(3)),
        Delivery("m", "b", Sending.DEAD, at(0), 3, "dead: the receiver answered 404",
                 "", at(4)),
        Delivery("m", "c", Sending.WAITING, at(70), 2, "later: no answer within 30 s"),
        Delivery("m", "d", Sending.WAITING, at(12), 0, "hold.quiet"),
        Delivery("m", "e", Sending.WAITING, at(2), stand_in=True),
    )  # fmt: skip
    said = flat(page(own))
    for words in (
        "phone: accepted Mon 12 Oct 17:07, after: held for the quiet hours",
        "a: cancelled Mon 12 Oct 10:07: the window had gone on",
        "b: given up Mon 12 Oct 11:07: the receiver answered 404 (tried 3 times)",
        "c: waits: no answer within 30 s; next try Thu 15 Oct 05:07 (tried 2 times)",
        "d: held until the quiet hours end, Mon 12 Oct 19:07",
        "e: goes out Mon 12 Oct 09:07 if nobody was reached by then",
        "opened (push); in the push message of Mon 12 Oct 07:07",
    ):
        assert words in said


def test_a_message_of_last_night_is_told_on_the_morning_it_went_out(
    own: Writer,
) -> None:
    """Made on Monday evening, accepted on Tuesday; not told of Wednesday."""
    made = event(14, Change.OPENED, Rank.PUSH)
    own.check(14, {KEY: "event.opened"}, made)
    own.message(Message("m", Rank.PUSH, (made.key,), at(14)), sent("m", 23))
    own.check(48, {KEY: "same.open"})
    keys = [[m.message.key for m in page(own, day).messages]
            for day in (MONDAY, "2026-10-13", "2026-10-14")]  # fmt: skip
    assert keys == [["m"], ["m"], []]


def test_what_waits_for_the_digest(own: Writer) -> None:
    """Before there is a digest with it, and after."""
    found = event(0, Change.NOT_SO_SOON, Rank.DIGEST)
    own.check(0, {KEY: "event.not_so_soon"}, found)
    assert "for the digest, which has not told it yet" in flat(page(own))
    own.message(Message("d", Rank.DIGEST, (found.key,), at(22)), sent("d", 22))
    assert "in the digest message of Tue 13 Oct 05:07" in flat(page(own))


def test_a_snooze_is_told_where_it_kept_a_message_back(own: Writer) -> None:
    """Opened is a push; asked for quiet, it waits for the digest."""
    own.check(0, {KEY: "same.not_open"})
    with Ledger.open(own.state, at(1)) as ledger, ledger.writing() as tx:
        tx.add_snooze(Snooze("creek-flat", "", at(1), at(49), "Jo"))
    own.check(2, {KEY: "event.opened"}, event(2, Change.OPENED, Rank.DIGEST))
    said = flat(page(own))
    assert "quiet was asked for" in said
    assert "from Mon 12 Oct 08:07 to Wed 14 Oct 2026 08:07 AEDT by Jo" in said
    (snooze,) = tree(page(own, "2026-10-13"))["snoozes"]
    assert snooze["paddock"] == "Creek Flat"
    assert not page(own, paddock="house").snoozes
    assert page(own, active="glyphosate").snoozes


def test_large_farms_are_told_in_groups(own: Writer) -> None:
    """30 windows alike: ten named, twenty counted; 20 reasons: the last twelve."""
    keys = [KEY._replace(paddock=f"p{number}") for number in range(30)]
    own.check(0, dict.fromkeys(keys, "same.open"))
    for number in range(1, 20):
        own.check(number / 2, dict.fromkeys(keys, f"hold.confirm {number}/99"))
    said = flat(page(own))
    assert "and 20 more: open" in said
    assert "8 earlier reasons" in said
    assert "seen in 19 of 99" in said


# ------------------------------------------------------------------ reading


def test_it_is_read_while_a_check_holds_the_state(own: Writer) -> None:
    """Neither waits for the lock nor sees what is half written."""
    own.check(0, {KEY: "same.open"})
    with alone(own.state, NOW), Ledger.open(own.state, NOW) as ledger:
        before = (own.state / FILE).stat().st_mtime_ns
        with ledger.writing() as tx:
            tx.note_reasons(1, {KEY: "same.closing"})
            assert page(own).windows[0].phase is Phase.OPEN
        assert page(own).windows[0].phase is Phase.CLOSING
        assert (own.state / FILE).stat().st_mtime_ns == before


def test_without_a_state_it_says_so(own: Writer) -> None:
    """66, and nothing is made; after a check it says that the file is gone."""
    with pytest.raises(InputMissingError, match="no check has run"):
        page(own)
    assert not own.state.exists()
    own.check(0, {})
    for path in own.state.glob(f"{FILE}*"):
        path.unlink()
    with pytest.raises(InputMissingError, match="is gone"):
        page(own)


def test_a_damaged_state_is_left_for_the_check(own: Writer) -> None:
    """A row that was changed by hand is refused and not mended."""
    own.check(0, {KEY: "event.opened"}, event(0, Change.OPENED, Rank.PUSH))
    with Ledger.open(own.state, NOW) as ledger:
        ledger._db.execute("UPDATE events SET body = replace(body, 'push', 'none')")
    with pytest.raises(StateError, match="checksum"):
        page(own)
    assert [each.name for each in own.state.glob("*damaged*")] == []


@pytest.mark.parametrize(("version", "error"), [(1, StateError), (99, NewerStateError)])
def test_a_state_of_another_version_is_not_read(
    own: Writer, version: int, error: type[Exception]
) -> None:
    """An older one waits for the next check; a newer one for a newer program."""
    own.check(0, {})
    (own.state / FILE).unlink()
    with closing(sqlite3.connect(own.state / FILE, isolation_level=None)) as db:
        migrate(db, min(version, NEWEST))
        meta.put(db, meta.SCHEMA, str(version))
        db.execute(f"PRAGMA user_version = {version}")
    with pytest.raises(error, match=r"(older|newer) forecaster"):
        page(own)


def test_a_reader_can_write_nothing(own: Writer) -> None:
    """SQLite itself refuses."""
    own.check(0, {})
    with (
        Reader.of(own.state) as reader,
        pytest.raises(StateError, match=r"within a transaction|readonly"),
        reader.writing(),
    ):
        pass


# -------------------------------------------------------------------- words


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (Asked(on="yesterday"), "not a date"),
        (Asked(on="2026-10-20"), "lies ahead"),
        (Asked(on=MONDAY, since=MONDAY), "leave out"),
        (Asked(until=MONDAY), "needs --since"),
        (Asked(since="2026-10-13", until=MONDAY), "comes after"),
        (Asked(since="2020-01-01"), "at most 400 days"),
        (Asked(paddock="Creek Flt"), "did you mean Creek Flat"),
        (Asked(active="salt"), "known are glyphosate, paraquat"),
    ],
)
def test_what_cannot_be_asked(own: Writer, asked: Asked, words: str) -> None:
    """Each in words of its own."""
    own.check(0, {})
    with pytest.raises(UsageError, match=words):
        history(own.farm, asked, NOW)


def test_without_a_day_it_is_today_at_the_farm(own: Writer) -> None:
    """60 h after Monday 07:07 is Wednesday 19:07."""
    own.check(0, {})
    assert history(own.farm, Asked(), NOW).first == "2026-10-14"
    spread = history(own.farm, Asked(since=MONDAY), NOW)
    assert (spread.first, spread.last) == (MONDAY, "2026-10-14")
    assert "2026-10-12 to 2026-10-14" in flat(spread)


@pytest.mark.parametrize(("day", "hours"), [("2026-10-04", 23), ("2027-04-04", 25)])
def test_a_day_when_the_clocks_change(day: str, hours: int) -> None:
    """23 h on the first Sunday of October, 25 h on that of April (rule AV)."""
    import datetime as dt

    date = dt.date.fromisoformat(day)
    since, until = span_of(date, date, "Australia/Melbourne")
    assert until - since == np.timedelta64(hours * 3600, "s")


def test_every_reason_of_the_program_has_words() -> None:
    """Each code that stands in the source is explained, not echoed."""
    (package,) = forecaster.__path__
    text = "".join(
        each.read_text(encoding="utf-8")
        for folder in ("domain/alerts", "service/alerts")
        for each in (Path(package) / folder).glob("*.py")
    )
    codes = set(re.findall(r'"((?:hold|skip)\.[a-z ]+)"', text)) - {
        "hold.quiet",  # of a delivery
        "hold.clock told", "hold.no weather told", "hold.trouble told",  # of the farm
        "skip.digest empty",
    }  # fmt: skip
    assert {"hold.band", "hold.unseen", "hold.no weather", "skip.sprayed"} <= codes
    for code in (*codes, "unknown", "same.not_open", "hold.confirm 1/2"):
        assert history_words.reason(code) != code
    for change in Change:
        assert change.value in history_words.reason(f"event.{change.name.lower()}")
    for code in set(re.findall(r'"(cancel\.[a-z ]+)"', text)):
        assert history_words.note(code) != code
    assert history_words.reason("of a later version") == "of a later version"


def test_a_message_that_was_tried_more_than_once() -> None:
    """The last reason before it was accepted is told."""
    clock = LocalClock("Australia/Melbourne")
    tried = sent("m", 1, "accepted after later: the receiver answered 503", 3)
    assert history_words.delivery(tried, clock) == (
        "phone: accepted Mon 12 Oct 08:07, after: the receiver answered 503 "
        "(tried 3 times)"
    )
