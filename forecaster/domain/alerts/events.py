"""An event of one window, and what all windows of a check share."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from forecaster.domain.alerts import keys
from forecaster.domain.alerts.records import Change, Event, Kept, Rank

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.alerts.reading import FarmReading
    from forecaster.domain.alerts.rules import Rules

BASIS_CHANGED = "the farm file, the looks or the program changed"


@dataclass(frozen=True, slots=True)
class Context:
    """What all windows of one check share."""

    farm: FarmReading
    rules: Rules
    installation: str
    run: int
    usable: bool
    """Whether the weather is young enough to judge by."""
    timely: bool = True
    """Whether the clock can be trusted."""
    snoozed: bool = False
    """Whether somebody asked for quiet about this window."""
    hours_told: bool = False
    """Whether hours that were found were told not long ago."""
    near: bool = True
    """Whether the clock shows a moment that may follow on the last known weather."""


@dataclass(frozen=True, slots=True)
class Decision:
    """What is kept from now on, what happened, and the reason in one word or two."""

    kept: Kept
    events: tuple[Event, ...]
    reason: str


def explained(kept: Kept, context: Context) -> bool:
    """Whether somebody counted heads, or a file or the program changed since."""
    return bool(kept.basis) and kept.basis != context.farm.basis


def new_source(kept: Kept, context: Context) -> bool:
    """Whether the weather comes from another service than last time."""
    return bool(kept.source) and kept.source != context.farm.source


def based(decision: Decision, context: Context) -> Decision:
    """Note what the answer stood on; a change of it explains the next one."""
    kept = replace(decision.kept, source=context.farm.source, basis=context.farm.basis)
    return replace(decision, kept=kept)


def quietly(rank: Rank, change: Change, context: Context) -> Rank:
    """A snooze keeps all but the last warnings for the digest."""
    wakes = {
        Change.CLOSING, Change.FEW_HOURS, Change.CLOSED, Change.PRESUMED_CLOSED,
        Change.LAST_DAY, Change.LAST_HOURS,
    }  # fmt: skip
    return Rank.DIGEST if context.snoozed and change not in wakes else rank


def event_of(
    kept: Kept,
    change: Change,
    rank: Rank,
    context: Context,
    *,
    at: np.datetime64,
    serial: int = 0,
) -> Event:
    """An event of the window as it is in ``kept``, epoch and all."""
    return Event(
        key=keys.of_event(context.installation, kept.key, change, kept.epoch, serial),
        change=change,
        rank=rank,
        at=at,
        made=context.farm.now,
        window=kept.key,
        epoch=kept.epoch,
        because=BASIS_CHANGED if explained(kept, context) else "",
        run=context.run,
    )
