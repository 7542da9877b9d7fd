"""How long one site's forecast and full ensemble take to read."""

from __future__ import annotations

import json
from statistics import median
from time import perf_counter
from typing import TYPE_CHECKING

import numpy as np
import pytest

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.adapters.services.conftest import Case

MEMBERS, DAYS, ROUNDS = 51, 15, 15


def full_ensemble(case: Case) -> bytes:
    """The invented members grown to 51 members and 15 days, as asked for."""
    small = case.document
    hours = DAYS * 24
    hourly = small["hourly"]
    start = np.datetime64(hourly["time"][0], "s")
    labels = start + np.arange(hours) * np.timedelta64(3600, "s")
    grown = {"time": np.datetime_as_string(labels, unit="m").tolist()}
    kinds = {"time": "iso8601"}
    for name, unit in small["hourly_units"].items():
        if name == "time" or "_member" in name:
            continue
        for member in range(MEMBERS):
            key = f"{name}_member{member:02d}" if member else name
            source = hourly[f"{name}_member{member % 5:02d}" if member % 5 else name]
            grown[key] = (source * (hours // len(source) + 1))[:hours]
            kinds[key] = unit
    document = {**small, "hourly": grown, "hourly_units": kinds}
    return json.dumps(document, ensure_ascii=False).encode()


def seconds(work: Callable[[], object]) -> float:
    """Median time of a few rounds after one to warm up."""
    work()
    times = []
    for _ in range(ROUNDS):
        begin = perf_counter()
        work()
        times.append(perf_counter() - begin)
    return median(times)


@pytest.mark.benchmark
def test_reading_costs_little_more_than_json_alone(
    cases: dict[str, Case], measured: Callable[[str], None]
) -> None:
    """Both answers of a site, baseline ``json.loads`` of the same bytes."""
    forecast, ensemble = cases["forecast"], cases["ensemble"]
    large = full_ensemble(ensemble)
    frame = ensemble.read(large).frame
    assert frame is not None
    assert frame.rain.shape == (MEMBERS, DAYS * 24)
    ours = {
        "forecast": seconds(lambda: forecast.read(forecast.body)),
        "ensemble": seconds(lambda: ensemble.read(large)),
    }
    alone = seconds(lambda: (json.loads(forecast.body), json.loads(large)))
    total = sum(ours.values())
    measured(
        f"reading a forecast {ours['forecast'] * 1e3:.1f} ms, "
        f"ensemble {len(large):,} bytes "
        f"{ours['ensemble'] * 1e3:.1f} ms, json alone {alone * 1e3:.1f} ms, "
        f"ratio {total / alone:.1f}"
    )
    assert total < 10 * alone
