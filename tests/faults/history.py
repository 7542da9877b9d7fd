"""What must hold of a whole history, whatever happened on the way.

Nothing that had to happen is missing; nothing was told twice without a crash between
"received" and "marked"; nothing was received that was never written down.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import driver
import numpy as np

from forecaster.domain.alerts.farm_news import Past
from forecaster.domain.alerts.keys import of_letter
from forecaster.domain.alerts.records import (
    Delivery,
    FarmKept,
    Kept,
    Rank,
    Sending,
    WindowKey,
)
from forecaster.service.alerts.decisions import Before, decide_all
from forecaster.store.ledger import Ledger

if TYPE_CHECKING:
    from pathlib import Path

FOREVER = np.datetime64("2100-01-01T00:00:00", "s")


@dataclass
class Verdict:
    """What is wrong with a history; nothing where it is as promised."""

    lost: list[str] = field(default_factory=list)
    doubled: list[str] = field(default_factory=list)
    other: list[str] = field(default_factory=list)

    def __bool__(self) -> bool:
        return bool(self.lost or self.doubled or self.other)


def expected(installation: str) -> set[str]:
    """Keys of all that has to happen, worked out without any store."""
    farm, windows = FarmKept(), dict[WindowKey, Kept]()
    keys: set[str] = set()
    last: np.datetime64 | None = None
    for step in range(driver.STEPS):
        before = Before(farm, windows, {}, (), Past(last_run=last), installation, step)
        after = decide_all(before, driver.sight(step), driver.RULES)
        farm, windows = after.farm.kept, after.windows
        keys |= {each.key for each in after.events}
        last = driver.moment(step)
    return keys


def judge(folder: Path, *, crashes: int) -> Verdict:
    """The history of a farm after its last step and a quiet check."""
    verdict = Verdict()
    now = driver.moment(driver.STEPS)
    with Ledger.open(folder / ".alerts", now) as ledger:
        if ledger.opened.lost or ledger.opened.restored:
            verdict.other.append(f"state: {ledger.opened.words}")
        kept = {each.key: each for each in ledger.events()}
        messages = ledger.messages_between(np.datetime64(0, "s"), FOREVER)
        deliveries = ledger.deliveries()
        wanted = expected(ledger.installation)
    verdict.lost += sorted(wanted - kept.keys())
    verdict.other += [f"event out of nowhere: {key}" for key in kept.keys() - wanted]
    told = Counter(key for message in messages for key in message.events)
    urgent = [key for key, each in kept.items() if each.rank is not Rank.DIGEST]
    verdict.lost += [f"in no message: {key}" for key in urgent if not told[key]]
    verdict.other += [f"in {n} messages: {key}" for key, n in told.items() if n > 1]
    _deliveries(verdict, folder, deliveries, crashes)
    return verdict


def _deliveries(
    verdict: Verdict, folder: Path, deliveries: list[Delivery], crashes: int
) -> None:
    received = Counter(
        line for name in ("phone", "shed") for line in _lines(folder / f"{name}.sink")
    )
    for each in deliveries:
        key = of_letter(each.message, each.channel)
        copies = received.pop(key, 0)
        if each.state is Sending.SENT and not copies:
            verdict.lost.append(f"marked and never received: {key}")
        if each.state is Sending.WAITING and not each.stand_in:
            verdict.lost.append(f"still waiting: {key}: {each.note}")
        if each.state is Sending.DEAD:
            verdict.lost.append(f"dead: {key}: {each.note}")
        if copies > 1 + crashes:
            verdict.doubled.append(f"{copies} copies: {key}")
    verdict.other += [f"received, but never written down: {key}" for key in received]


def _lines(path: Path) -> list[str]:
    return path.read_text().splitlines() if path.exists() else []
