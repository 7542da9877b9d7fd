"""How many springs running a paddock met the same active, and where to look next."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping

TEST_AT = 3
"""[springs running] from which a test comes before the next use. Assumed."""


class Advice(StrEnum):
    """What the number of springs asks for."""

    TEST = "test before use"
    ONE_MORE = "one more spring makes three: test, or use another"
    NONE = "nothing"


@dataclass(frozen=True, slots=True)
class Ticks:
    """One paddock and active."""

    paddock: str
    active: str
    years: tuple[int, ...]
    """Springs it was used, oldest first."""
    run: int
    """Springs running up to the last one; 0 where that one was without."""
    advice: Advice
    recorded: tuple[int, ...] = ()
    """Those of ``years`` that a spray record holds, oldest first."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A paddock that may want a spray next spring."""

    paddock: str
    weed: str
    share: float
    """[% of the sward] as typed."""
    plants_m2: float | None
    """Seedlings found where it was sprayed [plants/m²]; None: not counted."""
    year: int | None
    """Of the spray they were counted after."""

    @property
    def rank(self) -> float | None:
        """Share typed times seedlings found [% · plants/m²]."""
        return None if self.plants_m2 is None else self.share * self.plants_m2


def ticks(
    paddock: str,
    past: Iterable[tuple[int, str]],
    latest: int,
    recorded: Collection[tuple[int, str]] = (),
) -> tuple[Ticks, ...]:
    """Count springs by active.

    Parameters
    ----------
    paddock : str
        Its name.
    past : iterable of (year, active)
        What was used, in any order; twice is once.
    latest : int
        The last spring there was, or the present one.
    recorded : collection of (year, active)
        What of it a record holds.

    Returns
    -------
    tuple of Ticks
        The longest run first.
    """
    used: dict[str, set[int]] = {}
    for year, active in past:
        used.setdefault(active, set()).add(year)
    found = [
        replace(
            _tick(paddock, active, years, latest),
            recorded=tuple(sorted(year for year, used in recorded if used == active)),
        )
        for active, years in used.items()
    ]
    return tuple(sorted(found, key=lambda each: (-each.run, each.active)))


def candidates(
    shares: Mapping[tuple[str, str], float],
    found: Mapping[tuple[str, str], tuple[int, float]],
) -> tuple[Candidate, ...]:
    """Paddock and weed by share typed times seedlings found, the most first.

    Those that were not counted come after them, by their share.
    """
    listed = []
    for (paddock, weed), share in shares.items():
        year, plants = found.get((paddock, weed), (None, None))
        listed.append(Candidate(paddock, weed, share, plants, year))
    return tuple(
        sorted(
            listed, key=lambda each: (each.rank is None, -(each.rank or 0), -each.share)
        )
    )


def running(years: Collection[int], latest: int) -> int:
    """Springs running up to ``latest``, or up to the one before if it is not there."""
    end = latest if latest in years else latest - 1
    run = 0
    while end - run in years:
        run += 1
    return run


def _tick(paddock: str, active: str, years: set[int], latest: int) -> Ticks:
    run = running(years, latest)
    advice = Advice.NONE
    if run >= TEST_AT:
        advice = Advice.TEST
    elif run == TEST_AT - 1:
        advice = Advice.ONE_MORE
    return Ticks(paddock, active, tuple(sorted(years)), run, advice)
