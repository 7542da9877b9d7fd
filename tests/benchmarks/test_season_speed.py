"""What a district's season costs, as ratios to one paddock at a time.

Every paddock of a weather cell reads the cell's clock, so the cell is the unit of
work. The baseline does the same job the plain way: for each paddock, weed and trace
it adds up the hours from emergence in numpy and searches them for every mark. Both
turn hourly temperature into the 10, 50 and 90 % day of every window edge.

Set ``FORECASTER_BENCH=full`` for 10,000 paddocks on 500 cells; otherwise a
fiftieth of it is run.
"""

from __future__ import annotations

import os
import tracemalloc
from statistics import median
from time import perf_counter
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pytest

from forecaster.domain.growth import season
from forecaster.domain.growth.heads import threshold
from forecaster.domain.growth.stage_window import window_dates, window_of
from forecaster.domain.growth.thermal_time import daily_thermal_time
from forecaster.settings.shipped import config_folder
from forecaster.settings.weeds import load_weeds

if TYPE_CHECKING:
    from collections.abc import Callable

    from forecaster.domain.growth.weed import Mode, Weed
    from forecaster.domain.weather import Floats

APRIL = np.datetime64("2026-04-01")
DAYS = 275
MIDWINTER = 91
GIB = 2**30
EDGES = ("open", "best_from", "best_until", "closed")
WEEDS = list(load_weeds(config_folder() / "weeds").values())


class Size(NamedTuple):
    """How much there is to do."""

    paddocks: int
    cells: int
    weeds: int
    traces: int


class Cost(NamedTuple):
    """Seconds spent."""

    reduce: float
    project: float


FULL = Size(paddocks=10_000, cells=500, weeds=5, traces=30)
USUAL = Size(paddocks=200, cells=10, weeds=5, traces=30)


def hours_of(cell: int, traces: int) -> Floats:
    """Made-up hourly temperature of one cell: (traces, days × 24)."""
    random = np.random.default_rng(cell)
    hour = np.arange(DAYS * 24)
    year = 12.5 - 5.5 * np.cos(2 * np.pi * (hour / 24 - 105) / 365)
    day = 6.0 * np.sin(2 * np.pi * (hour % 24 - 9) / 24)
    weather = random.normal(0, 3, (traces, DAYS)).repeat(24, axis=1)
    hours: Floats = year + day + weather
    return hours


def breaks_of(cell: int, paddocks: int) -> np.ndarray:
    """Break dates through April and May."""
    days = np.random.default_rng(cell + 1).integers(10, 60, paddocks)
    return APRIL + days.astype("timedelta64[D]")


def by_cell(size: Size) -> tuple[Cost, list[np.ndarray]]:
    """The shipped way: one clock a cell and weed, all its paddocks at once."""
    reduce = project = 0.0
    kept = []
    for cell in range(size.cells):
        hours = hours_of(cell, size.traces)
        breaks = breaks_of(cell, size.paddocks // size.cells)
        begun = perf_counter()
        daily = {
            ends: daily_thermal_time(hours, *ends)
            for ends in {(w.base.value, w.ceiling.value) for w in WEEDS[: size.weeds]}
        }
        reduced = perf_counter()
        for weed in WEEDS[: size.weeds]:
            days = daily[weed.base.value, weed.ceiling.value]
            projection = season.project(weed, days, APRIL, breaks)
            for mode in weed.windows:
                dates = window_dates(window_of(projection, mode))
                edges = [getattr(dates, edge) for edge in EDGES]
                kept.append(np.array(edges, dtype=np.float32))
        reduce += reduced - begun
        project += perf_counter() - reduced
    return Cost(reduce, project), kept


def one_at_a_time(cell: int, paddock: int, size: Size) -> tuple[float, list[Floats]]:
    """The baseline: one paddock, plain numpy on hours."""
    hours = hours_of(cell, size.traces)
    breaks = breaks_of(cell, size.paddocks // size.cells)
    start = int((breaks[paddock] - APRIL).astype(int)) * 24
    begun = perf_counter()
    found = []
    for weed in WEEDS[: size.weeds]:
        rate = np.clip(hours, weed.base.value, weed.ceiling.value) - weed.base.value
        rate /= 24
        for mode in weed.windows:
            marks = marks_of(weed, mode)
            days = np.empty((*marks.shape, size.traces))
            for trace in range(size.traces):
                days[..., trace] = search(rate[trace], start, weed, marks)
            flat = days.reshape(len(marks), -1)
            found.append(np.quantile(flat, (0.1, 0.5, 0.9), axis=1, method="hazen").T)
    return perf_counter() - begun, found


def search(rate: Floats, start: int, weed: Weed, marks: Floats) -> Floats:
    """Days at which one trace reaches each mark, to the hour."""
    plain = np.cumsum(rate[start:])
    emerged = start + int(np.searchsorted(plain, weed.emergence.value))
    weight = np.where(
        np.arange(rate.size) < MIDWINTER * 24, weed.early_weight.value, 1.0
    )
    clock = np.cumsum((rate * weight)[emerged:])
    found: Floats = (emerged + np.searchsorted(clock, marks) + 1) / 24
    return found


def marks_of(weed: Weed, mode: Mode) -> Floats:
    """Thermal time of the four edges on every node: (4, nodes)."""
    rule = weed.windows[mode]
    nodes = season.equal_nodes()

    def shifted(edge: str, pick: np.ufunc) -> Floats:
        marks = []
        for each in getattr(rule, edge):
            phase = weed.phase_sd.value * weed.offset(each.stage)
            sd = np.hypot(weed.prior_sd.value, phase)
            marks.append(threshold(weed, each, shift=sd * nodes))
        picked: Floats = pick.reduce(marks)
        return picked

    closed = shifted("closed", np.minimum)
    opened = np.minimum(shifted("open", np.maximum), closed)
    best_from = np.clip(shifted("best_from", np.maximum), opened, closed)
    best_until = np.clip(shifted("best_until", np.minimum), best_from, closed)
    return np.stack([opened, best_from, best_until, closed])


def median_cost(size: Size, repeats: int) -> Cost:
    """Middle of several runs."""
    runs = [by_cell(size)[0] for _ in range(repeats)]
    return Cost(median(run.reduce for run in runs), median(run.project for run in runs))


@pytest.mark.benchmark
def test_cells_beat_paddocks_one_at_a_time(
    measured: Callable[[str], None],
) -> None:
    """A cell at once gives the baseline's days for less than half its cost a paddock.

    Also: the whole run stays under 1 GiB, hourly weather of one cell included.
    """
    full = os.environ.get("FORECASTER_BENCH") == "full"
    size = FULL if full else USUAL
    repeats = 1 if full else 3
    per_cell = size.paddocks // size.cells

    _, kept = by_cell(size._replace(paddocks=per_cell, cells=1))
    runs = [one_at_a_time(0, paddock, size) for paddock in range(min(per_cell, 8))]
    baseline = median(seconds for seconds, _ in runs)
    for paddock, (_, found) in enumerate(runs):
        for ours, theirs in zip(kept, found, strict=True):
            # Even rise within a day against the hour it happens in.
            np.testing.assert_allclose(ours[..., paddock], theirs, atol=0.75)

    lines = [
        "baseline: one paddock at a time, plain numpy on hours",
        f"  {size.weeds} weeds, {size.traces} traces: {1e3 * baseline:.1f} ms each",
        "paddocks cells weeds traces  reduce s  project s  ratio a paddock",
    ]
    ratios = {}
    for each in (
        size,
        size._replace(paddocks=size.paddocks // 4),
        size._replace(cells=size.cells // 5),
        size._replace(weeds=1),
        size._replace(traces=size.traces // 3),
    ):
        cost = median_cost(each, repeats)
        ratios[each] = sum(cost) / each.paddocks / baseline
        lines.append(
            f"{each.paddocks:8d} {each.cells:5d} {each.weeds:5d} {each.traces:6d}  "
            f"{cost.reduce:8.2f}  {cost.project:9.2f}  {ratios[each]:.3f}"
        )

    tracemalloc.start()
    by_cell(size)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    lines.append(f"peak of traced memory: {peak / 2**20:.0f} MiB")
    measured("\n".join(lines))
    assert ratios[size] < 0.5
    assert peak < GIB
