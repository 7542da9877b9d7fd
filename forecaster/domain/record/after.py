"""When stock may come back after a finish, to the hour and to the printed day."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from forecaster.domain.planning.withholding import DAY, LabelSays

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    import numpy as np

    from forecaster.domain.planning.withholding import Withholding
    from forecaster.domain.sourced import Sourced


@dataclass(frozen=True, slots=True)
class AfterNumbers:
    """What comes after a spray; spans are days after that of the finish [d]."""

    second_look: tuple[Sourced, Sourced]
    held: tuple[Sourced, Sourced]
    """For which the feed keeps its quality where it stays dry."""
    soaking_rain: Sourced
    """[mm] that soak it when they fall within ``soaking_within``."""
    soaking_within: Sourced
    """[d]"""
    held_after_soaking: Sourced
    """[d] for which it is then still worth eating."""
    topping_month: Sourced
    """[month] from which a spray counts as topping where its stage is not told."""


@dataclass(frozen=True, slots=True)
class ReEntry:
    """``ends``: UTC, when the whole days are over; ``day``: the day that is printed."""

    ends: np.datetime64
    day: np.datetime64


def re_entry(
    finish: np.datetime64,
    held: Withholding,
    day_of: Callable[[np.datetime64], np.datetime64],
) -> ReEntry | None:
    """When stock may come in after a spray that ended at ``finish``.

    Finish Wednesday 14 October 17:00 and seven whole days end Wednesday 21 October
    17:00; printed is Thursday the 22nd. Days are 24 hours each. Where a night of the
    clock's change pushes the end past midnight, the day printed moves on with it, so
    it is never early. ``day_of`` gives the local day of a moment. (Common practice,
    no source.)

    None unless the days were typed.
    """
    rule = held.not_before(day_of(finish))
    if held.says is not LabelSays.DAYS or held.days is None or rule is None:
        return None
    ends: np.datetime64 = finish + (held.days * DAY).astype("timedelta64[s]")
    return ReEntry(ends, max(rule, day_of(ends) + DAY))


@dataclass(frozen=True, slots=True)
class Recorded:
    """What the records of one paddock say of this season; days are local."""

    actives: tuple[str, ...]
    """Each once, the first spray first."""
    day: np.datetime64
    """Of the last finish, ``datetime64[D]``."""
    finish: np.datetime64
    """The last one, UTC ``datetime64[s]``."""
    not_before: np.datetime64 | None
    """The first day for stock, ``datetime64[D]``; None: read the label."""
    finishes: tuple[np.datetime64, ...] = ()
    """Of every job, UTC ``datetime64[s]``, the first in front."""

    def holds(self, first: np.datetime64 | None) -> np.datetime64 | None:
        """``first``, never before its own day; None where either is not known."""
        if first is None or self.not_before is None:
            return None
        return max(first, self.not_before)


def recorded(
    jobs: Sequence[tuple[str, np.datetime64, Withholding]],
    day_of: Callable[[np.datetime64], np.datetime64],
) -> Recorded:
    """What one or more jobs, (active, finish, withholding), mean for the paddock.

    Stock wait for the last of their days, and without any date if the days of one job
    are not known.
    """
    jobs = sorted(jobs, key=lambda job: job[1])
    finish = jobs[-1][1]
    ends = [re_entry(finish, held, day_of) for _, finish, held in jobs]
    days = [end.day for end in ends if end is not None]
    return Recorded(
        actives=tuple(dict.fromkeys(active for active, _, _ in jobs)),
        day=day_of(finish),
        finish=finish,
        not_before=max(days) if len(days) == len(jobs) else None,
        finishes=tuple(each for _, each, _ in jobs),
    )


def days_after(
    day: np.datetime64, span: tuple[Sourced, Sourced]
) -> tuple[np.datetime64, np.datetime64]:
    """First and last day of a span that is counted from ``day``, ``datetime64[D]``."""
    first, last = span
    return day + round(first.value) * DAY, day + round(last.value) * DAY
