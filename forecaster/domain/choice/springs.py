"""What a paddock met in earlier springs, from every place that tells of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Collection

Used = frozenset[tuple[int, str]]
"""Year and active."""


class Gainsaid(NamedTuple):
    """A year for which the list says one thing, years and record another."""

    year: int
    listed: str
    there: tuple[str, ...]
    """Actives by the other two; none: no spray."""


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

        Where two places gainsay each other both count. A year of which nothing is known
        breaks a run where an earlier one is known; None: no earlier one is.
        """
        done = {*self.past, *self.listed, *self.recorded}
        if all(year >= spring for year, _ in done):
            return None
        run = 0
        while (spring - 1 - run, active) in done:
            run += 1
        return run

    def gainsaid(self, actives: Collection[str]) -> tuple[Gainsaid, ...]:
        """Years of the list for which the other two say otherwise, the newest first.

        A list holds one thing a spring: one active of several is enough. A spring that
        is not typed with its year was without a spray where earlier and later ones are.
        """
        typed = {year for year, _ in self.past}
        found = []
        for year, done in self.listed:
            there = {used for at, used in self.past | self.recorded if at == year}
            between = bool(typed) and min(typed) <= year <= max(typed)
            sprayed = done in actives
            if (sprayed and done not in there and (there or between)) or (
                not sprayed and there
            ):
                found.append(Gainsaid(year, done, tuple(sorted(there))))
        return tuple(found)


def listed(last: Collection[str] | None, this_year: int) -> tuple[tuple[int, str], ...]:
    """The years of a list that is typed newest first; its first is last year's."""
    return tuple((this_year - 1 - ago, done) for ago, done in enumerate(last or ()))
