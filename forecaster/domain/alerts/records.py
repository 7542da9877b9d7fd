"""What is kept between two checks: windows, events, messages, deliveries, runs.

All are plain frozen values. Times are UTC ``datetime64[s]``; a time that is not known
is None. What can be worked out from these is not kept.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    import numpy as np


class WindowKey(NamedTuple):
    """One window: a weed, an active, a paddock, a season.

    ``paddock`` is the paddock's id, which outlives a change of its name.
    """

    season: int
    paddock: str
    weed: str
    active: str

    def __str__(self) -> str:
        return f"{self.season}/{self.paddock}/{self.weed}/{self.active}"


class Phase(StrEnum):
    """How far a window has come, as it was last told. In order."""

    NOT_OPEN = "not open"
    OPENING_SOON = "opening soon"
    OPEN = "open"
    CLOSING = "closing"
    CLOSED = "closed"

    @property
    def rank(self) -> int:
        """0 for the first."""
        return tuple(Phase).index(self)


class Freshness(StrEnum):
    """How far the weather may be trusted by its age. In order."""

    FRESH = "fresh"
    AGEING = "ageing"
    STALE = "stale"
    NONE = "none"

    @property
    def usable(self) -> bool:
        """Whether windows are judged on it."""
        return self in {Freshness.FRESH, Freshness.AGEING}


class Change(StrEnum):
    """What happened; part of an event's key, so a name is never reused."""

    SOON = "opening soon"
    OPENED = "opened"
    OPENED_ON_FORECAST = "opened on forecast"
    CLOSING = "closing"
    FEW_HOURS = "few hours left"
    CLOSED = "closed"
    PRESUMED_CLOSED = "presumed closed"
    NOT_SO_SOON = "not so soon"
    NOT_OPEN_YET = "not open yet"
    MORE_TIME = "more time"
    REOPENED = "reopened"
    SPRAYED = "sprayed"
    SPRAY_UNDONE = "spray undone"
    RETIRED = "no longer watched"
    MOVED = "close moved"
    HOURS_FOUND = "hours found"
    LAST_DAY = "one day left"
    LAST_HOURS = "six hours left"
    UNKNOWN = "cannot be told"
    NO_WEATHER = "no weather"
    WEATHER_BACK = "weather is back"
    CLOCK_WRONG = "clock wrong"
    WAS_OFF = "was off"
    HISTORY_LOST = "history lost"
    RESTORED = "history restored"
    FIRST_LOOK = "first check"
    NOT_SPRAYED = "not marked sprayed"
    STOCK_EARLY = "stock planned too early"
    LOOK_AGAIN = "second look due"
    SOAKED = "topped feed soaked"
    GOES_OFF = "topped feed goes off"
    TROUBLE = "trouble with a file"
    HEALTH = "health"


class Rank(StrEnum):
    """How soon a message has to be read."""

    URGENT = "urgent"
    PUSH = "push"
    DIGEST = "digest"
    RECEIPT = "receipt"


@dataclass(frozen=True, slots=True)
class Votes:
    """A change that waits to be confirmed by another forecast."""

    to: Phase
    issues: tuple[np.datetime64, ...]
    """Distinct issues that called for it, oldest first."""
    since: np.datetime64


@dataclass(frozen=True, slots=True)
class Kept:
    """What is kept of one window."""

    key: WindowKey
    phase: Phase = Phase.NOT_OPEN
    epoch: int = 1
    """Raised at each step back, so that a second opening is a new one."""
    votes: Votes | None = None
    source: str = ""
    """Of the weather the last answer stood on."""
    basis: str = ""
    """Of the settings, looks and program the last answer stood on."""
    issue: np.datetime64 | None = None
    """Newest forecast counted."""
    edge: np.datetime64 | None = None
    """The likely close by that forecast."""
    jitter: float = 0.0
    """[d] how far that edge moves from one forecast to the next."""
    told_close: np.datetime64 | None = None
    told_at: np.datetime64 | None = None
    """When a message about this window was last made."""
    loud_at: np.datetime64 | None = None
    """When one was that does not wait for the digest."""
    has_hours: bool | None = None
    """Whether good hours are taken to be in sight; None: not known. They may be gone
    for a while before they count as gone, and be owed before they count as found."""
    dry_since: np.datetime64 | None = None
    """Since when none are in sight; None: some are, or it is not known."""
    sprayed: bool = False
    retired: bool = False
    unknown: bool = False
    """Whether it could not be told at the last check."""
    unknown_at: np.datetime64 | None = None
    """When that was last told."""
    presumed: bool = False
    """Closed by its last known date alone: no observed hour has reached it."""
    opened: int = 1
    """Epoch in which it came to be open; openings told before were taken back."""
    reminded: tuple[Change, ...] = ()
    """Repeats raised in this epoch."""
    serial: int = 0
    """Of changes that may come again and again; part of their keys."""

    @property
    def watched(self) -> bool:
        """Whether anybody waits for it still."""
        return not (self.sprayed or self.retired)

    @property
    def pressing(self) -> bool:
        """Whether it is watched, and near or open."""
        near = {Phase.OPENING_SOON, Phase.OPEN, Phase.CLOSING}
        return self.watched and self.phase in near


@dataclass(frozen=True, slots=True)
class FarmKept:
    """What is kept of a farm as a whole."""

    freshness: Freshness | None = None
    """None: never checked."""
    stale_told: np.datetime64 | None = None
    """When the want of weather was last told; None: not in want."""
    clock_told: np.datetime64 | None = None
    """When a wrong clock was last told; None: it is right."""
    trouble_told: np.datetime64 | None = None
    """When trouble with the farm's files was last told; None: there is none."""
    hours_told: np.datetime64 | None = None
    """When hours that were found were last told."""
    highest: np.datetime64 | None = None
    """The latest moment of a check with weather: the clock cannot be before it."""
    digest_day: str = ""
    """Local day of the last digest, ISO; also of one with nothing to say."""
    digest_run: int = 0
    """The last check whose events are in a digest."""
    season: int = 0
    serial: int = 0
    """Of the farm's events; part of their keys."""


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened, once. ``key`` makes a second one impossible."""

    key: str
    change: Change
    rank: Rank
    at: np.datetime64
    """When it happened in the field, as well as is known."""
    made: np.datetime64
    """When it was found."""
    window: WindowKey | None = None
    """None: it concerns the farm."""
    epoch: int = 0
    because: str = ""
    """What led to it where that is not the weather."""
    run: int = 0
    """The check that found it."""


@dataclass(frozen=True, slots=True)
class Message:
    """One or more events told together. Its words are made when it is sent."""

    key: str
    rank: Rank
    events: tuple[str, ...]
    made: np.datetime64


class Sending(StrEnum):
    """Where a delivery stands."""

    WAITING = "waiting"
    SENT = "sent"
    DEAD = "dead"
    """Refused for good."""
    CANCELLED = "cancelled"


@dataclass(frozen=True, slots=True)
class Delivery:
    """One message on its way through one channel."""

    message: str
    channel: str
    state: Sending
    next_at: np.datetime64
    """Not before this."""
    attempts: int = 0
    note: str = ""
    """Why it is where it is."""
    receipt: str = ""
    ended: np.datetime64 | None = None
    stand_in: bool = False
    """Goes out only where nobody else was reached by then."""


@dataclass(frozen=True, slots=True)
class Run:
    """One check."""

    id: int
    started: np.datetime64
    ended: np.datetime64 | None = None
    basis: str = ""
    source: str = ""
    issued: np.datetime64 | None = None
    exit: int | None = None
    """None: it never ended."""
    ok: bool = False
    counts: dict[str, int] = field(default_factory=dict)
    """Of windows by phase, events, messages."""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Snooze:
    """Somebody asked for quiet about one window, or a whole paddock."""

    paddock: str
    active: str
    """Empty: all of the paddock's."""
    made: np.datetime64
    until: np.datetime64
    by: str = ""
