"""Check values, weeds and small made-up seasons for the growth tests."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pytest

from forecaster.settings.shipped import config_folder
from forecaster.settings.weeds import load_weeds

if TYPE_CHECKING:
    from collections.abc import Callable

    from forecaster.domain.growth.weed import Weed
    from forecaster.domain.weather import Floats

ROOT = Path(__file__).parents[3]


class CheckValue(NamedTuple):
    """One row of a check-value file."""

    inputs: dict[str, str]
    expected: str
    tolerance: float
    source: str


@pytest.fixture(scope="session")
def check_values() -> Callable[[str], list[CheckValue]]:
    """Read ``fixtures/check_values/<name>.csv``."""

    def read(name: str) -> list[CheckValue]:
        path = ROOT / "fixtures" / "check_values" / f"{name}.csv"
        with path.open(newline="", encoding="utf-8") as file:
            rows = [
                CheckValue(
                    inputs=dict(part.split("=", 1) for part in row["inputs"].split()),
                    expected=row["expected"],
                    tolerance=float(row["tolerance"]),
                    source=row["source"],
                )
                for row in csv.DictReader(file)
            ]
        assert rows, path
        return rows

    return read


@pytest.fixture(scope="session")
def weeds() -> dict[str, Weed]:
    """The weeds we ship."""
    return load_weeds(config_folder() / "weeds")


class Climate(NamedTuple):
    """Daily extremes of one site, made from monthly means."""

    first_day: np.datetime64
    maximum: Floats
    minimum: Floats
    sunrise: Floats
    sunset: Floats


@pytest.fixture(scope="session")
def climates(pcse: object) -> dict[str, Climate]:  # noqa: ARG001 - made first
    """The two sites, 1 March to 31 December 2025.

    Monthly means stand at the middle of their month and are joined by straight
    lines; before mid-April and after mid-December they stay level. Daylength is
    PCSE's, with the sun's upper edge at the horizon (−0.833°).
    """
    from pcse.util import daylength

    path = ROOT / "fixtures" / "check_values" / "growth_climate.csv"
    with path.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    first = np.datetime64("2025-03-01", "D")
    days = first + np.arange(306)
    return {site: _climate(site, rows, days, daylength) for site in ("warm", "cool")}


def _climate(
    site: str,
    rows: list[dict[str, str]],
    days: np.ndarray,
    daylength: Callable[..., float],
) -> Climate:
    months = [row for row in rows if row["site"] == site]
    begins = np.array(
        [f"2025-{int(row['month']):02d}" for row in months], dtype="datetime64[M]"
    )
    begin, end = begins.astype("datetime64[D]"), (begins + 1).astype("datetime64[D]")
    middle = ((begin - days[0]) + (end - days[0])).astype(float) / 2
    at = np.arange(days.size) + 0.5
    latitude = float(months[0]["latitude"])
    light = np.array(
        [daylength(day, latitude, angle=-0.833) for day in days.astype(object)]
    )
    return Climate(
        first_day=days[0],
        maximum=np.interp(at, middle, [float(row["maximum"]) for row in months]),
        minimum=np.interp(at, middle, [float(row["minimum"]) for row in months]),
        sunrise=12 - light / 2,
        sunset=12 + light / 2,
    )
