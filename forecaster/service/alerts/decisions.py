"""All windows and the farm at one check: what is kept, what happened, what to send."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from forecaster.domain.alerts import keys
from forecaster.domain.alerts.decide import decide
from forecaster.domain.alerts.events import Context
from forecaster.domain.alerts.farm_news import FarmDecision, Past, decide_farm
from forecaster.domain.alerts.phases import hours
from forecaster.domain.alerts.records import Change, Event, Kept, Phase, Rank

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    import numpy as np

    from forecaster.domain.alerts.reading import Reading
    from forecaster.domain.alerts.records import FarmKept, Snooze, WindowKey
    from forecaster.domain.alerts.rules import Rules
    from forecaster.service.alerts.sight import Sight


@dataclass(frozen=True, slots=True)
class Before:
    """What the last check left."""

    farm: FarmKept
    windows: Mapping[WindowKey, Kept]
    last_season: Mapping[WindowKey, Kept]
    """Windows of the season before, where this check is the first of a new one."""
    snoozes: Collection[Snooze]
    past: Past
    installation: str
    run: int


@dataclass(frozen=True, slots=True)
class After:
    """What this check leaves."""

    farm: FarmDecision
    windows: dict[WindowKey, Kept]
    changed: dict[WindowKey, Kept] = field(repr=False)
    """Those that differ from before."""
    events: tuple[Event, ...]
    reasons: dict[WindowKey, str] = field(repr=False)


def decide_all(before: Before, sight: Sight, rules: Rules) -> After:
    """Decide on the farm, then on each window; one that fails stops no other."""
    now = sight.farm.now
    watched = [kept for kept in before.windows.values() if kept.watched]
    farm = decide_farm(
        before.farm, sight.farm, rules, past=before.past,
        phases={kept.phase for kept in watched},
        installation=before.installation, run=before.run,
    )  # fmt: skip
    context = Context(
        sight.farm, rules, before.installation, before.run, farm.usable, farm.timely,
        hours_told=_lately(before.farm.hours_told, now, rules.hours_every_h),
        near=farm.near,
    )  # fmt: skip
    windows, events, reasons = _windows(before, sight, context)
    events = [*farm.events, *_rolled_over(before, context), *events]
    changed = {
        key: kept for key, kept in windows.items() if before.windows.get(key) != kept
    }
    if any(each.change is Change.HOURS_FOUND for each in events):
        farm = replace(farm, kept=replace(farm.kept, hours_told=now))
    return After(farm, windows, changed, tuple(events), reasons)


def _lately(told: np.datetime64 | None, now: np.datetime64, every_h: float) -> bool:
    return told is not None and bool(now - told < hours(every_h))


def _windows(
    before: Before, sight: Sight, context: Context
) -> tuple[dict[WindowKey, Kept], list[Event], dict[WindowKey, str]]:
    windows, events = dict(before.windows), list[Event]()
    reasons: dict[WindowKey, str] = {}
    seen = {each.key: each for each in sight.windows or ()}
    quiet = _Snoozed(before.snoozes, context.farm.now)
    for key in {**before.windows, **seen}:
        kept = before.windows.get(key) or Kept(key)
        here = replace(context, snoozed=quiet.covers(kept)) if quiet else context
        after, found, reason = _one(kept, seen.get(key), here, sight)
        windows[key] = after
        events += found
        reasons[key] = reason
    return windows, events, reasons


def _one(
    kept: Kept, reading: Reading | None, context: Context, sight: Sight
) -> tuple[Kept, tuple[Event, ...], str]:
    """One window: gone from the farm file, back in it, or decided on."""
    if reading is None and sight.windows is not None:
        return _gone(kept, context)
    if kept.retired and reading is not None:
        kept = Kept(kept.key, epoch=kept.epoch + 1, serial=kept.serial)
    decision = decide(kept, reading, context)
    return decision.kept, decision.events, decision.reason


def _gone(kept: Kept, context: Context) -> tuple[Kept, tuple[Event, ...], str]:
    if kept.retired:
        return kept, (), "skip.retired"
    event = _plain(kept, Change.RETIRED, context, kept.epoch)
    return replace(kept, retired=True), (event,), "event.retired"


def _plain(kept: Kept, change: Change, context: Context, epoch: int) -> Event:
    now = context.farm.now
    key = keys.of_event(context.installation, kept.key, change, epoch)
    return Event(key, change, Rank.DIGEST, now, now, kept.key, epoch, run=context.run)


def _rolled_over(before: Before, context: Context) -> list[Event]:
    """Windows of last season that were never marked sprayed, told once."""
    return [
        _plain(kept, Change.NOT_SPRAYED, context, kept.epoch)
        for kept in before.last_season.values()
        if kept.watched and kept.phase.rank >= Phase.OPEN.rank
    ]


class _Snoozed:
    """Which windows somebody asked for quiet about."""

    def __init__(self, snoozes: Collection[Snooze], now: np.datetime64) -> None:
        self._names = {
            (each.paddock, each.active) for each in snoozes if each.until > now
        }

    def __bool__(self) -> bool:
        return bool(self._names)

    def covers(self, kept: Kept) -> bool:
        """Whether the window is among them; one that is closing never is."""
        if kept.phase.rank >= Phase.CLOSING.rank:
            return False
        key = kept.key
        return not self._names.isdisjoint(
            {(key.paddock, ""), (key.paddock, key.active)}
        )
