"""What a paddock was sprayed with in earlier springs, from both places it is typed."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection

    from forecaster.settings.farm import Paddock


def springs(
    paddock: Paddock, actives: Collection[str], this_year: int
) -> frozenset[tuple[int, str]]:
    """Year and active of ``[[paddock.past]]`` and of ``last_springs``.

    The first of ``last_springs`` is taken for last year's; what is no active in it,
    such as hay, breaks a run by not being there.
    """
    listed = enumerate(paddock.typed.last_springs or ())
    choice = {(this_year - 1 - ago, used) for ago, used in listed if used in actives}
    return frozenset(paddock.past) | choice
