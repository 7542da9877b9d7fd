"""The messages of one check: told at once, in the digest, and tests of channels."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from forecaster.domain.alerts import keys
from forecaster.domain.alerts.messages import deliveries, digest, grouped
from forecaster.domain.alerts.phases import hours
from forecaster.domain.alerts.records import (
    Delivery,
    Message,
    Rank,
    Sending,
)

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.alerts.records import Event, FarmKept
    from forecaster.service.alerts.decisions import After, Before
    from forecaster.service.alerts.post import Post
    from forecaster.service.alerts.sight import Sight
    from forecaster.store.ledger import Ledger

TEST_EVERY_H = 7 * 24.0
"""A channel through which nothing went for so long is tried out."""


@dataclass(frozen=True, slots=True)
class Letters:
    """What is to be sent, and the farm as it is kept from then on."""

    farm: FarmKept
    messages: tuple[Message, ...]
    deliveries: tuple[Delivery, ...]
    reasons: tuple[str, ...]
    """Why there is no digest."""


def letters_of(
    before: Before,
    after: After,
    sight: Sight,
    ledger: Ledger,
    post: Post,
    *,
    noted: bool = False,
) -> Letters:
    """Group the events of a check; add the digest and tests of channels if due.

    ``noted``: the program has something to say of itself, so that the digest is made.
    """
    first = before.farm.freshness is None
    farm, now = after.farm.kept, sight.farm.now
    made = list(grouped(after.events, first=first))
    rows = [row for each in made for row in deliveries(each, post.ways)]
    reasons: list[str] = []
    if first:
        farm = replace(farm, digest_run=before.run)
    day = post.digest_due(now, before.farm.digest_day)
    if first and day is not None:
        farm = replace(farm, digest_day=day)  # all of it has just been told
    elif day is not None:
        farm = replace(farm, digest_day=day)
        waiting = _for_digest(before, after, ledger)
        pressing = any(kept.pressing for kept in after.windows.values())
        if waiting or noted or pressing:
            daily = digest(before.installation, day, waiting, now)
            made.append(daily)
            rows += deliveries(daily, post.ways)
            farm = replace(farm, digest_run=before.run)
        else:
            reasons.append("skip.digest empty")
        tests = _tests(ledger, post, {row.channel for row in rows}, now, day)
        made += [message for message, _ in tests]
        rows += [row for _, row in tests]
    return Letters(farm, tuple(made), tuple(rows), tuple(reasons))


def _for_digest(before: Before, after: After, ledger: Ledger) -> list[Event]:
    """Events that waited for the digest."""
    since = before.farm.digest_run
    kept = ledger.events(after_run=since)
    both = {each.key: each for each in (*kept, *after.events)}
    return [each for each in both.values() if each.rank is Rank.DIGEST]


def _tests(
    ledger: Ledger, post: Post, busy: set[str], now: np.datetime64, day: str
) -> list[tuple[Message, Delivery]]:
    """A test for each channel through which nothing went for a week."""
    last = ledger.last_sent()
    found = []
    for way in post.ways:
        sent = last.get(way.name)
        idle = sent is None or now - sent >= hours(TEST_EVERY_H)
        if idle and way.name not in busy:
            key = keys.of_digest(way.name, f"test {day}")
            message = Message(key, Rank.RECEIPT, (), now)
            row = Delivery(key, way.name, Sending.WAITING, now)
            found.append((message, row))
    return found
