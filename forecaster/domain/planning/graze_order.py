"""Which paddock to graze next once spraying has begun.

The order is common practice, no source: late heads that escaped a spray are grazed hard
as soon as the label allows, before they turn brittle; topped feed that is going off
comes next; then unsprayed paddocks that ripen; topped feed that keeps; and last what is
worth no more than any dry feed.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable


class Place(StrEnum):
    """Where a paddock stands, the first to be grazed first; then those that are not."""

    LATE_HEADS = "late heads: graze hard at once"
    GOING = "topped, going off"
    RIPENING = "not to be sprayed, ripening"
    KEEPS = "topped, keeps"
    GONE = "topped, its weeks are over"
    WAITS = "stock may not come in yet"
    READ_LABEL = "read your label before stock go in"
    TO_SPRAY = "to be sprayed: stock off as the outlook says"
    TOXIC = "annual ryegrass toxicity: ask before stock go in"
    UNKNOWN = "cannot be told"


IN_ORDER = (
    Place.LATE_HEADS, Place.GOING, Place.RIPENING, Place.KEEPS, Place.GONE,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Facts:
    """What is known of one paddock; days are ``datetime64[D]``, local."""

    sprayed: bool
    known: bool = True
    """Whether its outlook could be told."""
    toxic: bool = False
    to_spray: bool = False
    """Whether a window may still come or be open for an active to be used."""
    late_heads: bool = False
    """Whether heads escaped the spray: counted since, else likely as they were uneven
    before it."""
    not_before: np.datetime64 | None = None
    """The first day for stock after the spray; None: not known."""
    held: tuple[np.datetime64, np.datetime64] | None = None
    """Between these days topped feed goes off; None: not sprayed."""
    soaked: bool = False
    """Whether a soaking fell or is forecast."""
    ripe: np.datetime64 | None = None
    """When half the heads are hard dough, likely."""


@dataclass(frozen=True, slots=True)
class Turn:
    """Where one paddock stands in the order."""

    place: Place
    by: np.datetime64 | None
    """Graze it by this day; in :attr:`Place.WAITS` the first day for stock."""
    then: Place | None = None
    """Where it will stand once stock may come in."""


def turn_of(facts: Facts, today: np.datetime64) -> Turn:
    """Where a paddock stands on ``today``; the first rule that fits wins."""
    if not facts.known:
        return Turn(Place.UNKNOWN, None)
    if facts.toxic:
        return Turn(Place.TOXIC, None)
    return _sprayed(facts, today) if facts.sprayed else _unsprayed(facts)


def _unsprayed(facts: Facts) -> Turn:
    if facts.to_spray:
        return Turn(Place.TO_SPRAY, None)
    return Turn(Place.RIPENING, facts.ripe)


def _sprayed(facts: Facts, today: np.datetime64) -> Turn:
    if facts.not_before is None:
        return Turn(Place.READ_LABEL, None)
    place, by = _topped(facts, today)
    if today < facts.not_before:
        return Turn(Place.WAITS, facts.not_before, place)
    return Turn(place, by)


def _topped(facts: Facts, today: np.datetime64) -> tuple[Place, np.datetime64 | None]:
    """A sprayed paddock as if stock might come in."""
    if facts.late_heads:
        return Place.LATE_HEADS, None
    worse, gone = (None, None) if facts.held is None else facts.held
    if gone is not None and gone < today:
        return Place.GONE, None
    if facts.soaked or (worse is not None and worse <= today):
        return Place.GOING, gone
    return Place.KEEPS, worse


def order(turns: Iterable[Turn]) -> list[int]:
    """Numbers of ``turns``, the one to graze first in front.

    By place, within one by day, a day that is not known last; then as they came.
    """
    places, far = list(Place), np.datetime64("9999-12-31", "D")
    listed = list(turns)
    return sorted(
        range(len(listed)),
        key=lambda at: (
            places.index(listed[at].place),
            far if listed[at].by is None else listed[at].by,
        ),
    )
