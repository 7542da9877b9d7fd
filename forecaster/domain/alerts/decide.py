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
    explained,
    new_source,
    quietly,
)
from forecaster.domain.alerts.phases import band_d, days, phase_of, unknown
from forecaster.domain.alerts.ranks import BACK, STEPS, rank_of
from forecaster.domain.alerts.records import Change, Kept, Phase, Votes
from forecaster.domain.alerts.seen import as_seen
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
    if kept.retired:
        return Decision(kept, (), "skip.retired")
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
    farm, rules = context.farm, context.rules
    ahead = phase_of(reading, farm, rules)
    slack = 0.0 if kept.presumed else band_d(seen.jitter, rules)
    behind = phase_of(reading, farm, rules, slack_d=slack)
    if ahead.rank > kept.phase.rank:
        decision = _forward(seen, ahead, reading, context)
    elif behind.rank < kept.phase.rank:
        decision = _back(seen, ahead, reading, context)
    else:
        decision = _stays(seen, ahead, reading, context)
    if not decision.events:
        decision = more_to_tell(decision, reading, context)
    return told(based(decision, context), reading, context)


def _edge_seen(kept: Kept, reading: Reading, context: Context) -> Kept:
    """How far the close usually moves from one forecast to the next.

    One leap is no tremble: a movement counts for no more than the dead band it met.
    """
    issue, edge = context.farm.issued, reading.close.likely
    if explained(kept, context) or new_source(kept, context):
        return replace(kept, issue=issue, edge=edge)
    if issue is None or (kept.issue is not None and issue <= kept.issue):
        return kept
    jitter = kept.jitter
    if edge is not None and kept.edge is not None:
        moved = abs(float((edge - kept.edge) / days(1)))
        moved = min(moved, band_d(jitter, context.rules))
        jitter = float(
            np.sqrt((1 - JITTER_SHARE) * jitter**2 + JITTER_SHARE * moved**2)
        )
    return replace(kept, issue=issue, edge=edge, jitter=jitter)


def _stays(kept: Kept, ahead: Phase, reading: Reading, context: Context) -> Decision:
    """No step, for now."""
    kept = replace(kept, votes=None)
    if ahead.rank < kept.phase.rank:
        return Decision(kept, (), "hold.band")
    if kept.presumed:
        _, change = as_seen(ahead, reading, context.farm, context.rules)
        kept = replace(kept, presumed=change is not Change.CLOSED)
    return Decision(kept, (), f"same.{kept.phase.name.lower()}")


# ------------------------------------------------------------------ forward


def _forward(kept: Kept, target: Phase, reading: Reading, context: Context) -> Decision:
    target, change = as_seen(target, reading, context.farm, context.rules)
    if target.rank <= kept.phase.rank:
        return Decision(replace(kept, votes=None), (), "hold.unseen")
    if change in {Change.SOON, Change.OPENED_ON_FORECAST}:
        return _unsure(kept, target, reading, context)
    return _step(kept, target, change, reading, context)


def _unsure(kept: Kept, target: Phase, reading: Reading, context: Context) -> Decision:
    """An opening that comes near, or that rests on forecast hours."""
    waiting = vote(kept, target, context)
    late = waiting.to is Phase.OPEN and waited(waiting, context)
    if late or confirmed(kept, waiting, context):
        target = target if explained(kept, context) else waiting.to
    elif target is Phase.OPEN and kept.phase is Phase.NOT_OPEN:
        target = Phase.OPENING_SOON
    else:
        return _hold(kept, waiting, context)
    opens = target is Phase.OPEN
    change = Change.OPENED_ON_FORECAST if opens else Change.SOON
    return _step(kept, target, change, reading, context)


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
    opens = kept.phase.rank < Phase.OPEN.rank <= target.rank
    moved = replace(
        kept,
        phase=target,
        votes=None,
        presumed=change is Change.PRESUMED_CLOSED,
        opened=kept.epoch if opens else kept.opened,
    )
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


def _back(kept: Kept, target: Phase, reading: Reading, context: Context) -> Decision:
    """Go back to where the dates put it, and begin a new epoch.

    ``target`` is without the slack that led here: told as closing, a window that is
    open by its dates would never be told as closing again.
    """
    if kept.phase is Phase.CLOSING and target is Phase.OPEN and _hours_gone(reading):
        return Decision(replace(kept, votes=None), (), "hold.hours unknown")
    waiting = vote(kept, target, context)
    if not kept.presumed and not confirmed(kept, waiting, context):
        return _hold(kept, waiting, context)
    if not kept.presumed and not explained(kept, context):
        target = waiting.to
    change = BACK[kept.phase, target]
    rank = quietly(rank_of(change), change, context)
    epoch = kept.epoch + 1
    raised = replace(
        kept,
        phase=target,
        votes=None,
        epoch=epoch,
        reminded=(),
        presumed=False,
        opened=epoch if change is Change.REOPENED else kept.opened,
    )
    event = event_of(raised, change, rank, context, at=context.farm.now)
    return Decision(raised, (event,), f"event.{change.name.lower()}")


def _hours_gone(reading: Reading) -> bool:
    """Whether nobody can say any more that there are more than a few hours."""
    return reading.in_sight and bool(np.isnan(reading.hours + reading.look_hours))


def _hold(kept: Kept, waiting: Votes, context: Context) -> Decision:
    reason = f"hold.confirm {len(waiting.issues)}/{context.rules.votes}"
    return Decision(replace(kept, votes=waiting), (), reason)
