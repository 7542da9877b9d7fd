"""Whether a message may go out now, when to try again, and what makes it wrong."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from forecaster.domain.alerts.phases import hours
from forecaster.domain.alerts.records import Change, Phase, Rank

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy as np

    from forecaster.domain.alerts.records import Event, FarmKept, Kept, WindowKey

WAITS_MIN = (1.0, 5.0, 15.0, 60.0)
"""Minutes to the next try; the last one again and again."""
PATIENCE_H = 24.0
"""How long a test of a channel is tried; all else until it is overtaken."""
AFTER_QUIET_H = 2.0
"""Good hours that end so soon after quiet hours would be slept through."""

_BEFORE_OPEN = {Change.SOON, Change.NOT_SO_SOON, Change.NOT_OPEN_YET}
_WHILE_OPEN = {
    Change.OPENED, Change.OPENED_ON_FORECAST, Change.MORE_TIME, Change.REOPENED,
    Change.HOURS_FOUND, Change.MOVED,
}  # fmt: skip
_OPENINGS = {Change.OPENED, Change.OPENED_ON_FORECAST, Change.REOPENED}
_WHILE_CLOSING = {
    Change.CLOSING, Change.FEW_HOURS, Change.LAST_DAY, Change.LAST_HOURS,
}  # fmt: skip
_ALWAYS = {Change.SPRAYED, Change.SPRAY_UNDONE, Change.RETIRED, Change.NOT_SPRAYED}
SINCE = {Change.STOCK_EARLY, Change.LOOK_AGAIN, Change.SOAKED, Change.GOES_OFF}
"""What a sprayed paddock asks for."""


class Gate(StrEnum):
    """What is to be done with a delivery that is due."""

    SEND = "send"
    HOLD = "hold"
    CANCEL = "cancel"


@dataclass(frozen=True, slots=True)
class Answer:
    """The gate's answer, until when it holds, and the reason."""

    gate: Gate
    reason: str = ""
    until: np.datetime64 | None = None


def overtaken(event: Event, windows: Mapping[WindowKey, Kept], farm: FarmKept) -> str:
    """Why an event must not be told any more, or nothing."""
    if event.window is None:
        return _over(event, farm)
    kept = windows.get(event.window)
    if kept is None or event.change in _ALWAYS:
        return ""
    if event.change in SINCE:
        return _of_spray(event, kept)
    for wrong, reason in (
        (kept.sprayed, "cancel.sprayed"),
        (kept.retired, "cancel.retired"),
        (_retracted(event, kept), "cancel.retracted"),
        (_unsaid(event.change, kept), "cancel.superseded"),
    ):
        if wrong:
            return reason
    return _behind(event.change, kept.phase)


def _of_spray(event: Event, kept: Kept) -> str:
    """Whether the spray it follows on does not stand any more."""
    if kept.retired:
        return "cancel.retired"
    stands = kept.sprayed and event.epoch == kept.epoch
    return "" if stands else "cancel.retracted"


def _retracted(event: Event, kept: Kept) -> bool:
    """Whether it was taken back; more time to a close takes no opening back."""
    stands = event.change in _OPENINGS and kept.phase.rank >= Phase.OPEN.rank
    return event.epoch < (kept.opened if stands else kept.epoch)


def _unsaid(change: Change, kept: Kept) -> bool:
    """Whether what it says of today is no longer so."""
    return (change is Change.UNKNOWN and not kept.unknown) or (
        change is Change.HOURS_FOUND and kept.dry_since is not None
    )


def _over(event: Event, farm: FarmKept) -> str:
    """Whether a trouble of the farm has passed, or was told anew since."""
    told = {
        Change.NO_WEATHER: farm.stale_told,
        Change.CLOCK_WRONG: farm.clock_told,
        Change.TROUBLE: farm.trouble_told,
    }.get(event.change, event.made)
    return "" if told is not None and told <= event.made else "cancel.superseded"


def _behind(change: Change, phase: Phase) -> str:
    """Whether the window has gone on since; its later message says so."""
    if change in _BEFORE_OPEN and phase.rank >= Phase.OPEN.rank:
        return "cancel.superseded"
    if change is Change.MORE_TIME and phase.rank >= Phase.CLOSING.rank:
        return "cancel.superseded"
    if change in _WHILE_OPEN and phase is Phase.CLOSED:
        return "cancel.superseded"
    if change in _WHILE_CLOSING and phase is Phase.CLOSED:
        return "cancel.superseded"
    return ""


def still_true(
    events: Sequence[Event], windows: Mapping[WindowKey, Kept], farm: FarmKept
) -> tuple[Event, ...]:
    """Events that may still be told; steps on the way to the last of them stay."""
    told: list[Event] = []
    open_ends: set[WindowKey] = set()
    for each in reversed(events):
        if each.window in open_ends or not overtaken(each, windows, farm):
            told.append(each)
            if each.window is not None and each.change not in _ALWAYS | SINCE:
                open_ends.add(each.window)
    return tuple(reversed(told))


def gate(
    rank: Rank,
    *,
    quiet_until: np.datetime64 | None,
    last_chance: np.datetime64 | None,
    silent: bool,
) -> Answer:
    """Whether it may go out in quiet hours.

    Parameters
    ----------
    rank : Rank
        Of the message.
    quiet_until : datetime64 or None
        When the quiet hours end that it is in now.
    last_chance : datetime64 or None
        The end of the last good hours of the windows it is about, else their close.
    silent : bool
        Whether the channel wakes nobody.
    """
    if quiet_until is None or silent or rank is Rank.RECEIPT:
        return Answer(Gate.SEND)
    slept_through = (
        rank is Rank.URGENT
        and last_chance is not None
        and last_chance <= quiet_until + hours(AFTER_QUIET_H)
    )
    if slept_through:
        return Answer(Gate.SEND, "breaks.quiet")
    return Answer(Gate.HOLD, "hold.quiet", quiet_until)


def next_try(
    attempts: int, now: np.datetime64, *, wait_s: float | None = None
) -> np.datetime64:
    """When to try again after ``attempts`` tries; a receiver's own wish counts."""
    minutes = WAITS_MIN[min(max(attempts, 1), len(WAITS_MIN)) - 1]
    return now + hours(max(minutes * 60, min(wait_s or 0.0, 86_400.0)) / 3600)


def gave_up(rank: Rank, made: np.datetime64, now: np.datetime64) -> bool:
    """Whether it was tried for long enough; only a test ever was."""
    return rank is Rank.RECEIPT and bool(now - made >= hours(PATIENCE_H))
