"""``forecaster odds`` as people meet it."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hostile_names import HOSTILE
from typer.testing import CliRunner

from forecaster.cli.main import app
from forecaster.domain.place import Place
from forecaster.domain.planned import planned_blocks
from forecaster.render import odds_text
from forecaster.service.daily import outlook
from forecaster.service.odds import needed, odds_page
from forecaster.settings.farm import load_farm
from forecaster.settings.odds import habit_near
from forecaster.settings.shipped import config_folder, demo_folder

if TYPE_CHECKING:
    from forecaster.domain.odds_page import OddsPage
    from forecaster.service.farm_day import FarmDay


@pytest.fixture(scope="module")
def page(demo_day: FarmDay) -> OddsPage:
    """The demo's chances."""
    return odds_page(demo_day, demo_day.farm.paddocks, demo=True)


def test_every_paddock_and_active_has_a_line(page: OddsPage, demo_day: FarmDay) -> None:
    """With chances, or with the reason why there is none."""
    told = {(each.paddock, each.active) for each in page.paddocks}
    farm = demo_day.farm
    assert told == {
        (each.name, active) for each in farm.paddocks for active in each.actives
    }
    for each in page.paddocks:
        assert bool(each.reason) is not bool(each.days)
    uneven = [each for each in page.paddocks if each.paddock == "Top Dam"]
    assert all("uneven" in each.reason for each in uneven)


def test_chances_grow_with_days_and_fall_with_waiting(page: OddsPage) -> None:
    """And both meet in the chance of all the hours known."""
    for each in page.paddocks:
        if not each.days:
            continue
        by = np.array([day.by for day in each.days])
        waiting = np.array([day.waiting for day in each.days])
        assert (np.diff(by) >= -1e-12).all()
        assert (np.diff(waiting) <= 1e-12).all()
        assert by[-1] == pytest.approx(waiting[0])
        assert ((by >= 0) & (by <= 1)).all()


def test_a_day_is_worth_no_more_than_window_and_hours(
    page: OddsPage, demo_day: FarmDay
) -> None:
    """Back Road: its one block is on Wednesday; no more than that block holds."""
    each = next(
        mine
        for mine in page.paddocks
        if (mine.paddock, mine.active) == ("Back Road", "glyphosate")
    )
    told = next(p for p in outlook(demo_day).paddocks if p.name == "Back Road")
    active = next(one for one in told.actives if one.active == "glyphosate")
    (block,) = planned_blocks(active)
    day = sum(bool(other.start <= block.start) for other in each.days) - 1
    assert each.first == day
    assert 0 < each.days[day].by <= block.chance
    assert each.days[day - 1].by == 0
    assert each.hours == pytest.approx(needed(demo_day.farm, 55.0), abs=0.01)
    assert each.run == 5


def test_hours_without_a_rig_are_by_the_assumed_speed(demo_day: FarmDay) -> None:
    """And the page says so."""
    bare = replace(demo_day.farm, rigs=())
    assert needed(bare, 26.8) == pytest.approx(26.8 / bare.alerts.hectares_an_hour)
    shown = odds_page(replace(demo_day, farm=bare), bare.paddocks[:1])
    assert "assumed speed" in odds_text.render(shown)


def test_the_nearest_station_within_reach() -> None:
    """0.33 degrees of latitude and 1.05 of longitude at 37.7 degrees: 99 km."""
    path = config_folder() / "odds.toml"
    found = habit_near(path, Place(-37.595, 142.305, 420, "Australia/Melbourne"))
    assert found is not None
    assert found.station == "Dartmoor"
    assert 90 < found.distance_km < 110
    alice = Place(-23.7, 133.88, 580, "Australia/Darwin")
    assert habit_near(path, alice) is None


def test_forty_hostile_names_are_text(page: OddsPage) -> None:
    """One line each, with nothing in it that a screen obeys; JSON gives them back."""
    for name in HOSTILE:
        mine = replace(page, paddocks=(replace(page.paddocks[0], paddock=name),))
        said = odds_text.render(mine)
        assert all(each.isprintable() or each == "\n" for each in said)
        tree = json.loads(json.dumps(odds_text.tree(mine)))
        assert tree["paddocks"][0]["paddock"] == name


def test_the_command() -> None:
    """A line each; day by day for one; JSON; a wrong name is told."""
    runner = CliRunner()
    every = runner.invoke(app, ["odds"])
    assert every.exit_code == 0
    assert " if you go by Wed 14 Oct" in " ".join(every.output.split())
    one = runner.invoke(app, ["odds", "Back Road"])
    assert "usual here" in one.output
    assert "Woolshed" not in one.output
    tree = json.loads(runner.invoke(app, ["odds", "--format", "json"]).output)
    farm = load_farm(demo_folder())
    assert len(tree["paddocks"]) == sum(len(each.actives) for each in farm.paddocks)
    wrong = runner.invoke(app, ["odds", "Bak Road"])
    assert wrong.exit_code != 0
    assert "Back Road" in str(wrong.exception)
