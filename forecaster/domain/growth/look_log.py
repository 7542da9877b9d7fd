"""What the log of looks holds: looks as they were written down, and withdrawals."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.growth.look import Look
    from forecaster.domain.withdrawal import Withdrawal


@dataclass(frozen=True, slots=True)
class LookEntry:
    """One look of the log, what was typed for it, and whether it still stands."""

    look: Look
    typed: tuple[tuple[str, int], ...]
    """The words or codes of the person who counted, and their counts [heads]."""
    recorded: np.datetime64
    """When it was written down, UTC ``datetime64[s]``; not when heads were counted."""
    withdrawn: Withdrawal | None = None


@dataclass(frozen=True, slots=True)
class LookLog:
    """All that could be read of a log, in the order it was written, and what not."""

    entries: tuple[LookEntry, ...] = ()
    warnings: tuple[str, ...] = ()

    @property
    def standing(self) -> tuple[LookEntry, ...]:
        """The looks that nobody withdrew."""
        return tuple(each for each in self.entries if each.withdrawn is None)

    def entry(self, look: str) -> LookEntry | None:
        """The look of this id, or None."""
        return next((each for each in self.entries if each.look.id == look), None)
