"""Check values for the tests of the air."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable

FOLDER = Path(__file__).parents[3] / "fixtures" / "check_values"


class Check(NamedTuple):
    """One row of a check-value file."""

    inputs: dict[str, str]
    expected: str
    tolerance: float
    label: str

    def number(self, name: str) -> float:
        """One input as a number."""
        return float(self.inputs[name])

    def numbers(self) -> dict[str, float]:
        """All inputs as numbers."""
        return {name: float(value) for name, value in self.inputs.items()}

    def agrees(self, got: object) -> bool:
        """Whether a number is within the tolerance of the expected one."""
        return abs(float(str(got)) - float(self.expected)) <= self.tolerance


@pytest.fixture(scope="session")
def check_values() -> Callable[[str], list[Check]]:
    """Read ``fixtures/check_values/<name>.csv``."""

    def read(name: str) -> list[Check]:
        with (FOLDER / f"{name}.csv").open(newline="", encoding="utf-8") as file:
            rows = [
                Check(
                    inputs=dict(part.split("=", 1) for part in row["inputs"].split()),
                    expected=row["expected"],
                    tolerance=float(row["tolerance"]),
                    label=f"{row['inputs']} -> {row['expected']} ({row['source']})",
                )
                for row in csv.DictReader(file)
            ]
        assert rows, name
        return rows

    return read
