"""Answers in recorded shape, invented numbers on an invented farm, and what was asked.

Shapes: Open-Meteo documentation and server source; MET Norway "General point forecast
JSON format"; SILO answers recorded in the tests of the R package weatherOz.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from forecaster.domain.place import Place
from forecaster.sources import (
    metno,
    openmeteo_archive,
    openmeteo_ensemble,
    openmeteo_forecast,
    openmeteo_previous,
    openmeteo_profile,
    openmeteo_status,
    silo,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from forecaster.sources.request import Parsed, Request

FOLDER = Path(__file__).parents[3] / "fixtures" / "services"
FARM = Place(-34.533, 138.75, 68.0, "Australia/Adelaide")
MADE = np.datetime64("2026-09-14T20:30", "s")
CONTACT = "grazier@farm.net.au"


@dataclass(frozen=True)
class Case:
    """One product: how it is asked, read, and one answer."""

    parse: Callable[[bytes, Request], Parsed]
    request: Request
    body: bytes

    @property
    def document(self) -> Any:
        """A copy to spoil."""
        return json.loads(self.body)

    def read(self, document: object) -> Parsed:
        """Parse a document, or bytes as they are."""
        whole = isinstance(document, bytes)
        return self.parse(document if whole else dump(document), self.request)  # type: ignore[arg-type]  # bytes when whole

    def first_hours(self, hours: int) -> Any:
        """The document of an hourly answer, cut to its first hours, whole."""
        return self.some_hours(slice(hours))

    def some_hours(self, which: slice) -> Any:
        """The document of an hourly answer, cut to these hours, whole."""
        cut = self.document
        cut["hourly"] = {name: each[which] for name, each in cut["hourly"].items()}
        return cut


def dump(document: object) -> bytes:
    """A document as a service writes it."""
    return json.dumps(document, ensure_ascii=False).encode()


def answer(name: str) -> bytes:
    """A fixture's bytes, one line, no line end: as on the wire."""
    return (FOLDER / name).read_bytes().rstrip(b"\n")


def all_cases() -> dict[str, Case]:
    """Every product, asked and answered."""
    asked = np.datetime64("2026-01-12T03:00", "s")
    days = {"contact": CONTACT, "first_day": np.datetime64("2026-09-01")}
    return {
        "forecast": Case(
            openmeteo_forecast.parse,
            openmeteo_forecast.request(FARM, MADE),
            answer("openmeteo_forecast.json"),
        ),
        "status": Case(
            openmeteo_status.parse,
            openmeteo_status.request(FARM, MADE),
            answer("openmeteo_status.json"),
        ),
        "profile": Case(
            openmeteo_profile.parse,
            openmeteo_profile.request(FARM, MADE),
            answer("openmeteo_profile.json"),
        ),
        "ensemble": Case(
            openmeteo_ensemble.parse,
            openmeteo_ensemble.request(FARM, MADE),
            answer("openmeteo_ensemble.json"),
        ),
        "previous": Case(
            openmeteo_previous.parse,
            openmeteo_previous.request(FARM, MADE, past_days=4),
            answer("openmeteo_previous.json"),
        ),
        "archive": Case(
            openmeteo_archive.parse,
            openmeteo_archive.request(FARM, asked, year=2026),
            answer("openmeteo_archive.json"),
        ),
        "metno": Case(
            metno.parse,
            metno.request(FARM, MADE, contact=CONTACT),
            answer("metno_complete.json"),
        ),
        "silo": Case(
            silo.parse,
            silo.request(FARM, MADE, last_day=np.datetime64("2026-09-12"), **days),  # type: ignore[arg-type]  # two kinds in one mapping
            (FOLDER / "silo_days.csv").read_bytes(),
        ),
        "silo short": Case(
            silo.parse,
            silo.request(FARM, MADE, last_day=np.datetime64("2026-09-02"), **days),  # type: ignore[arg-type]  # two kinds in one mapping
            (FOLDER / "silo_two_days.csv").read_bytes(),
        ),
    }


@pytest.fixture(scope="session")
def cases() -> dict[str, Case]:
    """Every product by name."""
    return all_cases()


@pytest.fixture
def forecast(cases: dict[str, Case]) -> Case:
    """The Open-Meteo forecast."""
    return cases["forecast"]


@pytest.fixture
def norway(cases: dict[str, Case]) -> Case:
    """The MET Norway forecast."""
    return cases["metno"]
