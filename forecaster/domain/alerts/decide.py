"""One window at one check: which changes are events, and why all else is none.

Forward steps that matter never wait; steps back wait for a second forecast and for
more than a wavering edge, since a forecast trembles from hour to hour. Every answer
carries its reason, also the answer that there is nothing to tell.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.alerts.events import (
    Decision,
    based,
    event_of,
    new_source,
    quietly,
)
from forecaster.domain.alerts.phases import band_d, by, days, phase_of, unknown
from forecaster.domain.alerts.ranks import BACK, STEPS, rank_of
from forecaster.domain.alerts.records import Change, Kept, Phase, Votes
from forecaster.domain.alerts.tellings import more_to_tell, told
from forecaster.domain.alerts.unwatched import cannot_tell, sprayed, without_weather
from forecaster.domain.alerts.votes import confirmed, vote, waited
from forecaster.domain.planning.windows import SOON

if TYPE_CHECKING:
    from forecaster.domain.alerts.events import Context
    from forecaster.domain.alerts.reading import Reading

JITTER_SHARE = 0.2
"""Weight of the newest movement in the usual one. Assumed."""


def decide(kept: Kept, reading: Reading | None, context: Context) -> Decision:
    """One window at one check.

    Parameters
    ----------
    kept : Kept
        What the last check left; a fresh ``Kept(key)`` for a new window.
    reading : Reading or None
        The window now; None where there is no weather at all.
    context : Context
        The check.
    """
    if not context.timely:
        return Decision(kept, (), "hold.clock")
    if reading is None or not context.usable:
        return without_weather(kept, reading, context)
    if reading.sprayed or kept.sprayed:
        return sprayed(kept, reading, context)
    if unknown(reading):
        return cannot_tell(kept, context)
    return _watch(replace(kept, unknown=False), reading, context)


def _watch(kept: Kept, reading: Reading, context: Context) -> Decision:
    """A window that is watched, on weather that can be used."""
    seen = _edge_seen(kept, reading, context)
    if new_source(kept, context):
        seen = replace(seen, votes=None)
    ahead = phase_of(reading, context.farm, context.rules)
    behind = phase_of(
        reading, context.farm, context.rules, slack_d=band_d(seen.jitter, context.rules)
    )
    if ahead.rank > kept.phase.rank:
        decision = _forward(seen, ahead, reading, context)
    elif behind.rank < kept.phase.rank:
        decision = _back(seen, behind, context)
    else:
        wavers = ahead.rank < kept.phase.rank
        reason = "hold.band" if wavers else f"same.{kept.phase.name.lower()}"
        decision = Decision(replace(seen, votes=None), (), reason)
    if not decision.events:
        decision = more_to_tell(decision, reading, context)
    return told(based(decision, context), reading, context)


def _edge_seen(kept: Kept, reading: Reading, context: Context) -> Kept:
    """How far the close usually moves from one forecast to the next."""
    issue, edge = context.farm.issued, reading.close.likely
    if issue is None or (kept.issue is not None and issue <= kept.issue):
        return kept
    jitter = kept.jitter
    if edge is not None and kept.edge is not None and kept.basis == context.farm.basis:
        moved = abs(float((edge - kept.edge) / days(1)))
        jitter = float(
            np.sqrt((1 - JITTER_SHARE) * jitter**2 + JITTER_SHARE * moved**2)
        )
    return replace(kept, issue=issue, edge=edge, jitter=jitter)


# ------------------------------------------------------------------ forward


def _forward(kept: Kept, target: Phase, reading: Reading, context: Context) -> Decision:
    target, change = _as_seen(target, reading, context)
    if target.rank <= kept.phase.rank:
        return Decision(replace(kept, votes=None), (), "hold.unseen")
    if change in {Change.SOON, Change.OPENED_ON_FORECAST}:
        waiting = vote(kept, target, context)
        enough = target is Phase.OPEN and waited(waiting, context)
        if not enough and not confirmed(kept, waiting, context):
            if change is Change.OPENED_ON_FORECAST and kept.phase is Phase.NOT_OPEN:
                return _step(kept, Phase.OPENING_SOON, Change.SOON, reading, context)
            return _hold(kept, waiting, context)
    return _step(kept, target, change, reading, context)


def _as_seen(target: Phase, reading: Reading, context: Context) -> tuple[Phase, Change]:
    """The target and its name; a close is believed once observed hours reach it."""
    seen = context.farm.seen_until
    if target is Phase.CLOSED and not _seen(reading.close.likely, seen):
        target = Phase.CLOSING
    if target is Phase.OPEN and not _seen(reading.open.likely, seen):
        return target, Change.OPENED_ON_FORECAST
    if target is Phase.CLOSING and not _by_date(reading, context):
        return target, Change.FEW_HOURS
    return target, STEPS[target]


def _seen(edge: np.datetime64 | None, until: np.datetime64 | None) -> bool:
    return until is not None and by(edge, until)


def _by_date(reading: Reading, context: Context) -> bool:
    """Whether the window is closing by its dates, not for want of hours."""
    plenty = replace(reading, hours=np.inf)
    return phase_of(plenty, context.farm, context.rules).rank >= Phase.CLOSING.rank


def _step(
    kept: Kept, target: Phase, change: Change, reading: Reading, context: Context
) -> Decision:
    """Go forward, through every phase between; one message tells them all."""
    passed = [
        STEPS[phase] for phase in Phase if kept.phase.rank < phase.rank < target.rank
    ]
    rank = quietly(rank_of(change), change, context)
    steps = (*passed, change)
    events = tuple(
        event_of(kept, each, rank, context, at=_moment(each, reading, context))
        for each in steps
    )
    moved = replace(kept, phase=target, votes=None)
    return Decision(moved, events, f"event.{change.name.lower()}")


def _moment(change: Change, reading: Reading, context: Context) -> np.datetime64:
    """When it happened in the field, as well as is known; never later than now."""
    opens = reading.open.likely
    edges = {
        Change.SOON: None if opens is None else opens - days(SOON),
        Change.OPENED: reading.open.likely,
        Change.OPENED_ON_FORECAST: reading.open.likely,
        Change.CLOSED: reading.close.likely,
        Change.PRESUMED_CLOSED: reading.close.likely,
    }
    edge = edges.get(change)
    return context.farm.now if edge is None else min(edge, context.farm.now)


# --------------------------------------------------------------------- back


def _back(kept: Kept, target: Phase, context: Context) -> Decision:
    waiting = vote(kept, target, context)
    if not confirmed(kept, waiting, context):
        return _hold(kept, waiting, context)
    change = BACK[kept.phase, target]
    rank = quietly(rank_of(change), change, context)
    raised = replace(kept, phase=target, votes=None, epoch=kept.epoch + 1, reminded=())
    event = event_of(raised, change, rank, context, at=context.farm.now)
    return Decision(raised, (event,), f"event.{change.name.lower()}")


def _hold(kept: Kept, waiting: Votes, context: Context) -> Decision:
    reason = f"hold.confirm {len(waiting.issues)}/{context.rules.votes}"
    return Decision(replace(kept, votes=waiting), (), reason)
