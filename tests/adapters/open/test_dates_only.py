"""A forecast without wind or rain: its warmth counts, and none of its hours is good."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.cli.main import exit_code
from forecaster.domain.planning.windows import Status
from forecaster.domain.spraying.limits import Verdict
from forecaster.errors import NoWeatherError
from forecaster.render import text
from forecaster.service import wiring
from forecaster.service.daily import outlook
from forecaster.service.judging import judge_paddock

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.outlook import Outlook
    from forecaster.domain.weather import Codes
    from forecaster.service.farm_day import FarmDay

    from .conftest import DayOf, Service

HOUR = np.timedelta64(3600, "s")
OUT = {
    "wind": ("wind_speed_10m",),
    "rain": ("precipitation",),
    "humidity": ("relative_humidity_2m",),
    "all three": ("wind_speed_10m", "precipitation", "relative_humidity_2m"),
}


@pytest.fixture
def alone(farm: Path, service: tuple[Service, str]) -> Path:
    """The farm in September, without a contact, and so with no second service."""
    service[0].now = np.datetime64("2026-09-10T20:00", "s")
    path = farm / "farm.toml"
    path.write_text(
        path.read_text("utf-8").replace("ask@thornbill-rise.farm", ""), "utf-8"
    )
    return farm


def verdicts(day: FarmDay) -> Codes:
    """Of every hour of the week in the one paddock."""
    (paddock,) = day.farm.paddocks
    active = day.farm.actives["glyphosate"]
    return judge_paddock(day.farm, day.air, paddock, active, "barley_grass").verdict


def good_blocks(value: Outlook) -> int:
    """Good blocks of all paddocks."""
    return sum(len(active.blocks) for p in value.paddocks for active in p.actives)


@pytest.mark.parametrize("left_out", OUT.values(), ids=OUT)
def test_no_hour_is_good_but_dates_are_told(
    alone: Path, service: tuple[Service, str], day_of: DayOf, left_out: tuple[str, ...]
) -> None:
    """Dates are those of the whole forecast: its temperatures are the same."""
    state, _ = service
    state.left_out = left_out
    day = day_of(alone)
    assert set(verdicts(day).tolist()) <= {Verdict.UNKNOWN, Verdict.HOLD}
    value = outlook(day)
    (active,) = value.paddocks[0].actives
    assert good_blocks(value) == 0
    assert active.status is not Status.UNKNOWN
    printed = " ".join(text.render(value).split())
    assert "Its temperatures tell dates; hours without humidity, wind or rain" in (
        printed
    )
    assert "good hours none this week" in printed
    assert "not known (unknown)" in printed
    state.left_out = ()
    (alone / ".weather" / "http" / "answers.sqlite").unlink()
    whole = outlook(day_of(alone))
    assert good_blocks(whole) > 0
    assert whole.paddocks[0].actives[0].window == active.window


def test_the_page_names_what_is_missing_and_asks_once(
    alone: Path,
    service: tuple[Service, str],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """As a user runs it: the quantity by name, one request, none at a second look."""
    state, _ = service
    state.left_out = ("wind_speed_10m",)
    monkeypatch.setattr(wiring, "utc_now", lambda: state.now)
    for command in (["outlook"], ["weather"], ["hours", "P"], ["explain", "P"]):
        assert exit_code([*command, "--farm", str(alone)]) == 0
        capsys.readouterr()
    assert exit_code(["outlook", "--farm", str(alone)]) == 0
    printed = " ".join(capsys.readouterr().out.split())
    assert "the answer has no wind_speed" in printed
    assert "Open-Meteo forecast for dates only" in printed
    assert len(state.asked_for("past_days=10")) == 1


def test_hours_here_and_there_without_rain_are_unknown_the_rest_is_judged(
    alone: Path,
    service: tuple[Service, str],
    day_of: DayOf,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Rain null in one hour of four: no such hour is good, whatever the label says.

    The label states no rain-free time here, so no limit looks at rain to come.
    """
    state, _ = service
    path = alone / "farm.toml"
    kept = path.read_text("utf-8")
    path.write_text(
        kept.replace("rain_free_hours = 6", 'rain_free_hours = "not on label"'), "utf-8"
    )
    answer = state.answer

    def holed(where: str) -> tuple[int, bytes]:
        status, body = answer(where)
        if "past_days=10" not in where:
            return status, body
        document = json.loads(body)
        rain = document["hourly"]["precipitation"]
        rain[::4] = [None] * len(rain[::4])
        return status, json.dumps(document).encode()

    monkeypatch.setattr(state, "answer", holed)
    day = day_of(alone)
    frame = day.weather.frame
    dry = np.isnan(frame.rain)
    assert 0 < dry.sum() < dry.size
    assert np.isnan(frame.wind_speed[dry]).all()
    assert np.isnan(frame.relative_humidity[dry]).all()
    assert not np.isnan(frame.wind_speed[~dry]).any()
    judged = np.isin(frame.time, day.air.time)
    assert (verdicts(day)[dry[judged]] <= Verdict.UNKNOWN).all()
    assert "rain is known in 75% of the first 72 steps" in " ".join(
        day.weather.warnings
    )


def test_a_whole_forecast_kept_before_goes_first_while_it_can_be_judged(
    alone: Path, service: tuple[Service, str], day_of: DayOf
) -> None:
    """Up to 72 h: its hours are still told; afterwards the fresh warmth is better.

    The partial answer never takes the whole one's place among what is kept.
    """
    state, _ = service
    day_of(alone)
    state.left_out = ("wind_speed_10m",)
    for hours, dates_only in ((2, False), (48, False), (71, False), (73, True)):
        state.now = np.datetime64("2026-09-10T20:00", "s") + hours * HOUR
        day = day_of(alone)
        source = day.weather.frame.provenance.source
        assert ("for dates only" in source) is dates_only, hours
        told = " ".join(day.weather.warnings)
        assert ("is used, because of this" in told) is not dates_only
        assert "the answer has no wind_speed" in told


def test_the_second_service_goes_before_a_partial_answer(
    farm: Path, service: tuple[Service, str], day_of: DayOf
) -> None:
    """MET Norway's hours are whole: they are told, though rain before is not known."""
    state, _ = service
    state.left_out = ("wind_speed_10m",)
    day = day_of(farm)
    assert day.weather.frame.provenance.source == "MET Norway"
    assert (verdicts(day) >= Verdict.LOOK_FIRST).any()


def test_a_partial_answer_serves_again_when_nothing_comes(
    alone: Path, service: tuple[Service, str], day_of: DayOf
) -> None:
    """Kept with its age; the service is not asked twice for it."""
    state, _ = service
    state.left_out = ("precipitation",)
    day_of(alone)
    state.down = True
    state.now += 30 * HOUR
    asked = len(state.asked_for("past_days=10"))
    value = outlook(day_of(alone))
    assert len(state.asked_for("past_days=10")) == asked + 3  # two tries more, as ever
    assert good_blocks(value) == 0
    assert value.paddocks[0].actives[0].status is not Status.UNKNOWN
    assert "30 h ago is used" in " ".join(text.render(value).split())


def test_without_temperature_there_is_no_weather(
    alone: Path, service: tuple[Service, str], day_of: DayOf
) -> None:
    """What dates are told by must be there."""
    state, _ = service
    state.left_out = ("temperature_2m", "wind_speed_10m")
    with pytest.raises(NoWeatherError, match="the answer has no air_temperature"):
        day_of(alone)
