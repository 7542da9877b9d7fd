"""A job, what a state wants of it, and what comes after it."""

from __future__ import annotations

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from forecaster.domain.planning.withholding import NOT_TYPED, LabelSays, Withholding
from forecaster.domain.record.after import days_after, re_entry, recorded
from forecaster.domain.record.changes import changed, hours_not_judged
from forecaster.domain.record.fields import FIELDS, OTHER_LABELS, label_of
from forecaster.domain.record.job import Job, Tank, Wind, WindChange, overlapping
from forecaster.domain.record.log import (
    Around,
    Beside,
    Entry,
    RecordLog,
    SeenHour,
    Taken,
    assembled,
)
from forecaster.domain.record.needed import (
    Needed,
    Rank,
    StateRules,
    hours_left,
    missing,
    whole_by_law,
)
from forecaster.domain.sourced import Mark, Sourced

MELBOURNE = ZoneInfo("Australia/Melbourne")


def utc(local: str) -> np.datetime64:
    """A moment of Melbourne's wall clock, by the standard library."""
    moment = dt.datetime.fromisoformat(local).replace(tzinfo=MELBOURNE)
    return np.datetime64(moment.astimezone(dt.UTC).replace(tzinfo=None), "s")


def day_of(moment: np.datetime64) -> np.datetime64:
    """The date in Melbourne."""
    there = moment.astype(dt.datetime).replace(tzinfo=dt.UTC).astimezone(MELBOURNE)
    return np.datetime64(there.date(), "D")


def job(**changes: Any) -> Job:
    """An afternoon's spraying."""
    told: dict[str, Any] = {
        "paddock": "Creek Flat", "active": "glyphosate",
        "start": utc("2026-10-14T12:00"), "finish": utc("2026-10-14T17:00"),
        "said": {},
    }  # fmt: skip
    return Job(**{**told, **changes})


def days(number: float) -> Sourced:
    """A number of days."""
    return Sourced(number, "d", 1, 99, "none", "none", Mark.ASSUMED)


def rules(*names: str, deadline: float | None = 48) -> StateRules:
    """A state that wants these fields."""
    needed = tuple(
        Needed(name, Rank.LAW, "", "none", "none", Mark.ASSUMED) for name in names
    )
    limit = (
        None
        if deadline is None
        else Sourced(deadline, "h", 1, 99, "none", "none", Mark.ASSUMED)
    )
    return StateRules("x", "X", "X", needed, limit, None)


def test_stock_come_back_after_whole_days() -> None:
    """Wed 14 Oct 17:00 + 7 days: Wed 21 Oct 17:00, printed Thu 22 (common practice)."""
    found = re_entry(utc("2026-10-14T17:00"), Withholding(LabelSays.DAYS, 7), day_of)
    assert found is not None
    assert found.ends == utc("2026-10-21T17:00")
    assert found.day == np.datetime64("2026-10-22")


def test_a_night_of_the_clocks_change_never_makes_it_early() -> None:
    """Days are 24 hours: 3 Oct 23:30 + 1 day ends on the 5th.

    Clocks go forward on the first Sunday in October (Victoria), 4 Oct 2026.
    """
    found = re_entry(utc("2026-10-03T23:30"), Withholding(LabelSays.DAYS, 1), day_of)
    assert found is not None
    assert found.ends == utc("2026-10-05T00:30")
    assert found.day == np.datetime64("2026-10-06")


def test_two_jobs_in_one_paddock() -> None:
    """Stock wait for the last end of all; one job without days leaves no date."""
    seven, one = (Withholding(LabelSays.DAYS, days) for days in (7, 1))
    first = ("glyphosate", utc("2026-10-14T17:00"), seven)
    second = ("paraquat", utc("2026-10-16T09:00"), one)
    told = recorded([second, first], day_of)
    assert told.actives == ("glyphosate", "paraquat")
    assert (str(told.day), told.finish) == ("2026-10-16", second[1])
    assert str(told.not_before) == "2026-10-22"
    again = recorded([first, second, ("paraquat", second[1], NOT_TYPED)], day_of)
    assert again.not_before is None
    assert again.actives == ("glyphosate", "paraquat")
    assert again.finishes == (first[1], second[1], second[1])


@pytest.mark.parametrize(
    "held", [NOT_TYPED, Withholding(LabelSays.NONE), Withholding(LabelSays.UNCONFIRMED)]
)
def test_without_typed_days_there_is_no_date(held: Withholding) -> None:
    """The label is to be read."""
    assert re_entry(utc("2026-10-14T17:00"), held, day_of) is None


def test_days_are_counted_from_the_day_of_the_finish() -> None:
    """14 October and 14 to 21 days: 28 October to 4 November."""
    found = days_after(np.datetime64("2026-10-14"), (days(14), days(21)))
    assert found == (np.datetime64("2026-10-28"), np.datetime64("2026-11-04"))


@pytest.mark.parametrize(
    ("now", "left"),
    [
        ("2026-10-14T17:00", 48.0),
        ("2026-10-16T16:30", 0.5),
        ("2026-10-16T17:00", 0.0),
        ("2026-10-16T19:00", -2.0),
    ],
)
def test_hours_to_the_deadline(now: str, left: float) -> None:
    """48 hours after the finish, counted as they pass."""
    assert hours_left(utc("2026-10-14T17:00"), rules(), utc(now)) == left


def test_a_change_of_the_clock_moves_no_deadline() -> None:
    """From Sat 3 Oct 17:00 to Mon 5 Oct 17:00 only 47 hours pass."""
    left = hours_left(utc("2026-10-03T17:00"), rules(), utc("2026-10-05T17:00"))
    assert left == 1.0
    assert (
        hours_left(
            utc("2026-10-03T17:00"), rules(deadline=None), utc("2026-10-05T17:00")
        )
        is None
    )


FULL = job(
    said={**{each.name: "5" for each in FIELDS}},
    wind=Wind(4.4, 225.0, "SW 16 km/h"),
    changes=(WindChange(utc("2026-10-14T14:00"), Wind(3.0, 270.0, "W 11 km/h")),),
    tanks=(Tank(utc("2026-10-14T12:00"), utc("2026-10-14T13:00"), 1500.0, 25.0),),
    withholding=Withholding(LabelSays.DAYS, 7),
)  # fmt: skip


@pytest.mark.parametrize("name", [*(each.name for each in FIELDS), *OTHER_LABELS])
def test_every_field_is_there_or_missed(name: str) -> None:
    """Told, it is not missing; each has words of its own."""
    assert missing(FULL, rules(name)) == ()
    empty = Job("", "", np.datetime64("NaT"), np.datetime64("NaT"), {})
    assert [each.name for each in missing(empty, rules(name))] == [name]
    assert label_of(name)


def test_wind_that_tells_no_side() -> None:
    """A calm has none; a wind must have one."""
    calm = job(wind=Wind(0.0, float("nan"), "calm"))
    assert calm.has("wind_from")
    assert not job(wind=Wind(3.0, float("nan"), "11 km/h")).has("wind_from")
    assert job(said={"wind_steady": "yes"}).has("wind_changes")
    with pytest.raises(KeyError):
        label_of("no such field")


def test_one_rig_is_in_one_place() -> None:
    """Jobs that meet end to end do not overlap; another rig is another matter."""
    late = job(start=utc("2026-10-14T16:00"), finish=utc("2026-10-14T18:00"))
    after = job(start=utc("2026-10-14T17:00"), finish=utc("2026-10-14T18:00"))
    other = job(said={"rig": "Ute"})
    assert overlapping(job(), [late, after, other]) == (late,)


def entry(number: int, corrects: str = "") -> Entry:
    """A line of a log."""
    return Entry(
        number, f"h{number}", job(), "J", utc("2026-10-14T18:00"), corrects=corrects
    )


def taken(number: int, withdraws: str) -> Taken:
    """A withdrawal."""
    return Taken(number, f"h{number}", withdraws, "J", "wrong", utc("2026-10-15T08:00"))


def test_lines_become_records() -> None:
    """A correction of a correction is of the same record; lost ones are told."""
    lines = (
        entry(1), entry(2), entry(3, "h1"), entry(4, "h3"), taken(5, "h2"),
        entry(6, "gone"), taken(7, "gone"), taken(8, "h2"),
    )  # fmt: skip
    records, lost = assembled(lines)
    log = RecordLog(records)
    assert [[e.number for e in each.entries] for each in records] == [
        [1, 3, 4],
        [2],
        [6],
    ]
    assert lost == (6, 7)
    assert [each.number for each in log.standing] == [1, 6]
    found = log.record(4)
    assert found is not None
    assert (found.number, found.now.number) == (1, 4)
    assert records[1].taken == taken(5, "h2")
    assert log.record(99) is None


def test_an_override_needs_a_name_and_a_reason() -> None:
    """Only where something spoke against the job."""
    against = Around(against=("hold: wind",))
    bare = Entry(1, "h", job(), "J", utc("2026-10-14T18:00"), against)
    assert bare.unexplained == ("override_by", "override_reason")
    half = Entry(
        1, "h", job(said={"override_by": "J"}), "J", utc("2026-10-14T18:00"), against
    )
    assert half.unexplained == ("override_reason",)
    assert entry(1).unexplained == ()


def test_whole_since_the_first_that_held_all_from_then_on() -> None:
    """A field taken away again makes it wanting; without a list nobody can say."""
    half, whole = job(), job(said={"rate": "x"})
    one, two, three = (utc(f"2026-10-1{day}T12:00") for day in (5, 6, 7))
    wanted = rules("rate", "start")
    assert whole_by_law([(one, whole), (two, whole)], wanted) == one
    assert whole_by_law([(one, half), (two, whole), (three, whole)], wanted) == two
    assert whole_by_law([(one, whole), (two, half), (three, whole)], wanted) == three
    assert whole_by_law([(one, whole), (two, half)], wanted) is None
    assert whole_by_law([(one, whole)], rules()) is None


def test_what_a_correction_changed_by_name() -> None:
    """Wind of an unknown side is no change of itself."""
    old = job(wind=Wind(3.0, float("nan"), "x"), said={"rate": "x", "note": "y"})
    again = job(wind=Wind(3.0, float("nan"), "x"), said={"note": "y", "rate": "x"})
    assert changed(old, again) == ()
    new = job(paddock="House", tanks=(Tank(old.start, old.finish, 1.0, 2.0),))
    assert changed(old, new) == ("paddock", "wind_start", "tanks", "rate", "note")


def test_hours_nobody_judged() -> None:
    """12:30 to 14:00 touches two hours; one called unknown is not judged."""
    nan = float("nan")
    told = job(start=utc("2026-10-14T12:30"), finish=utc("2026-10-14T14:00"))

    def beside(*called: str) -> Around:
        hours = tuple(
            SeenHour(utc(f"2026-10-14T{12 + n}:00"), nan, nan, nan, nan, nan, nan, said)
            for n, said in enumerate(called)
        )
        return Around(Beside("x", told.start, hours))

    assert hours_not_judged(told, Around()) == (2, 2)
    assert hours_not_judged(told, beside("hold")) == (1, 2)
    assert hours_not_judged(told, beside("good", "unknown")) == (1, 2)
    assert hours_not_judged(told, beside("", "look first")) == (1, 2)
    assert hours_not_judged(told, beside("good", "hold")) == (0, 2)
