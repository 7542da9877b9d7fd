"""What alerts rest on is what the outlook prints."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy import stats

from forecaster.domain.alerts.phases import few_hours
from forecaster.domain.growth.stage_window import StageWindow
from forecaster.domain.planning.windows import (
    LAST_DAYS,
    MAY_CLOSE,
    NEXT_DAYS,
    Status,
    soonest_close,
    status_of,
)
from forecaster.domain.weather import HOUR
from forecaster.service.daily import outlook
from forecaster.service.farm_day import FarmDay
from forecaster.service.readings import basis_of, farm_reading, readings
from forecaster.service.wiring import farm_day
from forecaster.settings.shipped import demo_folder

if TYPE_CHECKING:
    from forecaster.domain.alerts.reading import Reading
    from forecaster.domain.outlook import Outlook


@cache
def demo() -> tuple[FarmDay, Outlook, dict[tuple[str, str], Reading]]:
    """The demo farm, its outlook and its readings."""
    day, _ = farm_day(demo_folder(), None, None)
    found = {(each.paddock, each.key.active): each for each in readings(day)}
    return day, outlook(day), found


def test_dates_and_blocks_are_the_outlooks() -> None:
    """Each window: opening, close, chance, and good hours inside it."""
    day, page, found = demo()
    assert len(found) == sum(len(each.actives) for each in page.paddocks)
    for paddock in page.paddocks:
        for active in paddock.actives:
            mine = found[paddock.name, active.active]
            window = active.window
            assert window is not None
            assert tuple(mine.open) == (
                window.open.early, window.open.likely, window.open.late,
            )  # fmt: skip
            assert tuple(mine.close) == (
                window.closed.early, window.closed.likely, window.closed.late,
            )  # fmt: skip
            assert mine.open_now == active.chance_open_now
            assert mine.needed == pytest.approx(paddock.hectares / 13.4)
            against = paddock.uneven is not None or active.against is not None
            assert bool(mine.against) is against
            if mine.against:
                continue
            inside = [each for each in active.blocks if each.in_window]
            assert [each.start for each in mine.blocks] == [
                max(each.start, day.weather.now) for each in inside
            ]
            hours = sum(float((b.end - b.start) / HOUR) for b in mine.blocks)
            assert mine.hours == pytest.approx(hours)


def test_no_hours_are_named_where_heads_are_uneven() -> None:
    """As the page does: none is good to spray on a mean that few heads are at."""
    day, page, found = demo()
    uneven = [each for each in page.paddocks if each.uneven is not None]
    assert [each.name for each in uneven] == ["Top Dam"]
    blocks = [block for active in uneven[0].actives for block in active.blocks]
    assert any(block.in_window for block in blocks)
    for active in uneven[0].actives:
        mine = found["Top Dam", active.active]
        assert mine.blocks == ()
        assert np.isnan(mine.hours)
        assert np.isnan(mine.look_hours)
        assert not mine.fault
        now, rules = day.weather.now, day.farm.alerts.rules
        assert not few_hours(mine, farm_reading(day, now, ""), rules, now=now)


def test_hours_beyond_the_judged_week_are_not_in_sight() -> None:
    """A forecast may reach further than the week that is judged.

    What was not judged may hold any number of good hours: no block is "the only one".
    """
    day, _, found = demo()
    week = day.weather.now + 7 * 24 * HOUR
    assert {mine.in_sight for mine in found.values()} == {True, False}
    frame = day.weather.frame
    shift = 5 * 24 * HOUR
    longer = replace(day.weather, now=day.weather.now - shift)
    earlier = FarmDay.of(day.farm, longer)
    assert frame.time[-1] > week - shift
    for mine in readings(earlier):
        close = mine.close.likely
        assert mine.in_sight is (close is not None and bool(close <= week - shift))


def test_one_paddock_that_fails_stops_no_other(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """It says why, and nothing else of it is told."""
    from forecaster.service.paddock_window import paddock_window as right

    def wrong(paddock, projection, mode):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
        if paddock.name == "House":
            raise ZeroDivisionError("planted")
        return right(paddock, projection, mode)

    monkeypatch.setattr("forecaster.service.readings.paddock_window", wrong)
    day, _ = farm_day(demo_folder(), None, None)
    found = {each.paddock: each for each in readings(day)}
    assert found["House"].fault == "ZeroDivisionError: planted"
    assert np.isnan(found["House"].open_now)
    assert found["Back Road"].fault == ""


def test_the_farm_reading() -> None:
    """Issue, season, horizon, and the last hour that was observed."""
    day, _, _ = demo()
    seen = farm_reading(day, day.weather.now, "b")
    assert seen.season == 2026
    # The demo's file: observed to 06:00 local, and it is 07:00.
    assert seen.seen_until == np.datetime64("2026-10-11T20:00:00")
    assert seen.issued == np.datetime64("2026-10-11T19:00:00")
    assert seen.skew_s is None
    later = replace(day.weather, service_clock=day.weather.now - 2 * HOUR)
    skewed = farm_reading(replace(day, weather=later), day.weather.now, "b")
    assert skewed.skew_s == 7200.0


def test_the_basis_changes_with_the_farms_files(tmp_path) -> None:  # type: ignore[no-untyped-def]  # noqa: ANN001
    """Settings, map and looks; not the weather."""
    import shutil

    from forecaster.settings.farm import load_farm

    folder = tmp_path / "farm"
    shutil.copytree(demo_folder(), folder)
    first = basis_of(load_farm(folder))
    (folder / "hours.csv").touch()
    assert basis_of(load_farm(folder)) == first
    (folder / "looks.jsonl").write_text("")
    assert basis_of(load_farm(folder)) != first


def _window(closed: np.ndarray[tuple[int], np.dtype[np.float64]]) -> StageWindow:
    edges = closed.reshape(1, -1)
    return StageWindow(np.zeros_like(edges), edges, edges, edges)


def test_the_soonest_close_is_a_fifth_of_those_open() -> None:
    """Against scipy's normal distribution, cut off at now."""
    even = (np.arange(20_000) + 0.5) / 20_000
    closed = stats.norm(6.0, 3.0).ppf(even)
    found = soonest_close(_window(closed), 4.0)
    left = stats.truncnorm((4.0 - 6.0) / 3.0, np.inf, 6.0, 3.0)
    assert found == pytest.approx(left.ppf(MAY_CLOSE), abs=0.01)


@pytest.mark.parametrize("day", [1.0, 5.0, 8.0, 11.0])
def test_closing_is_what_the_outlook_calls_so(day: float) -> None:
    """The soonest close within two days, or the likely one within three."""
    for spread in (0.5, 2.0, 5.0):
        closed = stats.norm(12.0, spread).ppf((np.arange(1000) + 0.5) / 1000)
        window = _window(closed)
        soon = soonest_close(window, day) <= day + NEXT_DAYS
        near = float(np.median(closed)) <= day + LAST_DAYS
        closing = status_of(window, day).status is Status.CLOSING
        assert closing is (soon or near)


def test_no_window_that_is_open_has_no_soonest_close() -> None:
    """Nor one with an edge that is not known."""
    assert np.isnan(soonest_close(_window(np.array([3.0, 4.0])), 9.0))
    assert np.isnan(soonest_close(_window(np.array([3.0, np.nan])), 1.0))
