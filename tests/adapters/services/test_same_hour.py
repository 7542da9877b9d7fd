"""One shower, two services, one row: the hours of periods, written out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from forecaster.domain.weather import WeatherFrame
    from tests.adapters.services.conftest import Case

SHOWER = 7.7


def open_meteo(case: Case, label: str) -> WeatherFrame:
    """Open-Meteo's answer with its only rain under a label."""
    document = case.document
    hourly = document["hourly"]
    at = hourly["time"].index(label)
    hourly["precipitation"] = [0.0] * len(hourly["time"])
    hourly["precipitation"][at] = SHOWER
    frame = case.read(document).frame
    assert frame is not None
    return frame


def met_norway(case: Case, label: str) -> WeatherFrame:
    """MET Norway's answer with its only hourly rain under a label."""
    document: Any = case.document
    for step in document["properties"]["timeseries"]:
        ahead = step["data"].get("next_1_hours")
        if ahead:
            rain = SHOWER if step["time"] == label else 0.0
            ahead["details"]["precipitation_amount"] = rain
    frame = case.read(document).frame
    assert frame is not None
    return frame


def wet(frame: WeatherFrame) -> list[str]:
    """The rows with rain."""
    return [str(each) for each in frame.time[frame.rain > 0]]


def test_rain_under_ten_oclock_is_an_hour_apart(forecast: Case, norway: Case) -> None:
    """Open-Meteo: "preceding hour sum"; MET Norway: "next hour".

    Under 10:00 Open-Meteo means 09:00 to 10:00, our row 09:00; MET Norway means 10:00
    to 11:00, our row 10:00.
    """
    assert wet(open_meteo(forecast, "2026-09-15T10:00")) == ["2026-09-15T09:00:00"]
    assert wet(met_norway(norway, "2026-09-15T10:00:00Z")) == ["2026-09-15T10:00:00"]


def test_one_shower_from_nine_to_ten_is_one_row(forecast: Case, norway: Case) -> None:
    """Rain that falls from 09:00 to 10:00 UTC is in row 09:00 from both services."""
    theirs = open_meteo(forecast, "2026-09-15T10:00")
    others = met_norway(norway, "2026-09-15T09:00:00Z")
    assert wet(theirs) == wet(others) == ["2026-09-15T09:00:00"]
    for frame in (theirs, others):
        row = frame.time == np.datetime64("2026-09-15T09:00")
        assert frame.rain[row].tolist() == [SHOWER]
