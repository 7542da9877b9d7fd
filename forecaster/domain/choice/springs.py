"""What a paddock met in earlier springs, from every place that tells of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection

Used = frozenset[tuple[int, str]]
"""Year and active."""


@dataclass(frozen=True, slots=True)
class Springs:
    """Typed year by year, typed as a list, and recorded."""

    past: Used = frozenset()
    """Typed with its year."""
    listed: tuple[tuple[int, str], ...] = ()
    """Year and what was done, an active or not, of a list without years."""
    recorded: Used = frozenset()
    """Of spray records that stand."""

    def used(self, actives: Collection[str]) -> Used:
        """Year and active by any of the three; what is typed and recorded is one."""
        listed = frozenset(each for each in self.listed if each[1] in actives)
        return self.past | self.recorded | listed

    def running(self, active: str, spring: int) -> int | None:
        """Springs running before that of the year ``spring`` that met ``active``.

        In years of the list the list goes before the record. A year of which nothing
        is known breaks a run where an earlier one is known; None: no earlier one is.
        """
        covered = {year for year, _ in self.listed}
        done = {
            *self.past,
            *self.listed,
            *(each for each in self.recorded if each[0] not in covered),
        }
        if all(year >= spring for year, _ in done):
            return None
        run = 0
        while (spring - 1 - run, active) in done:
            run += 1
        return run

    def unlisted(self) -> tuple[tuple[int, str], ...]:
        """What was recorded in a year of the list and is not in it, oldest first."""
        covered = {year for year, _ in self.listed}
        typed = self.past | frozenset(self.listed)
        return tuple(
            sorted(e for e in self.recorded if e[0] in covered and e not in typed)
        )


def listed(last: Collection[str] | None, this_year: int) -> tuple[tuple[int, str], ...]:
    """The years of a list that is typed newest first; its first is last year's."""
    return tuple((this_year - 1 - ago, done) for ago, done in enumerate(last or ()))


def differing(
    past: Used, last: tuple[tuple[int, str], ...], actives: Collection[str]
) -> tuple[int | None, ...]:
    """For each entry of a list its year if ``past`` says otherwise, else None.

    Compared are years from the first to the last of ``past``. A list holds one thing
    a spring: one active of several is enough.
    """
    years = {year for year, _ in past}
    if not years:
        return (None,) * len(last)

    def differs(year: int, done: str) -> bool:
        if not min(years) <= year <= max(years):
            return False
        return (year, done) not in past if done in actives else year in years

    return tuple(year if differs(year, done) else None for year, done in last)
