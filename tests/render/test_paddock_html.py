"""One paddock's page: whole, for screen readers, any name, every hour."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from hostile_names import HOSTILE
from page_reader import Page, can_be_read_aloud, stands_alone

from forecaster.domain.spraying.limits import Verdict
from forecaster.domain.weather import HOUR
from forecaster.render import paddock_html, week_svg
from forecaster.render.words import VERDICT_WORDS, LocalClock
from forecaster.service.hours_view import paddock_hours
from forecaster.service.season_view import season_page
from forecaster.service.wiring import chosen

if TYPE_CHECKING:
    from forecaster.domain.paddock_hours import PaddockHours
    from forecaster.domain.season_page import SeasonPage
    from forecaster.service.farm_day import FarmDay


def seen(day: FarmDay, name: str) -> tuple[SeasonPage, list[PaddockHours]]:
    """What a paddock's page is made from."""
    place = chosen(day, name, None)[0]
    actives = (day.farm.actives[each] for each in place.actives)
    weeks = [paddock_hours(day, place, active) for active in actives]
    return season_page(day, place, demo=True), weeks


@pytest.fixture(scope="module")
def back_road(demo_day: FarmDay) -> tuple[SeasonPage, list[PaddockHours]]:
    """The demo's most urgent paddock."""
    return seen(demo_day, "Back Road")


def test_the_page_stands_alone(
    back_road: tuple[SeasonPage, list[PaddockHours]],
) -> None:
    """The same values give the same bytes; nothing is fetched; it can be read aloud."""
    page = paddock_html.render(*back_road)
    assert paddock_html.render(*back_road) == page
    stands_alone(page)
    can_be_read_aloud(page)


def test_what_a_stranger_needs_is_there(
    back_road: tuple[SeasonPage, list[PaddockHours]],
) -> None:
    """Paddock, moment, age of the weather, both actives, every caution, the demo."""
    page, weeks = back_road
    said = Page(paddock_html.render(page, weeks)).words
    for needed in (
        "Back Road", "Mon 12 Oct 2026 07:00 AEDT", "1 h old", "glyphosate", "paraquat",
        "DEMO FARM", *(" ".join(each.split()) for each in page.cautions),
    ):  # fmt: skip
        assert needed in said


def test_every_hour_stands_in_the_table_once(
    back_road: tuple[SeasonPage, list[PaddockHours]],
) -> None:
    """Stretches cover the week without a gap, each with the verdict of its hours."""
    clock = LocalClock("Australia/Melbourne")
    for week in back_road[1]:
        rows = paddock_html.stretches(week, clock)
        words = [VERDICT_WORDS[each.verdict] for each in week.hours]
        runs = [a for a, b in zip(words, [None, *words[:-1]], strict=True) if a != b]
        merged = [
            row.verdict
            for row, before in zip(rows, [None, *rows[:-1]], strict=True)
            if before is None or before.verdict != row.verdict
        ]
        assert merged == runs
        first, last = week.hours[0].time, week.hours[-1].time
        assert rows[0].when.startswith(f"{clock.local(first):%a}")
        assert rows[-1].when.endswith(f"{clock.local(last + HOUR):%H:%M}")


def test_forty_hostile_names_are_text(
    back_road: tuple[SeasonPage, list[PaddockHours]],
) -> None:
    """R21: whatever a name holds, it is shown, and is nothing else."""
    page, weeks = back_road
    plain = [tag for tag, _ in Page(paddock_html.render(page, weeks)).tags]
    for name in HOSTILE:
        named = replace(page, farm=name, paddock=replace(page.paddock, name=name))
        read = Page(
            paddock_html.render(named, [replace(each, paddock=name) for each in weeks])
        )
        found = [tag for tag, _ in read.tags]
        assert sorted(set(found)) == sorted(set(plain)), name
        assert " ".join(name.split()) in read.words, name


def test_uneven_heads_leave_no_solid_hours(demo_day: FarmDay) -> None:
    """Top Dam: its fit hours stand low and hollow, and none is said to be good."""
    page, weeks = seen(demo_day, "Top Dam")
    assert any(hour.verdict is Verdict.GOOD for week in weeks for hour in week.hours)
    drawn = week_svg.render(weeks, page.paddock)
    assert 'fill="#000" stroke="#000"' not in drawn
    assert "glyphosate, good: none." in drawn


def test_unknown_hours_are_not_drawn_as_known(
    back_road: tuple[SeasonPage, list[PaddockHours]],
) -> None:
    """No line through values that are not known; the words say so."""
    nan = float("nan")
    page, weeks = back_road
    air: dict[str, Any] = dict.fromkeys(
        ("wind_from", "wind_speed", "delta_t", "rain", "inversion_risk"), nan
    )
    blank = [
        replace(
            week,
            hours=tuple(
                replace(hour, verdict=Verdict.UNKNOWN, **air) for hour in week.hours
            ),
        )
        for week in weeks
    ]
    drawn = week_svg.render(blank, page.paddock)
    assert drawn.count(">not known<") == 4
    assert "nan" not in drawn.lower()
    assert "not known" in Page(paddock_html.render(page, blank)).words
    assert "No hours are known." in Page(paddock_html.render(page, [])).words
