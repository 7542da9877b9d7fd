"""Keys of events and messages: what happened, not when, so that a repeat is the same.

Neither dates nor numbers of the weather nor names go in: a forecast that wavers must
not make a new key. What may rightly happen again carries an epoch or a serial number.
"""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from forecaster.domain.alerts.records import Change, Rank, WindowKey

_BYTES = 12
_BETWEEN = "\x1f"


def _of(*parts: str) -> str:
    text = _BETWEEN.join(parts).encode()
    return hashlib.blake2b(text, digest_size=_BYTES).hexdigest()


def of_event(
    installation: str,
    window: WindowKey | None,
    change: Change,
    epoch: int,
    serial: int = 0,
) -> str:
    """Key of an event; 24 characters.

    ``serial`` is 0 for what can happen once in an epoch.
    """
    where = "farm" if window is None else str(window)
    return _of("event", installation, where, str(epoch), change.value, str(serial))


def of_message(events: Iterable[str], rank: Rank) -> str:
    """Key of the message that tells these events; 24 characters."""
    return _of("message", rank.value, *sorted(events))


def of_digest(installation: str, day: str) -> str:
    """Key of the digest of one local day; 24 characters."""
    return _of("digest", installation, day)


def of_letter(message: str, channel: str) -> str:
    """Key of one message in one channel; 24 characters."""
    return _of("letter", message, channel)
