"""All asks of one refresh share one time: a service that hangs costs it once."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING
from urllib.parse import parse_qs, urlparse

import numpy as np
import pytest

from forecaster.errors import NoWeatherError
from forecaster.service.open_weather import gather
from forecaster.settings.farm import load_farm

if TYPE_CHECKING:
    from pathlib import Path

    from .conftest import Service

HOUR = np.timedelta64(3600, "s")
ASKS = 8
"""Forecast, run, profile, members, and four years."""


def years_of(asked: list[str]) -> list[int]:
    """The years of the archive that were asked for, in turn."""
    paths = [urlparse(path) for path in asked if "/v1/archive" in path]
    starts = [parse_qs(path.query)["start_date"][0] for path in paths]
    return [int(start[:4]) + 1 for start in starts]


def test_a_service_that_hangs_takes_the_time_of_one_refresh(
    farm: Path, service: tuple[Service, str]
) -> None:
    """Answers in drips: the first ask takes it all, the rest fall back and say so."""
    state, _ = service
    budget = 1.0
    before = gather(load_farm(farm), state.now)
    fetched, asked = state.now, len(state.asked)
    assert asked == ASKS
    state.now += 13 * HOUR
    state.dripping = "/"
    start = time.monotonic()
    after = gather(load_farm(farm), state.now, budget=budget)
    took = time.monotonic() - start
    assert took < ASKS * budget / 2
    assert len(state.asked) == asked + 1
    assert "past_days=10" in state.asked[-1]
    np.testing.assert_array_equal(
        after.frame.air_temperature, before.frame.air_temperature
    )
    assert after.frame.provenance.issued < fetched
    hours = after.stretches[0]
    assert (hours.kind, hours.fresh, hours.age_hours) == ("hours", False, 13)
    told = "\n".join(after.warnings)
    assert "weather got 13 h ago is used" in told
    assert "no time was left to ask it" in told


def test_with_nothing_kept_a_hanging_service_is_one_clear_error(
    farm: Path, service: tuple[Service, str]
) -> None:
    """After the time of one refresh, with what went wrong."""
    state, _ = service
    state.dripping = "/"
    with pytest.raises(NoWeatherError, match="in time"):
        gather(load_farm(farm), state.now, budget=0.5)
    assert len(state.asked) == 1


def test_what_is_needed_most_is_asked_first(
    farm: Path, service: tuple[Service, str]
) -> None:
    """The archive hangs: the forecast is whole, and one year alone was waited for."""
    state, _ = service
    state.dripping = "/v1/archive"
    found = gather(load_farm(farm), state.now, budget=4.0)
    kinds = [(stretch.kind, stretch.fresh) for stretch in found.stretches]
    assert kinds == [("hours", True), ("profile", True), ("members", True)]
    assert years_of(state.asked) == [2026]
    assert found.past is None
    assert any("no time was left to ask it" in each for each in found.warnings)
    state.dripping = ""
    found = gather(load_farm(farm), state.now)
    assert found.past is not None
    assert years_of(state.asked)[1:] == [2026, 2025, 2024, 2023]
