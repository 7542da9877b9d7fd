"""The calendar file, read back by icalendar and held against RFC 5545."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hostile_names import HOSTILE
from icalendar import Calendar
from outlooks import named, paddock, with_active, with_paddock

from forecaster.domain.outlook import Likely
from forecaster.domain.planning.next_step import Step
from forecaster.domain.planning.stock_off import StockStatus
from forecaster.domain.planning.windows import Status
from forecaster.domain.planning.withholding import NOT_TYPED, LabelSays, Withholding
from forecaster.render import calendar

if TYPE_CHECKING:
    from forecaster.domain.outlook import Outlook

HOUR = np.timedelta64(1, "h")


def events(outlook: Outlook) -> list[Any]:
    """The events of the file, as the parser reads them."""
    return list(Calendar.from_ical(calendar.render(outlook)).walk("VEVENT"))


def summaries(outlook: Outlook) -> list[str]:
    """What a calendar shows."""
    return [str(each["summary"]) for each in events(outlook)]


def one(outlook: Outlook, words: str) -> Any:
    """The one event with these words in its summary."""
    (found,) = [each for each in events(outlook) if words in str(each["summary"])]
    return found


def test_every_event_has_what_the_standard_asks(demo: Outlook) -> None:
    """RFC 5545 3.6.1: UID and DTSTAMP once; 3.8.2.4: DTSTART with METHOD or not."""
    whole = Calendar.from_ical(calendar.render(demo))
    assert (whole["version"], whole["method"]) == ("2.0", "PUBLISH")
    assert whole["prodid"]
    found = list(whole.walk("VEVENT"))
    assert len(found) > 10
    for event in found:
        for name in ("uid", "dtstamp", "dtstart", "dtend", "summary", "sequence"):
            assert event[name] is not None
            assert not isinstance(event[name], list)
        assert event.decoded("dtend") > event.decoded("dtstart")
        assert event["transp"] == "TRANSPARENT"
    uids = [str(event["uid"]) for event in found]
    assert len(set(uids)) == len(uids)
    assert not any(each in uid for uid in uids for each in ("Back", "glyphosate"))


def test_lines_end_and_fold_as_the_standard_says(demo: Outlook) -> None:
    """RFC 5545 3.1: CRLF, at most 75 octets, and no character is split here."""
    made = calendar.render(named(demo, HOSTILE))
    assert made.endswith(b"\r\n")
    assert made.count(b"\n") == made.count(b"\r\n") == made.count(b"\r")
    lines = made.split(b"\r\n")
    assert max(map(len, lines)) <= 75
    for line in lines:
        line.decode("utf-8")
    assert {line[:1] for line in lines if line} >= {b" ", b"B"}


def test_times_are_utc_and_days_are_days(demo: Outlook) -> None:
    """A block of Wednesday noon at UTC+11 is 01:00Z; a window is of whole days."""
    block = one(with_active(demo), "good hours")
    assert block.decoded("dtstart") == dt.datetime(2026, 10, 14, 1, tzinfo=dt.UTC)
    assert block.to_ical().count(b"TZID") == 0
    assert block["status"] == "TENTATIVE"
    window = one(with_active(demo), "stage window")
    assert type(window.decoded("dtstart")) is dt.date
    first = paddock(demo).actives[0].window
    assert first is not None
    assert first.open.likely is not None
    assert first.closed.likely is not None
    days = [
        dt.datetime.fromisoformat(f"{each}+00:00").astimezone(
            dt.timezone(dt.timedelta(hours=11))
        )
        for each in (first.open.likely, first.closed.likely)
    ]
    assert window.decoded("dtstart") == days[0].date()
    assert window.decoded("dtend") == days[1].date() + dt.timedelta(days=1)


def test_good_hours_send_people_to_the_site(demo: Outlook) -> None:
    """In the summary, which is all that many phones show."""
    for event in events(demo):
        if "good" in str(event["summary"]):
            assert "check at the site" in str(event["summary"])
            assert "measure the wind" in str(event["description"])


def test_a_moved_event_is_the_same_and_newer(demo: Outlook) -> None:
    """RFC 5545 3.8.4.7 and 3.8.7.4: the same UID, a higher SEQUENCE."""
    block = paddock(demo).actives[0].blocks[0]
    before = with_active(demo, blocks=(block,))
    moved = replace(block, start=block.start + HOUR, end=block.end + HOUR)
    after = replace(with_active(demo, blocks=(moved,)), now=demo.now + HOUR)
    old, new = one(before, "good hours"), one(after, "good hours")
    assert old["uid"] == new["uid"]
    assert new["sequence"] > old["sequence"] >= 0
    past = replace(before, now=np.datetime64("2013-04-25T00:00:00", "s"))
    assert {each["sequence"] for each in events(past)} == {0}
    assert new["sequence"] < 2**31  # 3.3.8: an integer of 32 bits
    assert new.decoded("dtstart") - old.decoded("dtstart") == dt.timedelta(hours=1)
    assert one(before, "stage window")["uid"] == one(after, "stage window")["uid"]


def test_two_blocks_of_a_day_and_two_farms_differ(demo: Outlook) -> None:
    """By their place on the day, and by the farm."""
    block = paddock(demo).actives[0].blocks[0]
    half = block.start + 2 * HOUR
    two = (replace(block, end=half), replace(block, start=half + HOUR))
    found = [
        str(each["uid"])
        for each in events(with_active(demo, blocks=two))
        if "good" in str(each["summary"])
    ]
    assert len(set(found)) == 2
    other = replace(with_active(demo, blocks=two), farm="Two Gums")
    assert not set(found) & {str(each["uid"]) for each in events(other)}


def test_a_typed_id_outlives_a_name(demo: Outlook) -> None:
    """Nothing in a subscribed calendar doubles when a paddock is renamed."""
    old = with_paddock(demo, id="north")
    new = replace(old, paddocks=(replace(old.paddocks[0], name="North flat"),))
    assert [each["uid"] for each in events(old)] == [
        each["uid"] for each in events(new)
    ]


def test_the_same_outlook_is_the_same_bytes(demo: Outlook) -> None:
    """No clock, no chance."""
    assert calendar.render(demo) == calendar.render(demo)


@pytest.mark.parametrize(
    ("held", "day", "words"),
    [
        (Withholding(LabelSays.DAYS, 7), "2026-10-22", "stock not before 22 Oct"),
        (Withholding(LabelSays.DAYS, 0), "2026-10-15", "stock not before 15 Oct"),
        (Withholding(LabelSays.NONE), "2026-10-15", "no grazing days on your label"),
        (NOT_TYPED, "2026-10-15", "read your label before stock go in"),
        (
            Withholding(LabelSays.UNCONFIRMED),
            "2026-10-15",
            "read your label before stock go in",
        ),
    ],
)
def test_stock_come_back_after_what_was_typed(
    demo: Outlook, held: Withholding, day: str, words: str
) -> None:
    """Sprayed on the 14th, 7 days: the 22nd (common practice, no source)."""
    first = replace(paddock(demo).actives[0], withholding=held)
    sprayed = with_paddock(
        demo, sprayed=np.datetime64("2026-10-14", "D"), actives=(first,)
    )
    event = one(sprayed, words)
    assert event.decoded("dtstart") == dt.date.fromisoformat(day)
    assert "read your label" in str(event["description"])


def test_with_two_actives_each_has_its_date(demo: Outlook) -> None:
    """It is not known which was sprayed, and the words say so."""
    sprayed = with_paddock(demo, sprayed=np.datetime64("2026-10-14", "D"))
    told = [each for each in summaries(sprayed) if "if " in each]
    assert told == [
        "Back Road: stock not before 22 Oct if glyphosate was sprayed",
        "Back Road: read your label before stock go in if paraquat was sprayed",
    ]


def test_a_look_is_due_while_the_window_is_near(demo: Outlook) -> None:
    """Unless heads were counted lately; and where the window cannot be told."""
    assert "Back Road: count heads" not in summaries(with_paddock(demo))
    bare = with_paddock(demo, look=None)
    assert "Back Road: count heads" in summaries(bare)
    assert one(bare, "count heads").decoded("dtstart") == dt.date(2026, 10, 12)
    stale = replace(paddock(demo).look, recent=False)  # type: ignore[type-var]  # there is one
    old = one(with_paddock(demo, look=stale), "count heads")
    assert "Last counted on 11 Oct" in str(old["description"])
    first = replace(paddock(demo).actives[0], status=Status.NOT_OPEN)
    far = with_paddock(demo, look=None, actives=(first,))
    assert "Back Road: count heads" not in summaries(far)
    lost = with_paddock(
        demo, look=None, actives=(replace(first, status=Status.UNKNOWN),)
    )
    assert "Back Road: count heads" in summaries(lost)


def test_stock_off_is_the_band_or_today(demo: Outlook) -> None:
    """Lone Gum is overdue on the 12th; before its band, the band is shown."""
    late = one(with_paddock(demo, "Lone Gum"), "stock off OVERDUE")
    assert late.decoded("dtstart") == dt.date(2026, 10, 12)
    stock = paddock(demo, "Lone Gum").stock
    assert stock is not None
    assert stock.off.likely is not None
    ahead = replace(stock, off=replace(stock.off, status=StockStatus.NOT_YET))
    event = one(with_paddock(demo, "Lone Gum", stock=ahead), "stock off")
    assert str(event.decoded("dtstart")) == str(stock.off.likely.first)
    assert str(event.decoded("dtend") - dt.timedelta(days=1)) == str(
        stock.off.likely.last
    )
    vague = replace(stock, off=replace(ahead.off, late=None))
    told = one(with_paddock(demo, "Lone Gum", stock=vague), "stock off")
    assert "With heading early or late" not in str(told["description"])
    for status in (StockStatus.TOO_LATE, StockStatus.UNKNOWN, StockStatus.NO_STOCK):
        gone = replace(stock, off=replace(stock.off, status=status))
        told = summaries(with_paddock(demo, "Lone Gum", stock=gone))
        assert not [each for each in told if "stock off" in each]


def test_a_paddock_that_cannot_be_told_is_not_silent(demo: Outlook) -> None:
    """It stands at today, with its reason."""
    event = one(with_paddock(demo, fault="no weather", actives=()), "UNKNOWN")
    assert "no weather" in str(event["description"])
    assert event.decoded("dtstart") == dt.date(2026, 10, 12)


@pytest.mark.parametrize("step", [Step.UNEVEN, Step.TOO_LATE, Step.NOT_ON_LABEL])
def test_hours_against_the_next_step_are_not_shown(demo: Outlook, step: Step) -> None:
    """Fit weather alone is no reason to spray."""
    assert not [
        each for each in summaries(with_active(demo, step=step)) if "good" in each
    ]


def test_what_is_over_or_unknown_of_a_window(demo: Outlook) -> None:
    """A block gone by is gone; a close beyond the weather is said; no opening, none."""
    block = paddock(demo).actives[0].blocks[0]
    assert not [
        each
        for each in summaries(replace(with_active(demo), now=block.end))
        if "good hours" in each
    ]
    window = paddock(demo).actives[0].window
    assert window is not None
    later = replace(window, closed=Likely(None, None, None))
    assert "close not known yet" in str(
        one(with_active(demo, window=later), "stage window")["summary"]
    )
    never = replace(window, open=Likely(None, None, None))
    assert not summaries(with_active(demo, window=never, blocks=()))


def test_forty_hostile_names_come_back_equal(demo: Outlook) -> None:
    """RFC 5545 3.3.11: whatever a name holds, the parser reads it back."""
    made = named(demo, HOSTILE)
    whole = Calendar.from_ical(calendar.render(made))
    assert whole["x-wr-calname"] == f"{made.farm}: spray outlook"
    assert [each.name for each in whole.subcomponents] == ["VEVENT"] * len(
        whole.subcomponents
    )
    shown = [str(each["summary"]) for each in whole.walk("VEVENT")]
    for name in HOSTILE:
        assert f"{name}: stage window, glyphosate" in shown
    assert sum("stage window, glyphosate" in each for each in shown) == len(HOSTILE)
