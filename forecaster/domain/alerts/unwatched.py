"""Windows that are not followed by their dates: sprayed, unknown, without weather."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from forecaster.domain.alerts.events import Decision, based, event_of, quietly
from forecaster.domain.alerts.phases import by, hours, phase_of, unknown
from forecaster.domain.alerts.ranks import rank_of
from forecaster.domain.alerts.records import Change, Kept, Phase, Rank
from forecaster.domain.alerts.seen import as_seen
from forecaster.domain.alerts.tellings import told

if TYPE_CHECKING:
    from forecaster.domain.alerts.events import Context
    from forecaster.domain.alerts.reading import Reading


def sprayed(kept: Kept, reading: Reading, context: Context) -> Decision:
    """Sprayed, or no longer so; of one that is done only what it asks for is told."""
    if reading.sprayed and kept.sprayed:
        return _since(kept, reading, context)
    kept = replace(kept, votes=None, serial=kept.serial + 1)
    if reading.sprayed:
        kept, change = replace(kept, sprayed=True), Change.SPRAYED
        rank = rank_of(change)
    else:
        kept, change = _undone(kept, reading, context), Change.SPRAY_UNDONE
        rank = quietly(_pressing(kept), change, context)
    event = event_of(
        kept, change, rank, context, at=context.farm.now, serial=kept.serial
    )
    decision = Decision(kept, (event,), f"event.{change.name.lower()}")
    return told(based(decision, context), reading, context)


def _since(kept: Kept, reading: Reading, context: Context) -> Decision:
    """What a sprayed paddock asks for, each once a spray."""
    new = tuple(each for each in reading.due if each not in kept.reminded)
    if not new:
        return Decision(kept, (), "skip.sprayed")
    kept = replace(kept, reminded=(*kept.reminded, *new))
    events = tuple(
        event_of(kept, each, rank_of(each), context, at=context.farm.now)
        for each in new
    )
    decision = Decision(kept, events, f"event.{new[-1].name.lower()}")
    return told(based(decision, context), reading, context)


def _undone(kept: Kept, reading: Reading, context: Context) -> Kept:
    """Where it stands now, worked out anew; what cannot be told stays as it was."""
    epoch = kept.epoch + 1
    kept = replace(kept, sprayed=False, epoch=epoch, opened=epoch, reminded=())
    if unknown(reading):
        return kept
    farm, change = context.farm, None
    phase = phase_of(reading, farm, context.rules)
    if phase is not Phase.NOT_OPEN:
        phase, change = as_seen(phase, reading, farm, context.rules)
    return replace(
        kept,
        phase=phase,
        presumed=change is Change.PRESUMED_CLOSED,
        issue=farm.issued,
        edge=reading.close.likely,
    )


def _pressing(kept: Kept) -> Rank:
    open_now = kept.phase in {Phase.OPEN, Phase.CLOSING}
    return Rank.PUSH if open_now else Rank.DIGEST


def cannot_tell(kept: Kept, context: Context) -> Decision:
    """Say once that a window cannot be told; its phase stays as it was.

    One that comes and goes is told aloud once a day; the rest waits for the digest.
    """
    if kept.unknown:
        return Decision(kept, (), "unknown")
    now, last = context.farm.now, kept.unknown_at
    lately = last is not None and now - last < hours(context.rules.stale_every_h)
    rank = quietly(_pressing(kept), Change.UNKNOWN, context)
    rank = Rank.DIGEST if lately else rank
    kept = replace(
        kept, unknown=True, serial=kept.serial + 1, unknown_at=last if lately else now
    )
    event = event_of(kept, Change.UNKNOWN, rank, context, at=now, serial=kept.serial)
    return Decision(kept, (event,), "event.unknown")


def without_weather(kept: Kept, reading: Reading | None, context: Context) -> Decision:
    """On weather too old to judge by, only a close that was foreseen is presumed."""
    if reading is not None and (reading.sprayed or kept.sprayed):
        return sprayed(kept, reading, context)
    close = kept.edge if reading is None or unknown(reading) else reading.close.likely
    pending = kept.phase in {Phase.OPEN, Phase.CLOSING} and not kept.sprayed
    if not (pending and context.near and by(close, context.farm.now)):
        return Decision(kept, (), "hold.no weather")
    assert close is not None  # noqa: S101 - reached, so there is one
    change, now = Change.PRESUMED_CLOSED, context.farm.now
    rank = quietly(rank_of(change), change, context)
    steps = (Change.CLOSING, change) if kept.phase is Phase.OPEN else (change,)
    events = tuple(event_of(kept, each, rank, context, at=close) for each in steps)
    moved = replace(
        kept,
        phase=Phase.CLOSED,
        votes=None,
        presumed=True,
        told_close=close,
        told_at=now,
        loud_at=now,
    )
    return Decision(moved, events, "event.presumed_closed")
