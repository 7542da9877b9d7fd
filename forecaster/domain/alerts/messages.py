"""Which events go together in one message, and through which channels."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from forecaster.domain.alerts import keys
from forecaster.domain.alerts.phases import hours
from forecaster.domain.alerts.records import Delivery, Message, Rank, Sending

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    import numpy as np

    from forecaster.domain.alerts.records import Event

NEXT_CHANNEL_H = 0.5
"""Without acceptance, the next channel is tried."""
SECOND_CONTACT_H = 2.0
"""Without acceptance, the second contact is asked."""


@dataclass(frozen=True, slots=True)
class Way:
    """One channel as the farm file has it."""

    name: str
    ranks: frozenset[Rank]
    second: bool = False
    """Asked only where the others failed."""
    silent: bool = False
    """A file: nobody is woken by it."""


def grouped(events: Sequence[Event], *, first: bool) -> tuple[Message, ...]:
    """One message a rank; at the first check all in one.

    Events for the digest wait for it.
    """
    if first and events:
        ranks = {each.rank for each in events}
        rank = Rank.URGENT if Rank.URGENT in ranks else Rank.PUSH
        return (_message(events, rank),)
    return tuple(
        _message(some, rank)
        for rank in (Rank.URGENT, Rank.PUSH)
        if (some := [each for each in events if each.rank is rank])
    )


def _message(events: Sequence[Event], rank: Rank) -> Message:
    names = tuple(each.key for each in events)
    return Message(keys.of_message(names, rank), rank, names, events[0].made)


def digest(
    installation: str, day: str, events: Iterable[Event], now: np.datetime64
) -> Message:
    """The message of one local day: all that could wait for it."""
    names = tuple(each.key for each in events)
    return Message(keys.of_digest(installation, day), Rank.DIGEST, names, now)


def deliveries(message: Message, ways: Sequence[Way]) -> tuple[Delivery, ...]:
    """How a message goes out: urgent through all, a push through one after another.

    Somebody has to hear of what is not for any channel: it then goes through the
    first.
    """
    meant = [way for way in ways if message.rank in way.ranks and not way.second]
    meant = meant or [way for way in ways if not way.second][:1] or list(ways[:1])
    loud = [way for way in meant if not way.silent]
    steps = message.rank is Rank.PUSH
    waits = {
        way.name: NEXT_CHANNEL_H * place if steps else 0.0
        for place, way in enumerate(loud)
    }
    waits |= {way.name: 0.0 for way in meant if way.silent}
    if message.rank in {Rank.URGENT, Rank.PUSH}:
        others = [each for each in ways if each.name not in waits and each.second]
        waits |= {way.name: SECOND_CONTACT_H for way in others}
    return tuple(
        Delivery(
            message.key,
            name,
            Sending.WAITING,
            message.made + hours(wait),
            stand_in=wait > 0,
        )
        for name, wait in waits.items()
    )


def reached(siblings: Iterable[Delivery], ways: Mapping[str, Way]) -> bool:
    """Whether a person's channel accepted the message; a file is nobody."""
    return any(
        each.state is Sending.SENT
        and each.channel in ways
        and not ways[each.channel].silent
        for each in siblings
    )
