"""The order of a rig stands in every format of the outlook, and only when asked for."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json as plain_json
from dataclasses import replace
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import jsonschema
import pytest
from hostile_names import HOSTILE
from icalendar import Calendar
from page_reader import Page, stands_alone
from typer.testing import CliRunner

from forecaster.cli.main import app
from forecaster.render import calendar, html, json, markdown, sms, table, text
from forecaster.service.daily import outlook
from forecaster.service.rig.wiring import plan_for

if TYPE_CHECKING:
    from pathlib import Path

    import numpy as np

    from forecaster.domain.outlook import Outlook
    from forecaster.domain.rig.rig_plan import RigPlan, Stop
    from forecaster.service.farm_day import FarmDay

Planned = tuple["Outlook", "RigPlan"]


@pytest.fixture(scope="module")
def planned(demo_day: FarmDay) -> Planned:
    """The demo's outlook and plan."""
    value = outlook(demo_day, demo=True)
    return value, plan_for(demo_day, value)


def local(moment: np.datetime64) -> dt.datetime:
    """On the demo's clock, by the standard library."""
    return dt.datetime.fromtimestamp(
        int(moment.astype("int64")), ZoneInfo("Australia/Melbourne")
    )


def in_full(stop: Stop) -> str:
    """``Mon 12 Oct 09:00-11:30: Woolshed``."""
    start, end = local(stop.start), local(stop.end)
    day = f"{start:%a} {start.day} {start:%b}"
    return f"{day} {start:%H:%M}-{end:%H:%M}: {stop.paddock}"


def in_short(stop: Stop) -> str:
    """``Woolshed Mon 9-11:30 am.``."""
    both = local(stop.start), local(stop.end)
    first, last = (f"{at:%I:%M}".lstrip("0").removesuffix(":00") for at in both)
    halves = [f"{at:%p}".lower() for at in both]
    half = "" if halves[0] == halves[1] else f" {halves[0]}"
    return f"{stop.paddock} {both[0]:%a} {first}{half}-{last} {halves[1]}."


def test_words_name_every_stop_and_every_miss(planned: Planned) -> None:
    """Text, Markdown and HTML: hours, paddock, and what is lost with a day."""
    value, plan = planned
    assert plan.stops
    assert plan.missed
    said = {
        "text": " ".join(text.render(value, plan).split()),
        "md": markdown.render(value, plan).replace("\\", ""),
        "html": Page(html.render(value, plan)).words,
    }
    for each in said.values():
        for stop in plan.stops:
            assert in_full(stop) in each
        for day in plan.days:
            for lost in day.lost:
                assert f"{lost.paddock} is lost" in each
        for miss in plan.missed:
            assert f"{miss.paddock}, {miss.hectares:.0f} ha:" in each
    stands_alone(html.render(value, plan))
    for made in (text, markdown, html):
        without = made.render(value).replace("\\", "")
        assert not any(in_full(stop) in without for stop in plan.stops)
        assert "is lost" not in without


def test_the_calendar_holds_each_stop(planned: Planned) -> None:
    """RFC 5545, read back by icalendar: moments, tentative, an identity."""
    value, plan = planned
    read = Calendar.from_ical(calendar.render(value, plan))
    stops: list[Any] = [
        each for each in read.walk("VEVENT") if "rig planned" in str(each["SUMMARY"])
    ]
    assert [each["DTSTART"].dt.timestamp() for each in stops] == [
        each.start.astype("int64") for each in plan.stops
    ]
    assert [each["DTEND"].dt.timestamp() for each in stops] == [
        each.end.astype("int64") for each in plan.stops
    ]
    assert {str(each["STATUS"]) for each in stops} == {"TENTATIVE"}
    uids = [str(each["UID"]) for each in read.walk("VEVENT")]
    assert len(set(uids)) == len(uids)
    later = replace(plan, stops=tuple(
        replace(each, start=each.start + 1800, end=each.end + 1800)
        for each in plan.stops
    ))  # fmt: skip
    again = Calendar.from_ical(calendar.render(value, later))
    assert [str(each["UID"]) for each in again.walk("VEVENT")] == uids


def test_the_table_has_columns_for_it(planned: Planned) -> None:
    """Read back by the csv module; hectares add up to the plan's."""
    value, plan = planned
    rows = list(
        csv.DictReader(io.StringIO(table.render(value, plan).decode("utf-8-sig")))
    )
    mine = [row for row in rows if row["plan_start"]]
    assert {row["paddock"] for row in mine} == {each.paddock for each in plan.stops}
    hectares = sum(float(row["plan_hectares"]) for row in mine)
    assert hectares == pytest.approx(plan.hectares)
    assert b"plan_start" not in table.render(value)


def test_the_first_message_is_the_order(planned: Planned) -> None:
    """After the word that the demo is invented; one message of a phone."""
    value, plan = planned
    first, second, *_ = sms.lines(value, plan)
    assert first.startswith("DEMO")
    order = " ".join(in_short(stop) for stop in plan.stops)
    assert second == f"Order: {order} Check at the site."
    many = replace(plan, stops=plan.stops * 5)
    assert len(sms.lines(value, many)[1]) <= 160
    none = replace(plan, stops=())
    assert sms.lines(value, none)[1].startswith("Order: no paddock fits")


def test_json_keeps_to_its_schema(planned: Planned, root: Path) -> None:
    """With a plan and without."""
    value, plan = planned
    schema = plain_json.loads(
        (root / "docs/reference/outlook.schema.json").read_text(encoding="utf-8")
    )
    for made in (json.render(value), json.render(value, plan)):
        jsonschema.validate(plain_json.loads(made), schema)
    assert len(plain_json.loads(json.render(value, plan))["plan"]["stops"]) == len(
        plan.stops
    )


def test_forty_hostile_names_are_text(planned: Planned) -> None:
    """A paddock's name in the order is shown, and is nothing else."""
    value, plan = planned
    plain = sorted({tag for tag, _ in Page(html.render(value, plan)).tags})
    old = plan.stops[0].paddock
    for name in HOSTILE:
        named = replace(
            value,
            paddocks=tuple(
                replace(each, name=name) if each.name == old else each
                for each in value.paddocks
            ),
        )
        stops = tuple(
            replace(each, paddock=name) if each.paddock == old else each
            for each in plan.stops
        )
        mine = replace(plan, stops=stops)
        read = Page(html.render(named, mine))
        assert sorted({tag for tag, _ in read.tags}) == plain, name
        assert sms.lines(named, mine)[1].startswith("Order: ")
        assert calendar.render(named, mine)


def test_the_command(tmp_path: Path) -> None:
    """--plan goes with every format, and with one farm alone."""
    runner = CliRunner()
    ran = runner.invoke(app, ["outlook", "--plan", "--format", "md"])
    assert ran.exit_code == 0
    assert "## The rig: in order" in ran.output
    ran = runner.invoke(app, ["outlook", "--plan", "--farms", str(tmp_path)])
    assert ran.exit_code != 0
    assert "--plan" in str(ran.exception)
