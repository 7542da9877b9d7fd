"""What happened to a foreign table on its way in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from forecaster.domain.place import Place
    from forecaster.domain.weather import WeatherFrame

SHOWN_EXAMPLES = 3
"""Examples of each finding that are kept."""


@dataclass(frozen=True, slots=True)
class Example:
    """One cell a finding is about; ``row`` is its line in the file, from 1."""

    row: int
    column: str
    value: str

    def __str__(self) -> str:
        cell = f" {self.column} = {self.value}" if self.column else ""
        return f"line {self.row}{cell}"


@dataclass(frozen=True, slots=True)
class Finding:
    """Something odd, how often, and what was done about it."""

    reason: str
    quantity: str
    done: str
    count: int
    examples: tuple[Example, ...]

    def __str__(self) -> str:
        shown = "; ".join(map(str, self.examples))
        return f"{self.quantity}: {self.reason}, {self.count:,} × {self.done} ({shown})"


@dataclass(frozen=True, slots=True)
class ImportReport:
    """Counts of one import. ``gaps`` is the missing hours of each mapped quantity."""

    file: str
    rows: int
    """Rows of the file that belong to this place."""
    hours: int
    """Hours from the first to the last."""
    hours_missing: int
    """Hours without any value."""
    gaps: tuple[tuple[str, int], ...]
    findings: tuple[Finding, ...]
    notes: tuple[str, ...]

    def count(self, reason: str, quantity: str) -> int:
        """How often ``reason`` was found for ``quantity``; 0 if never."""
        return sum(
            each.count
            for each in self.findings
            if (each.reason, each.quantity) == (reason, quantity)
        )

    def text(self) -> str:
        """The report in a few lines."""
        gaps = ", ".join(f"{name} {count:,}" for name, count in self.gaps)
        lines = [
            f"{self.file}: {self.rows:,} rows read",
            f"{self.hours:,} hours, {self.hours_missing:,} of them without any value",
            f"hours missing by quantity: {gaps}",
            *map(str, self.findings),
            *self.notes,
        ]
        return "\n".join(lines) + "\n"


@dataclass(frozen=True, slots=True)
class ImportedWeather:
    """A foreign table in our terms."""

    frame: WeatherFrame
    place: Place
    report: ImportReport
