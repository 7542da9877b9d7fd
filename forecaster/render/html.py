"""The weekly outlook as one HTML file: no script, nothing fetched, made to be printed.

The first page is the sheet for the wall, one row for each paddock and active; what
follows says the same at length.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from forecaster.domain.planning.next_step import Step
from forecaster.domain.planning.windows import Status
from forecaster.render import (
    entries,
    head_words,
    rig_parts,
    sheet_svg,
    sheet_words,
    words,
)
from forecaster.render.templating import page
from forecaster.render.words import LocalClock

if TYPE_CHECKING:
    from markupsafe import Markup

    from forecaster.domain.outlook import ActiveOutlook, Outlook, PaddockOutlook
    from forecaster.domain.rig.rig_plan import RigPlan

WEEK_OVER = {Status.CLOSED, Status.SPRAYED}


@dataclass(frozen=True, slots=True)
class Line:
    """One active of a row."""

    active: str
    status: str
    weeks: Markup
    week: Markup | None
    """None: its hours no longer matter."""
    hours: list[tuple[str, str]]
    window: tuple[str, str]
    step: tuple[str, str]


@dataclass(frozen=True, slots=True)
class Row:
    """One paddock of the sheet; ``lines`` is empty where it cannot be told."""

    paddock: PaddockOutlook
    anchor: str
    heads: str
    looked: str
    barred: str
    stock: str
    """What presses about its stock; mostly empty."""
    lines: list[Line]
    told: list[entries.Entry]
    actives: list[tuple[str, list[entries.Entry]]]


def render(outlook: Outlook, plan: RigPlan | None = None) -> str:
    """The whole page; same outlook and plan of a rig, same bytes."""
    clock = LocalClock(outlook.place.zone)
    week = sheet_svg.Week.of(outlook, clock)
    rows = [
        _row(outlook, paddock, number=number, week=week, clock=clock)
        for number, paddock in enumerate(outlook.paddocks)
    ]
    return page(
        "outlook.html.j2",
        outlook=outlook,
        title=head_words.title(outlook, clock),
        banner=head_words.banner(demo=outlook.demo, invented=outlook.weather.invented),
        printed=clock.full(outlook.now),
        until=clock.full(outlook.until),
        age=f"{outlook.weather.age_hours:.0f} h old",
        issued=clock.hour(outlook.weather.issued),
        zone=outlook.place.zone,
        weather=head_words.weather(outlook, clock),
        season_break=head_words.season_break(outlook),
        behind=head_words.behind(outlook),
        rows=sorted(rows, key=_urgency),
        plan=[] if plan is None else rig_parts.brief(plan),
        weeks_axis=_weeks_axis(outlook, clock),
        week_axis=_week_axis(week),
        daylight=_hours(week),
        sample=_sample,
    )


def _sample(kind: str) -> Markup:
    """A mark of the legend."""
    from markupsafe import Markup

    return Markup(sheet_svg.sample(kind))  # noqa: S704 - our own drawing


def _row(
    outlook: Outlook,
    paddock: PaddockOutlook,
    *,
    number: int,
    week: sheet_svg.Week,
    clock: LocalClock,
) -> Row:
    counted = entries.counted_on(paddock, clock)
    return Row(
        paddock=paddock,
        anchor=f"p{number}",
        heads=sheet_words.heads(paddock),
        looked=sheet_words.looked(paddock, clock),
        barred=sheet_words.barred(paddock.barred_wind),
        stock=sheet_words.stock_off(paddock),
        lines=[
            _line(
                outlook, paddock, active, name=f"p{number}a{at}", week=week, clock=clock
            )
            for at, active in enumerate(paddock.actives)
            if active.step is not Step.DOES_NOT_CONTROL
        ],
        told=entries.paddock_entries(paddock, clock),
        actives=[
            (active.active, _told(active, clock, counted)) for active in paddock.actives
        ],
    )


def _told(
    active: ActiveOutlook, clock: LocalClock, counted: str
) -> list[entries.Entry]:
    """Its entries under its own heading: the first need not name it again."""
    (_, first), *rest = entries.active_entries(active, clock, counted)
    return [("window", first), *rest]


def _line(
    outlook: Outlook,
    paddock: PaddockOutlook,
    active: ActiveOutlook,
    *,
    name: str,
    week: sheet_svg.Week,
    clock: LocalClock,
) -> Line:
    from markupsafe import Markup

    of = f"{paddock.name}, {active.active}"
    look = () if paddock.look is None else (paddock.look.moment,)
    hours = sheet_words.week(active, clock)
    said = "; ".join(f"{label}: {which}" for label, which in hours)
    weeks = sheet_svg.window_strip(
        active, look, outlook.now, clock,
        (f"{name}w", f"Stage window of {of}", _window_words(active, clock)),
    )  # fmt: skip
    strip = sheet_svg.week_strip(
        active, week, clock, (f"{name}h", f"Hours of {of}", said)
    )
    return Line(
        active=active.active,
        status=active.status.value,
        weeks=Markup(weeks),  # noqa: S704 - our own drawing; its words are escaped
        week=None if active.status in WEEK_OVER else Markup(strip),  # noqa: S704 - likewise
        hours=hours,
        window=sheet_words.window(active, clock),
        step=sheet_words.next_step(
            active, clock, entries.counted_on(paddock, clock), paddock.after
        ),
    )


def _window_words(active: ActiveOutlook, clock: LocalClock) -> str:
    if active.window is None:
        return "The window is not known."
    return (
        f"Opens {words.likely_range(active.window.open, clock)}, closes "
        f"{words.likely_range(active.window.closed, clock)}; open now "
        f"{words.in_ten(active.chance_open_now)}."
    )


def _urgency(row: Row) -> int:
    """Of the most urgent active; a paddock that cannot be told stands with unknown."""
    found = [
        entries.URGENCY[active.status]
        for active in row.paddock.actives
        if active.step is not Step.DOES_NOT_CONTROL
    ]
    unknown = entries.URGENCY[Status.UNKNOWN]
    last = unknown if row.paddock.fault is not None else max(entries.URGENCY.values())
    return min(found, default=last)


def _weeks_axis(outlook: Outlook, clock: LocalClock) -> list[tuple[str, str]]:
    """The Mondays of the six weeks."""
    import datetime as dt

    first = sheet_svg.calendar_start(outlook.now, clock)
    days = [first + dt.timedelta(weeks=week) for week in range(sheet_svg.WEEKS)]
    return [(f"{day.day}", f"{day:%b}") for day in days]


def _week_axis(week: sheet_svg.Week) -> list[tuple[str, str]]:
    """The days of the week ahead."""
    import datetime as dt

    days = [week.first + dt.timedelta(days=day) for day in range(week.days)]
    return [(f"{day:%a}", f"{day.day}") for day in days]


def _hours(week: sheet_svg.Week) -> str:
    """``6:00 to 20:00``, the part of each day that is drawn."""
    return " to ".join(
        f"{hour // 60}:{hour % 60:02d}"
        for hour in (round(60 * week.opens), round(60 * week.closes))
    )
