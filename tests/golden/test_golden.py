"""The demo farm's pages, to the byte; ``pytest tests/golden --remake`` writes them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from spray_records import view_of_one

from forecaster.render import (
    advise_text,
    explain_text,
    graze_text,
    hours_text,
    html,
    json,
    look_advice_text,
    odds_text,
    paddock_html,
    record_html,
    record_text,
    rig_json,
    rig_text,
    season_svg,
    season_text,
    text,
)
from forecaster.service.advice import advice
from forecaster.service.daily import outlook
from forecaster.service.explain_view import explain
from forecaster.service.graze import graze_page
from forecaster.service.hours_view import paddock_hours
from forecaster.service.look_advice import look_advice
from forecaster.service.odds import odds_page
from forecaster.service.rig.wiring import plan_of
from forecaster.service.season_view import season_page
from forecaster.service.wiring import chosen

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.service.farm_day import FarmDay


def record_pages(day: FarmDay) -> dict[str, str]:
    """A record of the demo's farm, listed and as a page."""
    view = view_of_one(day, "Creek Flat")
    return {
        "records.txt": record_text.listing(view),
        "record.html": record_html.render(view, "Creek Flat"),
    }


@pytest.fixture(scope="module")
def pages(demo_day: FarmDay) -> dict[str, str]:
    """Every page of the demo by the name of its golden file."""
    day = demo_day
    value = outlook(day, demo=True)
    back_road = chosen(day, "Back Road", None)
    plan = plan_of(day, demo=True, rigs=None, days=None, largest=60)
    creek_flat = chosen(day, "Creek Flat", None)[0]
    house = chosen(day, "House", None)[0]
    return {
        "outlook.txt": text.render(value),
        "outlook.json": json.render(value),
        "outlook.html": html.render(value),
        "hours.txt": hours_text.render(paddock_hours(day, *back_road)),
        "hours.json": json.dumps(hours_text.tree(paddock_hours(day, *back_road))),
        "explain.txt": explain_text.render(explain(day, *back_road)),
        "explain.json": json.dumps(explain_text.tree(explain(day, *back_road))),
        "season.txt": season_text.render(season_page(day, back_road[0], demo=True)),
        "season.svg": season_svg.render(season_page(day, back_road[0], demo=True)),
        "season.html": paddock_html.render(
            season_page(day, back_road[0], demo=True),
            [
                paddock_hours(day, back_road[0], day.farm.actives[each])
                for each in back_road[0].actives
            ],
        ),
        "odds.txt": odds_text.render(
            odds_page(day, (back_road[0],), demo=True), days=True
        ),
        "advise-creek-flat.txt": advise_text.render(advice(day, creek_flat, demo=True)),
        "advise-house.txt": advise_text.render(advice(day, house, demo=True)),
        "look-advice.txt": look_advice_text.render(day.farm.name, look_advice(day)),
        "plan.txt": rig_text.render(plan),
        "plan.json": json.dumps(rig_json.tree(plan)),
        "graze.txt": graze_text.render(graze_page(day, demo=True)),
        **record_pages(day),
    }


@pytest.mark.parametrize(
    "name",
    [
        "outlook.txt",
        "outlook.json",
        "outlook.html",
        "hours.txt",
        "hours.json",
        "explain.txt",
        "explain.json",
        "season.txt",
        "season.svg",
        "season.html",
        "odds.txt",
        "look-advice.txt",
        "plan.txt",
        "plan.json",
        "advise-creek-flat.txt",
        "advise-house.txt",
        "graze.txt",
        "records.txt",
        "record.html",
    ],
)
def test_the_demo_prints_what_it_printed(
    name: str, pages: dict[str, str], root: Path, request: pytest.FixtureRequest
) -> None:
    """Same farm, same weather, same moment: the same bytes."""
    path = root / "fixtures" / "golden" / name
    made = pages[name]
    if request.config.getoption("--remake"):
        path.write_text(made, encoding="utf-8", newline="\n")
    assert made == path.read_text(encoding="utf-8")


def test_two_runs_make_the_same_outlook(demo_day: FarmDay) -> None:
    """Nothing but the inputs goes in."""
    assert json.render(outlook(demo_day)) == json.render(outlook(demo_day))


def test_text_keeps_to_eighty_columns(pages: dict[str, str]) -> None:
    """Every line of every text page."""
    for name, made in pages.items():
        if name.endswith(".txt"):
            long = [line for line in made.splitlines() if len(line) > 80]
            assert not long, (name, long)
