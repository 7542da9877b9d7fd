"""What the words of one message are made from, at the moment it is sent."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.alerts.reading import Reading
    from forecaster.domain.alerts.records import Event, Kept, Rank


@dataclass(frozen=True, slots=True)
class Item:
    """One window of a message: what happened to it, how it was told and is now."""

    events: tuple[Event, ...]
    kept: Kept
    reading: Reading | None
    """None: nothing was ever read of it."""


@dataclass(frozen=True, slots=True)
class News:
    """One message, ready to be put into words."""

    farm: str
    zone: str
    rank: Rank
    now: np.datetime64
    weather_age_h: float
    """Age of the issue of the newest forecast; NaN where there is none."""
    usable: bool
    """Whether that is young enough to say anything of hours."""
    items: tuple[Item, ...]
    about_farm: tuple[Event, ...]
    undelivered: int = 0
    """Earlier messages about the same windows that could not be delivered."""
    standing: tuple[Item, ...] = ()
    """For a digest: every window that is watched."""
    notes: tuple[str, ...] = ()
    """For a digest: what the program found out about itself."""
