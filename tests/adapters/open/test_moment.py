"""Standing at another moment: the clock is left alone, and nothing gets younger."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.domain.spraying.limits import Quantity
from forecaster.domain.weather import Origin
from forecaster.render import text
from forecaster.service import wiring
from forecaster.service.chance import chances_of
from forecaster.service.daily import outlook
from forecaster.service.judging import judge_paddock

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.outlook import Outlook
    from forecaster.service.farm_day import FarmDay

    from .conftest import Service

HOUR = np.timedelta64(3600, "s")
DAY = 24 * HOUR
PASSED = "this moment has passed"


def day_at(
    farm: Path,
    service: Service,
    monkeypatch: pytest.MonkeyPatch,
    moment: np.datetime64 | None = None,
    *,
    offline: bool = False,
) -> FarmDay:
    """The farm at ``moment``, if not at the service's own, which the clock shows."""
    monkeypatch.setattr(wiring, "utc_now", lambda: service.now)
    at = None if moment is None else f"{moment}Z"
    day, _ = wiring.farm_day(farm, at, None, offline=offline)
    assert day.weather.now == (service.now if moment is None else moment)
    return day


def good_hours(value: Outlook) -> int:
    """Good blocks of all paddocks."""
    return sum(len(active.blocks) for p in value.paddocks for active in p.actives)


def kept_at(farm: Path) -> set[str]:
    """The times of retrieval written in the last-good store."""
    files = list((farm / ".weather" / "good").glob("*.kept"))
    assert len(files) == 4 + 4
    heads = (path.read_bytes().split(b"\n")[1] for path in files)
    return {json.loads(head)["retrieved_at"] for head in heads}


@pytest.mark.parametrize("days", [-7, 5])
def test_what_is_fetched_is_kept_with_the_time_it_came(
    farm: Path,
    service: tuple[Service, str],
    monkeypatch: pytest.MonkeyPatch,
    days: int,
) -> None:
    """Standing at last week or next week; then an ask without is answered fresh."""
    state, _ = service
    day_at(farm, state, monkeypatch, state.now + days * DAY)
    assert kept_at(farm) == {f"{state.now}Z"}
    asked = len(state.asked)
    state.now += 30 * 60
    day = day_at(farm, state, monkeypatch)
    assert len(state.asked) == asked
    assert all(stretch.fresh for stretch in day.weather.stretches)
    assert {stretch.age_hours for stretch in day.weather.stretches} == {0.5}
    assert day.weather.warnings == ()


@pytest.mark.parametrize("days", [-7, 5])
def test_a_host_that_wants_to_be_left_alone_is(
    farm: Path,
    service: tuple[Service, str],
    monkeypatch: pytest.MonkeyPatch,
    days: int,
) -> None:
    """Two hours by the clock (RFC 9110 §10.2.3), wherever one stands meanwhile."""
    state, _ = service
    day_at(farm, state, monkeypatch)
    state.now += 2 * HOUR
    state.limited = True
    day_at(farm, state, monkeypatch)
    state.limited = False
    asked = len(state.asked)
    state.now += 119 * 60
    day_at(farm, state, monkeypatch, state.now + days * DAY)
    assert len(state.asked) == asked
    state.now += 60
    day_at(farm, state, monkeypatch, state.now + days * DAY)
    assert len(state.asked) > asked


def test_what_came_after_a_past_moment_is_said_to_have(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Seen before the moment, replayed to the run, forecast from there on."""
    state, _ = service
    moment = state.now - 6 * DAY
    day = day_at(farm, state, monkeypatch, moment)
    frame = day.weather.frame
    run = frame.provenance.issued
    assert moment < run < state.now
    for rows, kind in (
        (frame.time < moment, Origin.OBSERVED),
        ((frame.time >= moment) & (frame.time < run), Origin.REPLAYED),
        (frame.time >= run, Origin.FORECAST),
    ):
        assert set(frame.origin[rows].tolist()) == {kind}
    value = outlook(day)
    assert PASSED in value.weather.warnings[0]
    assert value.weather.age_hours == (state.now - run) / HOUR > 0
    assert PASSED in text.render(value)
    assert all(stretch.age_hours == 0 for stretch in day.weather.stretches)


def test_now_has_not_passed(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without a moment, and from one still to come, no hour is replayed."""
    state, _ = service
    for moment in (None, state.now + DAY):
        day = day_at(farm, state, monkeypatch, moment)
        assert not (day.weather.frame.origin == Origin.REPLAYED).any()
        assert not any(PASSED in each for each in day.weather.warnings)


def test_what_was_there_at_a_past_moment_is_not_called_later(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Fetched, then stood a little later, offline a day after: it was known then."""
    state, _ = service
    fetched = state.now
    day_at(farm, state, monkeypatch)
    state.now += DAY
    day = day_at(farm, state, monkeypatch, fetched + HOUR, offline=True)
    assert not any(PASSED in each for each in day.weather.warnings)
    assert not (day.weather.frame.origin == Origin.REPLAYED).any()
    day = day_at(farm, state, monkeypatch, fetched - HOUR, offline=True)
    assert PASSED in day.weather.warnings[0]


def test_standing_where_it_was_fetched_does_not_make_kept_weather_young(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Three days on its hours to come are as old as they are: none is good."""
    state, _ = service
    fetched = state.now
    assert good_hours(outlook(day_at(farm, state, monkeypatch))) > 0
    state.gone, state.norway_down = "/v1/", True
    state.now += 73 * HOUR
    day = day_at(farm, state, monkeypatch, fetched)
    ahead = day.weather.frame.time >= state.now
    assert ahead.any()
    age = day.air.quantity(Quantity.WEATHER_AGE)
    assert age.min() > 72
    value = outlook(day)
    assert good_hours(value) == 0
    assert value.weather.age_hours > 72


def test_a_moment_to_come_finds_the_forecast_as_old_as_it_will_be(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Eighty hours ahead, what is known today would be eighty hours old and more."""
    state, _ = service
    moment = state.now + 80 * HOUR
    day = day_at(farm, state, monkeypatch, moment)
    issued = day.weather.frame.provenance.issued
    age = day.air.quantity(Quantity.WEATHER_AGE)
    assert set(age.tolist()) == {(moment - issued) / HOUR}
    assert age[0] > 80
    assert good_hours(outlook(day)) == 0
    assert {stretch.age_hours for stretch in day.weather.stretches} == {80}


def test_chances_of_a_past_moment_are_those_of_a_forecast_made_then(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Lead times count from the moment, though a later run is read."""
    state, _ = service
    day = day_at(farm, state, monkeypatch, state.now - 6 * DAY)
    (paddock,) = day.farm.paddocks
    active = day.farm.actives["glyphosate"]
    judged = judge_paddock(day.farm, day.air, paddock, active, paddock.target)
    leads = chances_of(day.air, paddock, judged, day.farm.errors).lead_days
    np.testing.assert_allclose(leads, np.arange(leads.size) / 24)
