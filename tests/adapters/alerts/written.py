"""Writes the state of a farm line by line, as checks would have."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.alerts.records import (
    Change,
    Delivery,
    Event,
    Kept,
    Message,
    Phase,
    Rank,
    Run,
    Sending,
    WindowKey,
)
from forecaster.settings.farm import load_farm
from forecaster.store.ledger import Ledger

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from forecaster.settings.farm import Farm

START = np.datetime64("2026-10-11T20:07:00", "s")
"""07:07 on Monday 12 October 2026 by the demo farm's clock, which is UTC+11."""
HOUR = np.timedelta64(3600, "s")
KEY = WindowKey(2026, "creek-flat", "silver_grass", "paraquat")
HOUSE = WindowKey(2026, "house", "silver_grass", "glyphosate")


def at(hour: float) -> np.datetime64:
    """Hours after the first check."""
    return START + np.timedelta64(round(hour * 3600), "s")


@dataclass
class Writer:
    """Writes what checks would have."""

    folder: Path

    @property
    def farm(self) -> Farm:
        """The farm as it is loaded."""
        return load_farm(self.folder)

    @property
    def state(self) -> Path:
        """Where its state is kept."""
        return self.folder / ".alerts"

    def check(
        self,
        hour: float,
        reasons: dict[WindowKey, str],
        *events: Event,
        exit_code: int | None = 0,
        notes: tuple[str, ...] = (),
    ) -> Run:
        """One check that began so many hours after the first."""
        with Ledger.open(self.state, at(hour)) as ledger, ledger.writing() as tx:
            run = tx.begin_run(at(hour))
            ended = Run(
                run.id, run.started, ended=None if exit_code is None else at(hour),
                issued=at(hour) - HOUR, exit=exit_code, ok=not notes, notes=notes,
            )  # fmt: skip
            tx.put_run(ended)
            tx.note_reasons(run.id, reasons)
            tx.add_events(events)
        return ended

    def checks(self, hours: Iterable[float], reasons: dict[WindowKey, str]) -> None:
        """Several that went well and found nothing new, and a copy of the state."""
        with Ledger.open(self.state, START) as ledger:
            with ledger.writing() as tx:
                for hour in hours:
                    run = tx.begin_run(at(hour))
                    issued = at(hour) - HOUR
                    tx.put_run(
                        replace(run, ended=at(hour), issued=issued, exit=0, ok=True)
                    )
                    tx.note_reasons(run.id, reasons)
            ledger.back_up(START)

    def phase(self, key: WindowKey, phase: Phase) -> None:
        """A window as it is kept now."""
        with Ledger.open(self.state, START) as ledger, ledger.writing() as tx:
            tx.put_windows([Kept(key, phase)])

    def message(self, message: Message, *deliveries: Delivery) -> None:
        """A message and its ways."""
        with Ledger.open(self.state, START) as ledger, ledger.writing() as tx:
            tx.add_messages([message])
            tx.add_deliveries(deliveries)


def event(
    hour: float, change: Change, rank: Rank, key: WindowKey | None = KEY, run: int = 1
) -> Event:
    """Something found so many hours after the first check."""
    name = f"{change.name}-{key}-{hour:g}"
    return Event(name, change, rank, at(hour), at(hour), key, 1, run=run)


def sent(message: str, hour: float, note: str = "accepted", tries: int = 1) -> Delivery:
    """A message that a phone accepted."""
    return Delivery(
        message, "phone", Sending.SENT, at(hour), tries, note, "id", at(hour)
    )
