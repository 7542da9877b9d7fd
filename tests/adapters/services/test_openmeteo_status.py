"""The model status: which run is served, and how much of it can be stood behind.

Shape: Open-Meteo, "Model Updates" (published), and a document of ECMWF IFS printed in
the description of the Rust crate odin_openmeteo (open source).
"""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from forecaster.errors import UnusableError
from forecaster.sources import openmeteo_status
from forecaster.sources.openmeteo import Access
from forecaster.sources.request import ModelRun

if TYPE_CHECKING:
    from forecaster.domain.weather import WeatherFrame
    from tests.adapters.services.conftest import Case

BEGAN = "last_run_initialisation_time"
SERVED = "last_run_availability_time"
EVERY = "update_interval_seconds"
END = "data_end_time"
PRINTED = {
    "chunk_time_length": 504,
    "crs_wkt": 'GEOGCRS["Reduced Gaussian Grid" ... BBOX[-90,-180.0,90,180]]]',
    END: 1774443600,
    SERVED: 1773167124,
    BEGAN: 1773144000,
    "last_run_modification_time": 1773166529,
    "temporal_resolution_seconds": 3600,
    EVERY: 21600,
}
"""As the crate's description prints it. The moments by the calendar of GNU date:
1773144000 is 2026-03-10 12:00:00 UTC, 1773167124 is 18:25:24 of that day."""
SIX_HOURS = np.timedelta64(6, "h")
NEVER = np.datetime64("NaT", "s")


def at(text: str) -> np.datetime64:
    """A moment, UTC."""
    return np.datetime64(text, "s")


@pytest.fixture
def status(cases: dict[str, Case]) -> Case:
    """The status in the fixtures."""
    return cases["status"]


@pytest.fixture
def frame(forecast: Case) -> WeatherFrame:
    """The forecast in the fixtures, asked for at 20:30 on 14 September."""
    found = forecast.read(forecast.body).frame
    assert found is not None
    return found


def test_a_printed_status_is_read(status: Case) -> None:
    """Run, since when it is served, and how often, from a document of the service."""
    then = replace(status.request, made=at("2026-03-10T20:00"))
    run = openmeteo_status.parse(json.dumps(PRINTED).encode(), then).run
    assert run == ModelRun(at("2026-03-10T12:00"), at("2026-03-10T18:25:24"), SIX_HOURS)


def test_it_is_asked_of_the_host_that_is_set(status: Case) -> None:
    """The published address, the customers' host with a key, or one's own server."""
    path = "/data/ecmwf_ifs/static/meta.json"
    place, made = status.request.place, status.request.made
    for access, host in (
        (Access(), "https://api.open-meteo.com"),
        (Access(key="k3y"), "https://customer-api.open-meteo.com"),
        (Access(base_url="https://weather.my.net"), "https://weather.my.net"),
    ):
        request = openmeteo_status.request(place, made, access=access)
        assert request.url == host + path
        assert request.secrets == ({"apikey": "k3y"} if access.key else {})


WRONG: list[tuple[dict[str, Any], str]] = [
    ({BEGAN: 1789419600}, "after now"),  # 21:00, asked at 20:30
    ({BEGAN: 1789389000}, "whole hour"),  # 12:30
    ({BEGAN: 1773144000}, "16 days old"),
    ({SERVED: 1789387199}, "before it began"),
    ({SERVED: 1789421401}, "after now"),  # 21:30:01, over an hour ahead
    ({END: 1789387200}, "the data end"),
    ({END: None}, "not whole seconds"),
    ({EVERY: 0}, "not whole seconds"),
    ({EVERY: 86_401}, "not whole seconds"),
    ({BEGAN: None}, "not whole seconds"),
    *(
        ({key: value}, "not whole seconds")
        for key in (BEGAN, SERVED, EVERY)
        for value in (-1, 0, 1789387200.0, "1789387200", True, [1789387200], 2**40)
    ),
]


@pytest.mark.parametrize(("changed", "words"), WRONG)
def test_nonsense_is_refused_with_one_reason(
    status: Case, changed: dict[str, Any], words: str
) -> None:
    """The field or the contradiction is named; each value alone is what is wrong."""
    status.read(status.body)
    with pytest.raises(UnusableError, match=words) as refused:
        status.read(status.document | changed)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize("token", [b"NaN", b"Infinity", b"1e999"])
def test_no_number_is_no_time(status: Case, token: bytes) -> None:
    """Not even where Python's own reader takes it."""
    with pytest.raises(UnusableError):
        status.read(status.body.replace(b"1789387200", token))


def test_the_end_of_the_data_may_be_left_out(status: Case) -> None:
    """The published list of fields does not hold it."""
    document = status.document
    del document[END]
    assert status.read(document).run is not None


RUN = ModelRun(at("2026-09-14T12:00"), at("2026-09-14T18:25:24"), SIX_HOURS)
CASES: list[tuple[str, ModelRun | None, str, str, str]] = [
    # forecast sent, status, status sent, run told, how it is known
    ("2026-09-14T20:30", RUN, "2026-09-14T20:30", "2026-09-14T12:00", "by the service"),
    # ten minutes after its time, to the second
    (
        "2026-09-14T18:35:24",
        RUN,
        "2026-09-14T18:35:24",
        "2026-09-14T12:00",
        "by the service",
    ),
    # a second sooner: the run before it, which nine hours also give
    (
        "2026-09-14T18:35:23",
        RUN,
        "2026-09-14T18:35:23",
        "2026-09-14T06:00",
        "run assumed",
    ),
    # asked again an hour later, the forecast still of before the run
    ("2026-09-14T18:00", RUN, "2026-09-14T19:00", "2026-09-14T06:00", "run assumed"),
    # the service is late: nine hours would claim the run of 18:00
    ("2026-09-15T03:30", RUN, "2026-09-15T03:30", "2026-09-14T12:00", "by the service"),
    # late, and only just served: not even the run of 18:00 less nine hours is sure
    (
        "2026-09-15T03:30",
        replace(RUN, began=at("2026-09-14T18:00"), served=at("2026-09-15T03:25")),
        "2026-09-15T03:30",
        "2026-09-14T12:00",
        "run assumed",
    ),
    # a status from long before the forecast knows nothing of it
    ("2026-09-15T20:30", RUN, "2026-09-15T19:29", "2026-09-15T06:00", "run assumed"),
    ("2026-09-14T20:30", None, "NaT", "2026-09-14T06:00", "run assumed"),
]


@pytest.mark.parametrize("case", CASES)
def test_no_run_is_told_that_cannot_be_stood_behind(
    frame: WeatherFrame, case: tuple[str, ModelRun | None, str, str, str]
) -> None:
    """Served ten minutes (published) before the forecast was sent, or an older one.

    Without: the newest six-hourly run at least nine hours old (assumed).
    """
    got, run, seen, told, words = case
    dated = openmeteo_status.dated(frame, at(got), run, at(seen))
    assert dated.provenance.issued == at(told)
    (note,) = dated.provenance.notes
    assert words in note


def test_the_model_s_own_steps_count_from_the_run(frame: WeatherFrame) -> None:
    """Hourly to 90 h and three-hourly to 144 h after 12:00 (published: ECMWF page)."""
    asked = at("2026-09-14T20:30")
    dated = openmeteo_status.dated(frame, asked, RUN, asked)
    change = np.flatnonzero(np.diff(dated.native_step)) + 1
    assert [str(each) for each in dated.time[change]] == [
        "2026-09-18T06:00:00",
        "2026-09-20T12:00:00",
    ]


def test_why_there_is_no_status_is_told(frame: WeatherFrame) -> None:
    """In the note that the run is assumed."""
    dated = openmeteo_status.dated(
        frame, at("2026-09-14T20:30"), None, NEVER, "it is in trouble"
    )
    assert dated.provenance.notes[0].endswith("(it is in trouble)")
    np.testing.assert_array_equal(dated.native_step, frame.native_step)
