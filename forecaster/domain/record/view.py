"""Records with what is missing in them and what comes after, ready to be told."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.record.after import ReEntry
    from forecaster.domain.record.log import Record
    from forecaster.domain.record.needed import Needed, StateRules


@dataclass(frozen=True, slots=True)
class RecordView:
    """One record and all that follows from it; days are ``datetime64[D]``, local."""

    record: Record
    missing: tuple[Needed, ...]
    hours_left: float | None
    """[h] to the legal deadline; None where none was found."""
    whole: np.datetime64 | None
    """UTC, since when all that the state's law lists is told; None: it is not."""
    re_entry: ReEntry | None
    second_look: tuple[np.datetime64, np.datetime64]
    held: tuple[np.datetime64, np.datetime64]
    """Between these days the feed loses its quality; sooner after a soaking."""
    closes: bool = True
    """Whether it closes the window of its season."""


@dataclass(frozen=True, slots=True)
class RecordsView:
    """Records of a farm as they stand at ``now``."""

    farm: str
    zone: str
    now: np.datetime64
    rules: StateRules | None
    records: tuple[RecordView, ...]
    warnings: tuple[str, ...]
    last_hash: str
