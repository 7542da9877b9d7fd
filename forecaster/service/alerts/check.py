"""One check: look, decide, keep, hand over, and say whether all of that was done.

The order is what keeps the promise: what happened and what has to be sent are kept in
one transaction before anything is sent; what was sent is marked after.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from forecaster.domain.alerts.farm_news import Past
from forecaster.domain.alerts.phases import hours
from forecaster.domain.alerts.records import (
    Delivery,
    Freshness,
    Rank,
    Run,
    Sending,
)
from forecaster.domain.alerts.success import Findings, exit_code, wanting
from forecaster.service.alerts.decisions import Before, decide_all
from forecaster.service.alerts.letters import letters_of
from forecaster.service.alerts.relay import Scene, Tally, relay

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy as np

    from forecaster.domain.alerts.rules import Rules
    from forecaster.service.alerts.decisions import After
    from forecaster.service.alerts.letters import Letters
    from forecaster.service.alerts.log import Log
    from forecaster.service.alerts.post import Post
    from forecaster.service.alerts.sight import Sight
    from forecaster.store.ledger import Ledger


@dataclass(frozen=True, slots=True)
class Result:
    """What one check did."""

    exit: int
    wanting: tuple[str, ...]
    """Why it was no full success; empty where it was one."""
    counts: dict[str, int] = field(default_factory=dict)
    weather_age_h: float = float("nan")
    run: int = 0


@dataclass(frozen=True, slots=True)
class Check:
    """One run of the daily line, on a state that nobody else holds."""

    ledger: Ledger
    post: Post
    rules: Rules
    clock: Callable[[], np.datetime64]
    log: Log
    notes: tuple[str, ...] = ()
    """What the program found out about itself, for the digest."""
    codes: tuple[int, ...] = ()
    """Exit codes of what went wrong before."""

    def run(self, look: Callable[[np.datetime64], Sight]) -> Result:
        """Look, decide, keep and hand over.

        Raises
        ------
        StateError
            If nothing can be kept; nothing was sent then either.
        """
        now = self.clock()
        past = self._past(now)
        run = self._begin(now)
        sight = look(now)
        after, letters, run = self._keep(run, sight, past)
        self._say(after, letters)
        tally = relay(self.ledger, self._scene(sight), self.log)
        return self._end(run, sight, after, tally)

    def deliver(self, issued: np.datetime64 | None) -> Tally:
        """Hand over what is due, and nothing else."""
        return relay(self.ledger, self._scene_of(issued), self.log)

    # -------------------------------------------------------------- steps

    def _past(self, now: np.datetime64) -> Past:
        runs = self.ledger.runs(now - hours(24 * 60), now)
        opened = self.ledger.opened
        return Past(
            last_run=max((each.started for each in runs), default=None),
            lost=opened.lost,
            restored=opened.restored,
            words=opened.words,
        )

    def _begin(self, now: np.datetime64) -> Run:
        with self.ledger.writing() as tx:
            run = tx.begin_run(now)
        self.log.run = run.id
        return run

    def _keep(self, run: Run, sight: Sight, past: Past) -> tuple[After, Letters, Run]:
        """All of what happened and has to be sent, or nothing of it."""
        before = self._before(run, sight, past)
        after = decide_all(before, sight, self.rules)
        letters = letters_of(
            before, after, sight, self.ledger, self.post, noted=bool(self.notes)
        )
        issued = sight.farm.issued
        run = replace(
            run, basis=sight.farm.basis, source=sight.farm.source, issued=issued
        )
        with self.ledger.writing() as tx:
            tx.put_farm(letters.farm)
            tx.put_windows(after.changed.values())
            tx.put_sights({each.key: each for each in sight.windows or ()})
            tx.add_events(after.events)
            tx.add_messages(letters.messages)
            tx.add_deliveries(letters.deliveries)
            tx.note_reasons(run.id, after.reasons)
            tx.put_run(run)
        return after, letters, run

    def _before(self, run: Run, sight: Sight, past: Past) -> Before:
        farm = self.ledger.farm()
        season = sight.farm.season
        # A year that only the clock knows of, without weather for it, is none.
        rolled = farm.season not in {0, season} and sight.windows is not None
        return Before(
            farm=farm,
            windows=self.ledger.windows(season),
            last_season=self.ledger.windows(farm.season) if rolled else {},
            snoozes=self.ledger.snoozes(sight.farm.now),
            past=past,
            installation=self.ledger.installation,
            run=run.id,
        )

    def _scene(self, sight: Sight) -> Scene:
        return self._scene_of(sight.farm.issued, sight.notes)

    def _scene_of(
        self, issued: np.datetime64 | None, notes: tuple[str, ...] = ()
    ) -> Scene:
        post = self.post
        return Scene(
            farm=post.farm,
            zone=post.zone,
            season=self.ledger.farm().season,
            ways={way.name: way for way in post.ways},
            channels=post.channels,
            quiet_until=post.quiet_until(self.clock()),
            issued=issued,
            clock=self.clock,
            notes=(*self.notes, *notes),
        )

    # ------------------------------------------------------------- outcome

    def _say(self, after: After, letters: Letters) -> None:
        for each in after.events:
            window = None if each.window is None else str(each.window)
            self.log.say(
                f"event.{each.change.name.lower()}",
                window=window,
                rank=each.rank.value,
                because=each.because,
            )
        for reason, number in sorted(Counter(after.reasons.values()).items()):
            if not reason.startswith("event."):
                self.log.say("windows", why=reason, windows=number)
        for reason in (*after.farm.reasons, *letters.reasons):
            self.log.say("farm", why=reason)

    def _end(self, run: Run, sight: Sight, after: After, tally: Tally) -> Result:
        now = self.clock()
        found = self._findings(after, now)
        lacks = wanting(found, told=after.farm.kept.stale_told is not None)
        code = exit_code(found, (*self.codes, sight.code))
        counts = self._counts(after, tally, found)
        issued = sight.farm.issued
        ended = replace(
            run, ended=now, exit=code, ok=not lacks, counts=counts, notes=lacks
        )
        with self.ledger.writing() as tx:
            tx.put_run(ended)
        self.log.say("run", exit=code, counts=counts)
        age = float("nan") if issued is None else float((now - issued) / hours(1))
        return Result(code, lacks, counts, age, run.id)

    def _findings(self, after: After, now: np.datetime64) -> Findings:
        waiting = self.ledger.deliveries(state=Sending.WAITING)
        due = [each for each in waiting if each.attempts and not each.stand_in]
        urgent = self._urgent(waiting)
        late = hours(self.rules.urgent_late_min / 60)
        recent = self.ledger.messages([each.message for each in self._dead(now)])
        return Findings(
            freshness=after.farm.kept.freshness or Freshness.NONE,
            windows=len(after.windows),
            answered=len(after.reasons),
            committed=True,
            clock_ok=after.farm.kept.clock_told is None,
            state_checked=self.ledger.opened.checked,
            waiting=len(due),
            urgent_late=sum(bool(now - made > late) for made in urgent),
            dead=len(recent),
        )

    def _urgent(self, waiting: list[Delivery]) -> list[np.datetime64]:
        """When urgent messages were made that have reached nobody."""
        told = self.ledger.messages({each.message for each in waiting})
        return [
            each.made
            for each in told.values()
            if each.rank is Rank.URGENT and not self._reached(each.key)
        ]

    def _dead(self, now: np.datetime64) -> list[Delivery]:
        """Of the last day's messages, those that no channel took or still may."""
        gone = self.ledger.deliveries(state=Sending.DEAD)
        lately = [
            each
            for each in gone
            if each.ended is not None and now - each.ended < hours(24)
        ]
        return [each for each in lately if not self._reached(each.message, hope=True)]

    def _reached(self, message: str, *, hope: bool = False) -> bool:
        states = {each.state for each in self.ledger.deliveries(message=message)}
        wanted = {Sending.SENT} | ({Sending.WAITING} if hope else set())
        return bool(states & wanted)

    def _counts(self, after: After, tally: Tally, found: Findings) -> dict[str, int]:
        live = [kept for kept in after.windows.values() if kept.watched]
        phases = Counter(kept.phase.value for kept in live)
        return {
            "windows": len(live),
            **dict(sorted(phases.items())),
            "unknown": sum(kept.unknown for kept in live),
            "events": len(after.events),
            "sent": tally.sent,
            "held": tally.held,
            "cancelled": tally.cancelled,
            "waiting": found.waiting,
            "dead": found.dead,
        }
