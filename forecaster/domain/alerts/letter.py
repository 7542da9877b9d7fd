"""A message in words, and what became of handing it over."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from forecaster.domain.alerts.records import Rank


@dataclass(frozen=True, slots=True)
class Letter:
    """Words ready to be sent."""

    key: str
    """Of the delivery: the same for every copy of this message in this channel."""
    rank: Rank
    title: str
    short: str
    """At most 160 characters, for a phone."""
    text: str
    """The whole of it, lines ended by a line feed."""


class Fate(StrEnum):
    """What became of a letter."""

    ACCEPTED = "accepted"
    LATER = "later"
    """It may work in a while."""
    NEVER = "never"
    """Trying again will not help."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the receiver said."""

    fate: Fate
    words: str = ""
    """One line without secrets."""
    receipt: str = ""
    wait_s: float | None = None
    """How long the receiver asked us to wait."""
