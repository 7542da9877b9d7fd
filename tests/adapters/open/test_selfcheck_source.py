"""The self-check asks the weather service once, and leaves nothing behind."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from forecaster.domain.alerts.finding import Finding, State
from forecaster.service.selfcheck import running
from forecaster.service.selfcheck.subject import Subject

if TYPE_CHECKING:
    from pathlib import Path

    import pytest

    from .conftest import Service

MINUTE = np.timedelta64(60, "s")


def now() -> Any:
    """The real clock: the service's header Date goes by it."""
    from forecaster.service.clock import utc_now

    return utc_now()


def both(farm: Path, moment: Any, *, offline: bool = False) -> tuple[Finding, Finding]:
    """time.skew and net.source."""
    subject = Subject.of(farm, moment, offline=offline)
    skew, source = running.selfcheck(subject, ["time.skew", "net.source"])
    return skew, source


def test_one_question_for_both(farm: Path, service: tuple[Service, str]) -> None:
    """The clock is held against the service's header Date (RFC 9110, 6.6.1)."""
    service[0].now = now()
    skew, source = both(farm, now())
    assert (skew.state, source.state) == (State.OK, State.OK)
    assert "from the weather service's clock" in skew.words
    assert "answers" in source.words
    assert len(service[0].asked) == 1
    assert [each.name for each in farm.iterdir()] == ["farm.toml"]


def test_a_clock_that_is_wrong(farm: Path, service: tuple[Service, str]) -> None:
    """Half an hour ahead and behind; ten minutes are allowed (config/alerts.toml)."""
    service[0].now = now()
    for shift, side in ((30, "ahead of"), (-30, "behind")):
        skew, _ = both(farm, now() + shift * MINUTE)
        assert (skew.state, skew.code) == (State.FAIL, 75)
        assert f"30 min {side}" in skew.words


def test_a_service_that_is_down(farm: Path, service: tuple[Service, str]) -> None:
    """The reason and its code; skew is skipped."""
    service[0].now = now()
    service[0].gone = "forecast"
    skew, source = both(farm, now())
    assert skew.state is State.SKIPPED
    assert source.state is State.FAIL
    assert source.code != 0
    assert "gave no forecast" in source.words


def test_offline_nobody_is_asked(farm: Path, service: tuple[Service, str]) -> None:
    """Not with one question."""
    both(farm, now(), offline=True)
    assert service[0].asked == []


def test_a_host_that_rests_is_left_alone(
    farm: Path, service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """429 with two hours to wait, kept by the daily line, holds here as well."""
    from forecaster.service import wiring

    moment = now()
    service[0].now, service[0].limited = moment, True
    monkeypatch.setattr(wiring, "utc_now", lambda: moment)
    from forecaster.service.asker import asker_for
    from forecaster.settings.farm import load_farm
    from forecaster.sources import openmeteo_forecast

    asker = asker_for(load_farm(farm), moment, offline=False)
    asked = openmeteo_forecast.request(asker.place, moment, access=asker.access)
    assert asker.ask(asked, openmeteo_forecast.parse) is None
    before = len(service[0].asked)
    _, source = both(farm, moment + MINUTE)
    assert (source.state, source.code) == (State.FAIL, 75)
    assert len(service[0].asked) == before
