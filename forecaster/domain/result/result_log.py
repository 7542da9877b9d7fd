"""Results of sprays as they are kept, and what of them still counts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.withdrawal import Withdrawal

MOST_PLANTS = 100_000
"""[plants] in one square; nobody counts more."""
MOST_SQUARES = 500
"""[squares] in one strip."""
SMALLEST_CM, LARGEST_CM = 5.0, 500.0
"""[cm] Side of a square."""
FIRST_YEAR, LAST_YEAR = 1960, 2200


@dataclass(frozen=True, slots=True)
class ResultEntry:
    """Seedlings counted after the spray of one spring."""

    paddock: str
    weed: str
    year: int
    """Of the spray, not of the count."""
    active: str | None
    stage: str | None
    """Class of the heads at the spray, as files call it."""
    side_cm: float
    treated: tuple[int, ...]
    untreated: tuple[int, ...]
    recorded: np.datetime64
    """UTC, whole seconds."""


@dataclass(frozen=True, slots=True)
class Kept:
    """One result of the log, and whether it still stands."""

    number: int
    """Of its line, from 1."""
    checksum: str
    """Of its line."""
    entry: ResultEntry
    withdrawn: Withdrawal | None = None


@dataclass(frozen=True, slots=True)
class ResultLog:
    """All that could be read of a log, in the order it was written, and what not."""

    kept: tuple[Kept, ...] = ()
    warnings: tuple[str, ...] = ()

    @property
    def entries(self) -> tuple[ResultEntry, ...]:
        """Every result, withdrawn ones too."""
        return tuple(each.entry for each in self.kept)

    @property
    def standing(self) -> tuple[ResultEntry, ...]:
        """The results that nobody withdrew."""
        return tuple(each.entry for each in self.kept if each.withdrawn is None)

    def numbered(self, number: int) -> Kept | None:
        """The result on the line of this number, or None."""
        return next((each for each in self.kept if each.number == number), None)
