"""A result of a spray as it is kept."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

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
