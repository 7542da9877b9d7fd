"""The cheap part of it once a day inside a check; what failed goes into the digest."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.alerts.phases import hours
from forecaster.domain.alerts.records import Rank, Sending
from forecaster.service.selfcheck.running import CHEAP, ITEMS, failed, looked_at
from forecaster.service.selfcheck.subject import Subject

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.service.alerts.log import Log
    from forecaster.service.alerts.post import Post
    from forecaster.settings.farm import Farm
    from forecaster.store.ledger import Ledger

STAMP = "selfcheck.at"
"""Beside the state: when it was last done."""
EVERY_H = 24.0


def notes(
    farm: Farm, ledger: Ledger, post: Post, now: np.datetime64, log: Log
) -> tuple[str, ...]:
    """What failed, for the digest that is due; whatever goes wrong stops nothing."""
    from forecaster.service.alerts.farm_check import FOLDER

    try:
        if not _due(farm.folder / FOLDER, ledger, post, now):
            return ()
        cheap = tuple(each for each in ITEMS if each.id in CHEAP)
        subject = Subject(farm.folder, now, offline=True, farm=farm)
        wrong = failed(looked_at(subject, cheap))
        _stamp(farm.folder / FOLDER, now)
    except Exception as error:  # noqa: BLE001 - a check goes on whatever this finds
        log.say("selfcheck", "warning", why=type(error).__name__)
        return (f"the daily self-check could not be done ({type(error).__name__})",)
    for each in wrong:
        log.say("selfcheck", "warning", id=each.id, why=each.words)
    return tuple(f"self-check {e.id}: {e.words}. Remedy: {e.remedy}" for e in wrong)


def _due(folder: Path, ledger: Ledger, post: Post, now: np.datetime64) -> bool:
    """With every digest, also one that still waits; at least once a day."""
    if post.digest_due(now, ledger.farm().digest_day) is not None:
        return True
    waiting = {each.message for each in ledger.deliveries(state=Sending.WAITING)}
    if any(each.rank is Rank.DIGEST for each in ledger.messages(waiting).values()):
        return True
    last = _last(folder)
    return last is None or bool(last > now) or bool(now - last >= hours(EVERY_H))


def _last(folder: Path) -> np.datetime64 | None:
    with suppress(OSError, ValueError):
        return np.datetime64((folder / STAMP).read_text().strip(), "s")
    return None


def _stamp(folder: Path, now: np.datetime64) -> None:
    with suppress(OSError):
        (folder / STAMP).write_text(str(now.astype("datetime64[s]")))
