"""What else is worth telling of a window that stays in its phase."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.alerts.events import Decision, event_of, quietly
from forecaster.domain.alerts.phases import by, days, hours
from forecaster.domain.alerts.ranks import rank_of
from forecaster.domain.alerts.records import Change, Kept, Phase, Rank

if TYPE_CHECKING:
    from forecaster.domain.alerts.events import Context
    from forecaster.domain.alerts.reading import Reading

LAST_DAY_H, LAST_HOURS_H = 24.0, 6.0
"""Before the likely close, at which it is told again: once an epoch …"""
WOKEN_H = 24.0
"""… and where nobody was woken about the window for so long. Our own choice: it keeps a
window with good hours to the end at four messages, as tests of made-up seasons show."""
DRY_H = 24.0
"""Good hours that went count as gone after so long. Our own choice."""


def more_to_tell(decision: Decision, reading: Reading, context: Context) -> Decision:
    """What is told of a window that stays in its phase: at most one thing."""
    kept = decision.kept
    if kept.phase not in {Phase.OPENING_SOON, Phase.OPEN, Phase.CLOSING}:
        return decision
    for change in _candidates(kept, reading, context):
        return _again(decision, change, context)
    return decision


def _candidates(kept: Kept, reading: Reading, context: Context) -> list[Change]:
    now, close = context.farm.now, reading.close.likely
    found = []
    if kept.phase is Phase.CLOSING and reading.blocks and not _woken(kept, now):
        if by(close, now + hours(LAST_HOURS_H)):
            found.append(Change.LAST_HOURS)
        elif by(close, now + hours(LAST_DAY_H)):
            found.append(Change.LAST_DAY)
    open_now = kept.phase.rank >= Phase.OPEN.rank
    if open_now and kept.has_hours is False and reading.blocks:
        found += [] if context.hours_told else [Change.HOURS_FOUND]
    if _moved(kept, close, context):
        found.append(Change.MOVED)
    return found


def _woken(kept: Kept, now: np.datetime64) -> bool:
    lately = kept.loud_at is not None and now - kept.loud_at < hours(WOKEN_H)
    return bool(kept.reminded) or bool(lately)


def _moved(kept: Kept, close: np.datetime64 | None, context: Context) -> bool:
    rules, now = context.rules, context.farm.now
    if kept.told_close is None or close is None or kept.told_at is None:
        return False
    far = abs(float((close - kept.told_close) / days(1))) >= rules.moved_d
    return far and bool(now - kept.told_at >= hours(rules.moved_every_h))


def _again(decision: Decision, change: Change, context: Context) -> Decision:
    kept = decision.kept
    repeats = change in {Change.HOURS_FOUND, Change.MOVED}
    kept = replace(
        kept,
        serial=kept.serial + 1 if repeats else kept.serial,
        reminded=kept.reminded if repeats else (*kept.reminded, change),
    )
    rank = quietly(rank_of(change), change, context)
    event = event_of(
        kept,
        change,
        rank,
        context,
        at=context.farm.now,
        serial=kept.serial if repeats else 0,
    )
    return Decision(kept, (event,), f"event.{change.name.lower()}")


def told(decision: Decision, reading: Reading, context: Context) -> Decision:
    """Note hours in sight, and what the last message said."""
    now, loud = context.farm.now, _loud(decision)
    kept = _hours_kept(decision, reading, context)
    if decision.events:
        kept = replace(kept, told_close=reading.close.likely, told_at=now)
    if loud:
        kept = replace(kept, loud_at=now)
    return replace(decision, kept=kept)


def _loud(decision: Decision) -> bool:
    return any(each.rank in {Rank.URGENT, Rank.PUSH} for each in decision.events)


def _hours_kept(decision: Decision, reading: Reading, context: Context) -> Kept:
    """Whether hours are in sight, for what is told next.

    Gone, they count as gone once a message said so or after a day: hours that come and
    go with each forecast are told once. Found too soon after others they are owed.
    """
    kept, now, loud = decision.kept, context.farm.now, _loud(decision)
    if np.isnan(reading.hours):
        return kept
    is_open = kept.phase.rank >= Phase.OPEN.rank
    if reading.blocks:
        owed = kept.has_hours is False and is_open and context.hours_told and not loud
        return replace(kept, has_hours=not owed, dry_since=None)
    since = kept.dry_since or now
    gone = loud or not kept.has_hours or now - since >= hours(DRY_H)
    return replace(kept, has_hours=not gone, dry_since=since)
