"""What concerns the farm as a whole: no weather, a wrong clock, a gap, lost history."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

from forecaster.domain.alerts import keys
from forecaster.domain.alerts.phases import by, days, hours
from forecaster.domain.alerts.ranks import rank_of
from forecaster.domain.alerts.records import (
    Change,
    Event,
    FarmKept,
    Freshness,
    Phase,
    Rank,
)

if TYPE_CHECKING:
    from collections.abc import Collection

    import numpy as np

    from forecaster.domain.alerts.reading import FarmReading
    from forecaster.domain.alerts.rules import Rules

DAY_S = 86_400.0
"""[s] by which a clock may differ and dates still mean something."""
LONGEST_BLIND_D = 30.0
"""[d] without weather, after which a clock is not followed to a close nobody saw: it
may have jumped, to 2100 say. Our own choice; longer than windows last."""


@dataclass(frozen=True, slots=True)
class Past:
    """What is known of the checks before this one."""

    last_run: np.datetime64 | None = None
    """When the last check began."""
    lost: bool = False
    """Whether what was kept is gone."""
    restored: bool = False
    """Whether it came out of a backup."""
    words: str = ""
    """What happened to it."""


@dataclass(frozen=True, slots=True)
class FarmDecision:
    """What is kept of the farm, its events, and whether windows may be judged."""

    kept: FarmKept
    events: tuple[Event, ...]
    usable: bool
    """Whether the weather is young enough."""
    timely: bool
    """Whether the clock can be trusted."""
    reasons: tuple[str, ...]
    near: bool = True
    """Whether the clock shows a moment that may follow on the last known weather."""


def freshness_of(farm: FarmReading, rules: Rules) -> Freshness:
    """How far the weather may be trusted by the age of its issue."""
    if farm.issued is None or by(farm.horizon, farm.now):
        return Freshness.NONE
    age = farm.now - farm.issued
    if age > hours(rules.stale_h):
        return Freshness.STALE
    return Freshness.AGEING if age > hours(rules.ageing_h) else Freshness.FRESH


def clock_fault(kept: FarmKept, farm: FarmReading, rules: Rules) -> str:
    """What is wrong with the clock, or nothing.

    A weather service that was asked just now knows better than what was kept: that may
    be of a day when the clock was ahead.
    """
    if kept.highest is not None and farm.skew_s is None:
        back = float((kept.highest - farm.now) / hours(1)) * 3600
        if back > rules.clock_back_s:
            return f"behind the last check by {_span(back)}"
    skew = farm.skew_s or 0.0
    if abs(skew) > rules.clock_off_s:
        side = "ahead of" if skew > 0 else "behind"
        return f"{side} the weather service's by {_span(abs(skew))}"
    return ""


def _span(seconds: float) -> str:
    if seconds < 2 * 3600:
        return f"{seconds / 60:.0f} min"
    return (
        f"{seconds / 3600:.0f} h" if seconds < 2 * DAY_S else f"{seconds / DAY_S:.0f} d"
    )


def decide_farm(
    kept: FarmKept,
    farm: FarmReading,
    rules: Rules,
    *,
    past: Past,
    phases: Collection[Phase],
    installation: str,
    run: int,
) -> FarmDecision:
    """The farm at one check.

    Parameters
    ----------
    kept : FarmKept
        What the last check left; a fresh one at the first.
    farm : FarmReading
        The farm now.
    rules : Rules
        Ages, leads and repeats.
    past : Past
        Of the checks before.
    phases : collection of Phase
        In which windows stood that are still watched.
    installation : str
        Goes into the keys.
    run : int
        The number of this check.
    """
    news = _News(kept, farm, rules, _pressing(phases), _Names(installation, run))
    fault = clock_fault(kept, farm, rules)
    far = fault.startswith("behind the last") or abs(farm.skew_s or 0.0) > DAY_S
    news.history(past)
    news.clock(fault)
    news.trouble()
    if not far:
        news.gap(past)
    fresh = freshness_of(farm, rules)
    if not far:
        news.weather(fresh)
    elif news.kept.freshness is None:
        news.kept = replace(news.kept, freshness=fresh)  # the first check is told once
    after = news.kept
    if not far and (fresh is not Freshness.NONE or not kept.season):
        after = replace(after, season=farm.season)
    if fresh is not Freshness.NONE and not fault:
        before = kept.highest if farm.skew_s is None else None
        highest = farm.now if before is None else max(farm.now, before)
        after = replace(after, highest=highest)
    blind = days(LONGEST_BLIND_D)
    near = kept.highest is None or bool(farm.now - kept.highest <= blind)
    return FarmDecision(
        after, tuple(news.events), fresh.usable, not far, tuple(news.reasons), near
    )


def _pressing(phases: Collection[Phase]) -> Rank:
    """How soon want of weather has to be told, by the windows that wait."""
    if {Phase.OPEN, Phase.CLOSING} & set(phases):
        return Rank.URGENT
    return Rank.PUSH if Phase.OPENING_SOON in phases else Rank.DIGEST


class _Names(NamedTuple):
    installation: str
    run: int


class _News:
    """Gathers the events of one check; each method is one kind of news."""

    def __init__(
        self,
        kept: FarmKept,
        farm: FarmReading,
        rules: Rules,
        pressing: Rank,
        names: _Names,
    ) -> None:
        self.kept, self.events, self.reasons = kept, list[Event](), list[str]()
        self._farm, self._rules, self._pressing = farm, rules, pressing
        self._names = names

    def history(self, past: Past) -> None:
        """Say that what was kept is gone or older than it was; or a first check."""
        if past.lost:
            self._tell(Change.HISTORY_LOST, because=past.words)
        elif past.restored:
            self._tell(Change.RESTORED, because=past.words)
        if self.kept.freshness is None:
            self._tell(Change.FIRST_LOOK)

    def clock(self, fault: str) -> None:
        """Say that the clock is wrong; again every day that it is."""
        told = self.kept.clock_told
        if not fault:
            self.kept = replace(self.kept, clock_told=None)
        elif told is None or abs(self._farm.now - told) >= hours(24):
            self._tell(Change.CLOCK_WRONG, because=fault)
            self.kept = replace(self.kept, clock_told=self._farm.now)
        else:
            self.reasons.append("hold.clock told")

    def trouble(self) -> None:
        """Say that a file of the farm cannot be used; again every day."""
        told, words = self.kept.trouble_told, self._farm.trouble
        if not words:
            self.kept = replace(self.kept, trouble_told=None)
        elif told is None or self._farm.now - told >= hours(24):
            self._tell(Change.TROUBLE, because=words)
            self.kept = replace(self.kept, trouble_told=self._farm.now)
        else:
            self.reasons.append("hold.trouble told")

    def gap(self, past: Past) -> None:
        """Say that no check ran for long."""
        since, now = past.last_run, self._farm.now
        allowed = hours(self._rules.off_periods * self._rules.period_h)
        if since is not None and now - since > allowed:
            rank = Rank.DIGEST if self._pressing is Rank.DIGEST else Rank.PUSH
            self._tell(Change.WAS_OFF, rank, at=since)

    def weather(self, fresh: Freshness) -> None:
        """Say that weather is lost, again every day that it is, and that it is back."""
        now, told = self._farm.now, self.kept.stale_told
        again = hours(self._rules.stale_every_h)
        if fresh.usable and told is not None:
            rank = Rank.DIGEST if self._pressing is Rank.DIGEST else Rank.PUSH
            self._tell(Change.WEATHER_BACK, rank)
            self.kept = replace(self.kept, stale_told=None)
        elif not fresh.usable and (told is None or now - told >= again):
            self._tell(Change.NO_WEATHER, self._pressing, because=self._farm.fault)
            self.kept = replace(self.kept, stale_told=now)
        elif not fresh.usable:
            self.reasons.append("hold.no weather told")
        self.kept = replace(self.kept, freshness=fresh)

    def _tell(
        self,
        change: Change,
        rank: Rank | None = None,
        because: str = "",
        at: np.datetime64 | None = None,
    ) -> None:
        serial = self.kept.serial + 1
        self.kept = replace(self.kept, serial=serial)
        self.events.append(
            Event(
                key=keys.of_event(self._names.installation, None, change, 0, serial),
                change=change,
                rank=rank or rank_of(change),
                at=self._farm.now if at is None else at,
                made=self._farm.now,
                because=because,
                run=self._names.run,
            )
        )
