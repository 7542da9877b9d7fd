"""When stock must leave a paddock, worked back from the projected heading.

Stock come off a spell before half the heads are out, so that the heads left come out
together and can be reached. The band is as sure as the heading is: it is given for an
early, a likely and a late one, and the likely one decides the status.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

import numpy as np

ALERT_DAYS = (10, 3)
"""[d] before the band at which stock-off is *soon*, and pressing. Assumed."""
DAY = np.timedelta64(1, "D")


class StockStatus(StrEnum):
    """Where a paddock stands with taking stock off."""

    NOT_YET = "not yet"
    SOON = "soon"
    DUE = "due now"
    OVERDUE = "overdue"
    TOO_LATE = "too late, heads are out"
    NO_STOCK = "no stock known"
    UNKNOWN = "unknown"


class ClashKind(StrEnum):
    """How a mob's stay breaks the spell."""

    STAYS = "stays past stock-off"
    ENTERS = "enters between stock-off and spraying"


class Heading(NamedTuple):
    """Days on which half the heads are out, ``datetime64[D]``.

    None: not reached before the weather ends, or unknown.
    """

    early: np.datetime64 | None
    likely: np.datetime64 | None
    late: np.datetime64 | None


class Spell(NamedTuple):
    """Days from stock off to half the heads out."""

    shortest: int
    longest: int


class Band(NamedTuple):
    """First and last day to take stock off, ``datetime64[D]``."""

    first: np.datetime64
    last: np.datetime64


@dataclass(frozen=True, slots=True)
class Stay:
    """A mob in a paddock, past or planned, both days included."""

    mob: str
    dse: float
    """Dry sheep equivalents."""
    start: np.datetime64
    end: np.datetime64

    def covers(self, day: np.datetime64) -> bool:
        """Whether the mob is there on ``day``."""
        return bool(self.start <= day <= self.end)


@dataclass(frozen=True, slots=True)
class Clash:
    """A stay that breaks the spell."""

    stay: Stay
    kind: ClashKind


@dataclass(frozen=True, slots=True)
class StockOff:
    """When stock must leave, and what stands in the way."""

    heading: Heading
    early: Band | None
    likely: Band | None
    late: Band | None
    status: StockStatus
    days_left: int | None
    """To the last day of the likely band; negative once it is past."""
    alert: int | None
    """Which of :data:`ALERT_DAYS` has come, while it is *soon*."""
    clashes: tuple[Clash, ...]


def band(heading: np.datetime64 | None, spell: Spell) -> Band | None:
    """The days to take stock off for one heading; None where that is not known."""
    if heading is None or np.isnat(heading):
        return None
    return Band(heading - spell.longest * DAY, heading - spell.shortest * DAY)


def stock_off(
    heading: Heading,
    today: np.datetime64,
    spell: Spell,
    *,
    stock_on: bool,
    stays: tuple[Stay, ...] = (),
    spray_until: np.datetime64 | None = None,
) -> StockOff:
    """When stock must leave one paddock.

    Parameters
    ----------
    heading : Heading
        When half the heads of the target are out.
    today : datetime64[D]
        Now, on the calendar the other days are on.
    spell : Spell
        From stock off to heading. [d]
    stock_on : bool
        Whether stock are known to be there today.
    stays : tuple of Stay
        Of mobs in this paddock, in any order.
    spray_until : datetime64[D] or None
        The day spraying ends or was done; None: half the heads out.

    Returns
    -------
    StockOff
        ``UNKNOWN`` and no clashes where the likely heading is not known.
    """
    early, likely, late = (band(each, spell) for each in heading)
    if likely is None or heading.likely is None:
        return StockOff(heading, early, None, late, StockStatus.UNKNOWN, None, None, ())
    until = heading.likely if spray_until is None else spray_until
    status = _status(heading.likely, likely, today) if stock_on else None
    return StockOff(
        heading=heading,
        early=early,
        likely=likely,
        late=late,
        status=status or StockStatus.NO_STOCK,
        days_left=_days(likely.last - today),
        alert=_alert(likely, today) if status is StockStatus.SOON else None,
        clashes=_clashes(stays, likely, today, until),
    )


def _status(heading: np.datetime64, likely: Band, today: np.datetime64) -> StockStatus:
    if today >= heading:
        return StockStatus.TOO_LATE
    if today > likely.last:
        return StockStatus.OVERDUE
    if today >= likely.first:
        return StockStatus.DUE
    soon = _days(likely.first - today) <= max(ALERT_DAYS)
    return StockStatus.SOON if soon else StockStatus.NOT_YET


def _alert(likely: Band, today: np.datetime64) -> int:
    """The nearest alert that has come."""
    left = _days(likely.first - today)
    return min(each for each in ALERT_DAYS if left <= each)


def _clashes(
    stays: tuple[Stay, ...], likely: Band, today: np.datetime64, until: np.datetime64
) -> tuple[Clash, ...]:
    """Stays not over yet that break the spell, the first to begin first."""
    found = []
    for stay in sorted(stays, key=lambda each: (each.start, each.end, each.mob)):
        if stay.end < today:
            continue
        if stay.start <= max(likely.last, today) and likely.last < stay.end:
            found.append(Clash(stay, ClashKind.STAYS))
        elif likely.last < stay.start <= until:
            found.append(Clash(stay, ClashKind.ENTERS))
    return tuple(found)


def _days(span: np.timedelta64) -> int:
    return int(span / DAY)
