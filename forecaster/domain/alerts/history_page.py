"""What was found, told and not told over some days: the frozen value of a history.

Made from what is kept alone; no weather is read for it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.alerts.records import (
        Delivery,
        Event,
        Message,
        Phase,
        Run,
        Snooze,
        WindowKey,
    )


class Gap(NamedTuple):
    """A time without a check; UTC ``datetime64[s]``."""

    since: np.datetime64
    until: np.datetime64


@dataclass(frozen=True, slots=True)
class Checks:
    """The checks of those days."""

    runs: tuple[Run, ...]
    gaps: tuple[Gap, ...]
    """Over two periods, as far as they touch those days."""
    before: Run | None
    """The last one before them."""

    @property
    def troubled(self) -> tuple[Run, ...]:
        """Those that never ended, or did not end as they should."""
        return tuple(each for each in self.runs if each.exit != 0 or each.notes)


class Step(NamedTuple):
    """From which check on a reason was in force."""

    since: np.datetime64 | None
    """When that check began; None: it is not kept any more."""
    run: int
    reason: str


@dataclass(frozen=True, slots=True)
class WindowPast:
    """One window over those days."""

    key: WindowKey
    paddock: str
    weed: str
    phase: Phase | None
    """At the last of those checks, as it was told; None: cannot be told any more."""
    steps: tuple[Step, ...]
    """The reason at the first of those checks, and each later one."""


@dataclass(frozen=True, slots=True)
class EventPast:
    """An event, whose it was, and the messages that told it."""

    event: Event
    paddock: str
    """Empty: it concerns the farm."""
    weed: str
    told: tuple[Message, ...]
    snoozed: bool
    """Whether a snooze kept it for the digest."""


@dataclass(frozen=True, slots=True)
class MessagePast:
    """A message, what it told, and what became of it in each channel."""

    message: Message
    events: tuple[EventPast, ...]
    deliveries: tuple[Delivery, ...]


class SnoozePast(NamedTuple):
    """Quiet that somebody asked for."""

    snooze: Snooze
    paddock: str


@dataclass(frozen=True, slots=True)
class HistoryPage:
    """What was found, told and not told over some local days."""

    farm: str
    zone: str
    first: str
    """Local date, ISO."""
    last: str
    since: np.datetime64
    until: np.datetime64
    """The days as UTC; ``until`` is no part of them."""
    now: np.datetime64
    asked: str
    """Paddock and active that were asked for; empty: all."""
    checks: Checks
    windows: tuple[WindowPast, ...]
    events: tuple[EventPast, ...]
    messages: tuple[MessagePast, ...]
    snoozes: tuple[SnoozePast, ...]
