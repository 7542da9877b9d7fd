"""How long we may still take, by a clock that is never set."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Deadline:
    """An end on the monotonic clock; setting the clock of the machine moves nothing."""

    end: float

    @classmethod
    def after(cls, seconds: float) -> Deadline:
        """The moment ``seconds`` from now."""
        return cls(time.monotonic() + seconds)

    @classmethod
    def of(cls, budget: Deadline | float) -> Deadline:
        """``budget`` itself, or the moment that many seconds from now."""
        return budget if isinstance(budget, Deadline) else cls.after(budget)

    def within(self, seconds: float) -> Deadline:
        """The same end, or the moment ``seconds`` from now if that is earlier."""
        return Deadline(min(self.end, time.monotonic() + seconds))

    def left(self) -> float:
        """Seconds left, never negative."""
        return max(0.0, self.end - time.monotonic())


@dataclass(frozen=True, slots=True)
class Moment:
    """``now`` as it was given, moved on by the time that has passed since."""

    given: int
    """[s] since 1970, UTC"""
    started: float

    @classmethod
    def at(cls, seconds: int) -> Moment:
        """The given moment is now."""
        return cls(seconds, time.monotonic())

    def seconds(self) -> int:
        """Whole seconds since 1970, UTC."""
        return self.given + math.floor(time.monotonic() - self.started)
