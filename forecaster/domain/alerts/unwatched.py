"""Windows that are not followed by their dates: sprayed, unknown, without weather."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from forecaster.domain.alerts.events import Decision, based, event_of, quietly
from forecaster.domain.alerts.phases import by, phase_of, unknown
from forecaster.domain.alerts.ranks import rank_of
from forecaster.domain.alerts.records import Change, Kept, Phase, Rank
from forecaster.domain.alerts.tellings import told

if TYPE_CHECKING:
    from forecaster.domain.alerts.events import Context
    from forecaster.domain.alerts.reading import Reading


def sprayed(kept: Kept, reading: Reading, context: Context) -> Decision:
    """Sprayed, or no longer so; a window that is done is followed in silence."""
    if reading.sprayed and kept.sprayed:
        return Decision(kept, (), "skip.sprayed")
    if reading.sprayed:
        kept = replace(kept, sprayed=True, votes=None, serial=kept.serial + 1)
        change, rank = Change.SPRAYED, rank_of(Change.SPRAYED)
    else:
        phase = kept.phase
        if not unknown(reading):
            phase = phase_of(reading, context.farm, context.rules)
        kept = replace(
            kept, sprayed=False, phase=phase, votes=None, epoch=kept.epoch + 1,
            reminded=(), serial=kept.serial + 1,
        )  # fmt: skip
        change = Change.SPRAY_UNDONE
        pressing = phase in {Phase.OPEN, Phase.CLOSING}
        rank = Rank.PUSH if pressing else Rank.DIGEST
    event = event_of(
        kept, change, rank, context, at=context.farm.now, serial=kept.serial
    )
    decision = Decision(kept, (event,), f"event.{change.name.lower()}")
    return told(based(decision, context), reading, context)


def cannot_tell(kept: Kept, context: Context) -> Decision:
    """Say once that a window cannot be told; its phase stays as it was."""
    if kept.unknown:
        return Decision(kept, (), "unknown")
    kept = replace(kept, unknown=True, serial=kept.serial + 1)
    pressing = kept.phase in {Phase.OPEN, Phase.CLOSING}
    event = event_of(
        kept,
        Change.UNKNOWN,
        Rank.PUSH if pressing else Rank.DIGEST,
        context,
        at=context.farm.now,
        serial=kept.serial,
    )
    return Decision(kept, (event,), "event.unknown")


def without_weather(kept: Kept, reading: Reading | None, context: Context) -> Decision:
    """On weather too old to judge by, only a close that was foreseen is presumed."""
    if reading is not None and reading.sprayed != kept.sprayed:
        return sprayed(kept, reading, context)
    close = kept.edge if reading is None or unknown(reading) else reading.close.likely
    pending = kept.phase in {Phase.OPEN, Phase.CLOSING} and not kept.sprayed
    if not pending or not by(close, context.farm.now):
        return Decision(kept, (), "hold.no weather")
    assert close is not None  # noqa: S101 - reached, so there is one
    change = Change.PRESUMED_CLOSED
    rank = quietly(rank_of(change), change, context)
    steps = (Change.CLOSING, change) if kept.phase is Phase.OPEN else (change,)
    events = tuple(event_of(kept, each, rank, context, at=close) for each in steps)
    moved = replace(
        kept, phase=Phase.CLOSED, votes=None, told_close=close, told_at=context.farm.now
    )
    return Decision(moved, events, "event.presumed_closed")
