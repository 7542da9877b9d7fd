"""Short messages: a line for what needs something, in the words people use."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hostile_names import HOSTILE
from outlooks import named, paddock, with_active, with_paddock

from forecaster.domain.planned import only_block
from forecaster.domain.planning.next_step import Step
from forecaster.domain.planning.windows import Status
from forecaster.render import sms
from forecaster.render.phone import CHECK, fits

if TYPE_CHECKING:
    from forecaster.domain.outlook import Outlook


def line(outlook: Outlook) -> str:
    """The one message after the demo's warning."""
    head, found = sms.lines(outlook)
    assert head.startswith("DEMO FARM")
    return found


def test_the_line_of_the_last_block(demo: Outlook) -> None:
    """What, when, wind, that it is the only one, and the site."""
    assert line(with_active(demo)) == (
        "Back Road: glyphosate Wed 12-6 pm, SW 16 km/h. Only block before it shuts "
        f"(7 in 10). {CHECK}"
    )


@pytest.mark.parametrize(
    ("start", "end", "words"),
    [
        ("12:00", "18:00", "Wed 12-6 pm"),
        ("09:00", "12:30", "Wed 9 am-12:30 pm"),
        ("09:30", "11:00", "Wed 9:30-11 am"),
        ("00:00", "02:00", "Wed 12-2 am"),
        ("20:00", "00:00", "Wed 8 pm-Thu 12 am"),
        ("22:00", "03:00", "Wed 10 pm-Thu 3 am"),
    ],
)
def test_hours_as_people_say_them(start: str, end: str, words: str) -> None:
    """Noon is 12 pm and midnight 12 am (common practice, no source)."""
    first = dt.datetime.fromisoformat(f"2026-10-14T{start}")
    last = dt.datetime.fromisoformat(f"2026-10-14T{end}")
    if last <= first:
        last += dt.timedelta(days=1)
    assert sms.hours_words(first, last) == words
    assert sms.hours_words(first, last, dated=True).startswith("Wed 14 Oct ")


def test_the_most_urgent_first_and_all_fit(demo: Outlook) -> None:
    """Closing before open before opening soon; each line is one message."""
    found = sms.lines(demo)
    assert all(map(fits, found))
    order = [each.split(":")[0] for each in found]
    assert order[:2] == ["DEMO FARM", "Back Road"]
    assert order.index("Woolshed") < order.index("Creek Flat")
    assert "Lone Gum: Stock off OVERDUE by 2 days." in found
    for each in found:
        assert each.endswith(CHECK) or " pm" not in each


@pytest.mark.parametrize(
    ("step", "words"),
    [
        (Step.COUNT_HEADS, "count heads. glyphosate opens"),
        (Step.NO_HOURS, "no fit hours for glyphosate. Look daily. Shuts"),
        (Step.CANNOT_TELL, "cannot be told. Go and count heads."),
        (Step.UNEVEN, "heads uneven, do not spray on the mean."),
        (Step.TYPE_LABEL, "type your label for glyphosate."),
        (Step.NOT_ON_LABEL, "weed not on your label for glyphosate."),
        (Step.SURVEY, "say in the farm file what lies around."),
    ],
)
def test_each_step_has_its_words(demo: Outlook, step: Step, words: str) -> None:
    """No hours are named where the step is another."""
    told = line(with_active(demo, step=step, step_block=None))
    assert told.startswith(f"Back Road: {words}")
    assert CHECK not in told


def test_hours_to_look_at_say_so(demo: Outlook) -> None:
    """And heads that were not counted are to be counted first."""
    block = paddock(demo).actives[0].look_first[0]
    gate = with_active(demo, step=Step.LOOK_AT_GATE, step_block=block)
    told = line(gate)
    assert told == f"Back Road: look first, glyphosate Wed 7 am-12 pm. {CHECK}"
    bare = replace(gate, paddocks=(replace(gate.paddocks[0], look=None),))
    assert line(bare).endswith(f"Count heads first. {CHECK}")


@pytest.mark.parametrize(
    "step", [Step.WAIT, Step.DONE, Step.TOO_LATE, Step.DOES_NOT_CONTROL]
)
def test_nothing_to_do_is_said_once(demo: Outlook, step: Step) -> None:
    """Never an empty page."""
    told = line(with_active(demo, step=step, step_block=None))
    assert told == "Thornbill Rise: nothing to do by Mon 19 Oct. 1 paddock."


def test_a_paddock_that_cannot_be_told_has_a_line(demo: Outlook) -> None:
    """It is never left out."""
    told = line(with_paddock(demo, fault="broke", actives=()))
    assert told == "Back Road: UNKNOWN, it could not be worked out."


def test_old_weather_and_warnings_come_first(demo: Outlook) -> None:
    """Before anything that rests on them; also when nobody knows the age."""
    weather = replace(
        demo.weather, age_hours=30.0, warnings=("one", "two"), invented=False
    )
    old = replace(with_active(demo), weather=weather, demo=False)
    assert sms.lines(old)[0] == (
        "Thornbill Rise: weather is 30 h old. 2 warnings: see the outlook."
    )
    lost = replace(old, weather=replace(weather, age_hours=np.nan))
    assert "nobody knows how old" in sms.lines(lost)[0]


def test_only_is_said_only_where_the_hours_are_known(demo: Outlook) -> None:
    """To the likely close; and of a block a week off, the date is told."""
    active = paddock(demo).actives[0]
    assert active.window is not None
    assert active.window.closed.likely is not None
    assert only_block(active, demo.until)
    assert not only_block(active, active.window.closed.likely - np.timedelta64(1, "s"))
    assert not only_block(replace(active, window=None), demo.until)
    early = replace(with_active(demo), until=demo.now)
    assert "Holds 7 in 10." in line(early)
    week = np.timedelta64(7, "D")
    far = replace(with_active(demo), now=demo.now - week)
    assert "glyphosate Wed 14 Oct 12-6 pm," in line(far)


def test_one_paddock_asks_for_what_can_be_done(demo: Outlook) -> None:
    """Hours with one active count for more than a closing window without any."""
    first, second = paddock(demo).actives
    bare = replace(first, step=Step.NO_HOURS, step_block=None)
    doable = replace(second, status=Status.OPEN)
    told = line(with_paddock(demo, actives=(bare, doable)))
    assert told.startswith("Back Road: paraquat Wed 12-6 pm")


def test_forty_hostile_names_each_have_their_message(demo: Outlook) -> None:
    """As many lines as paddocks, one message each, the check in every one."""
    made = sms.render(named(demo, HOSTILE))
    _, *found = made.removesuffix("\n").split("\n")
    assert len(found) == len(HOSTILE)
    for name, told in zip(HOSTILE, found, strict=True):
        assert fits(told)
        assert told.endswith(CHECK)
        head = told.split(": glyphosate")[0]
        assert " ".join(name.split()).startswith(head.rstrip("….").rstrip())
