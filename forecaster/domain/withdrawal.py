"""An entry of a log that somebody took back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """Somebody took an entry back. The entry stays where it is."""

    entry: str
    """The id or checksum of what was taken back."""
    author: str
    reason: str
    recorded: np.datetime64
    """When it was written down, UTC ``datetime64[s]``."""
