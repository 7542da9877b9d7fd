"""One check of a made-up farm, as a program of its own that can be killed.

    python driver.py FOLDER STEP

The farm has four windows whose dates are written below, a phone and a file. Each
channel appends the key of an accepted message to a file and settles it on the disk:
what stands there was received, whatever became of the program.
"""

from __future__ import annotations

import datetime as dt
import os
import sys
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from forecaster.domain.alerts.letter import Fate, Letter, Outcome
from forecaster.domain.alerts.messages import Way
from forecaster.domain.alerts.reading import FarmReading, GoodBlock, Reading, Span
from forecaster.domain.alerts.records import Change, Rank, WindowKey
from forecaster.domain.alerts.rules import Rules
from forecaster.errors import ForecasterError
from forecaster.service.alerts.check import Check
from forecaster.service.alerts.log import Log
from forecaster.service.alerts.post import Post
from forecaster.service.alerts.sight import Sight
from forecaster.store.ledger import Ledger
from forecaster.store.one_check import alone

RULES = Rules(
    band_least_d=0.5, band_most_d=1.5, band_jitters=3, votes=2, wait_at_most_h=6,
    moved_d=1, moved_every_h=24, hours_every_h=12, spare_hours_h=2, ageing_h=12,
    stale_h=30, stale_every_h=24, clock_back_s=300, clock_off_s=600, off_periods=2,
    urgent_late_min=30, votes_span_h=12, period_h=24,
)  # fmt: skip
DAY = np.timedelta64(86_400, "s")
START = np.datetime64("2026-10-01T20:00:00", "s")
STEPS = 8
"""Checks, one a day."""
OPENS = {"back-road": 0.5, "creek-flat": 2.5, "house": 3.5, "woolshed": -2.0}
"""[d] from the start; each closes six days later. Woolshed is sprayed on day 3."""
RANKS = frozenset({Rank.URGENT, Rank.PUSH, Rank.DIGEST, Rank.RECEIPT})


def moment(step: int) -> np.datetime64:
    """When a check runs."""
    return START + step * DAY


@dataclass(frozen=True)
class Sink:
    """A channel that remembers on the disk what it accepted."""

    name: str
    folder: Path

    def send(self, letter: Letter, deadline_s: float) -> Outcome:
        """Accept."""
        del deadline_s
        handle = os.open(
            self.folder / f"{self.name}.sink", os.O_WRONLY | os.O_APPEND | os.O_CREAT
        )
        os.write(handle, f"{letter.key}\n".encode())
        os.fsync(handle)
        os.close(handle)
        return Outcome(Fate.ACCEPTED)

    def probe(self, deadline_s: float) -> Outcome:
        """Accept."""
        del deadline_s
        return Outcome(Fate.ACCEPTED)


def sight(step: int) -> Sight:
    """The farm at a step: the weather is an hour old and all is seen."""
    now = moment(step)
    farm = FarmReading(
        now=now, season=2026, source="made up", issued=now - DAY // 24, seen_until=now,
        horizon=now + 7 * DAY, basis="b",
    )  # fmt: skip
    return Sight(farm, tuple(_reading(name, step) for name in OPENS))


def sight_at(now: np.datetime64, step: int) -> Sight:
    """The farm at a step by a clock that is wrong; at step -1 there is no weather."""
    seen = sight(max(step, 0))
    if step < 0:
        nothing = replace(
            seen.farm, now=now, season=int(str(now)[:4]), issued=None, horizon=None
        )
        return Sight(nothing, None)
    return Sight(replace(seen.farm, now=now), seen.windows)


def _reading(name: str, step: int) -> Reading:
    now, opens = moment(step), START + np.timedelta64(round(OPENS[name] * 86_400), "s")
    closes = opens + 6 * DAY
    block = GoodBlock(now + DAY, now + DAY + DAY // 4, 225.0, 4.0, 0.7)
    return Reading(
        key=WindowKey(2026, name, "silver_grass", "glyphosate"), paddock=name,
        weed="Silver grass", hectares=40.0, needed=3.0,
        sprayed=name == "woolshed" and step >= 3,
        open=Span(opens - DAY, opens, opens + DAY),
        close=Span(closes - DAY, closes, closes + DAY), close_soon=closes - DAY,
        open_now=1.0 if opens <= now < closes else 0.0,
        blocks=(block,) if block.end < closes else (), hours=6.0, look_hours=20.0,
        due=(Change.LOOK_AGAIN,) if name == "woolshed" and step >= 6 else (),
    )  # fmt: skip


def post(folder: Path) -> Post:
    """A phone and a file."""
    ways = (Way("phone", RANKS), Way("shed", RANKS, silent=True))
    channels = {way.name: Sink(way.name, folder) for way in ways}
    return Post(
        farm="Thornbill Rise", zone="Australia/Melbourne", ways=ways, channels=channels,
        digest_at=dt.time(5, 30),
    )  # fmt: skip


def run(folder: Path, step: int) -> int:
    """One check; the exit code."""
    state, now = folder / ".alerts", moment(step)
    try:
        with alone(state, now), Ledger.open(state, now) as ledger:
            check = Check(ledger, post(folder), RULES, lambda: now, Log(None, now))
            return check.run(lambda _: sight(step)).exit
    except ForecasterError as error:
        sys.stderr.write(f"{type(error).__name__}: {error}\n")
        return error.exit_code


if __name__ == "__main__":
    sys.exit(run(Path(sys.argv[1]), int(sys.argv[2])))
