"""Which of the snoozes that were ever asked for are in force.

They are only ever added: a newer one of the same paddock and active takes the place of
the older, and one that ends at once ends it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    import numpy as np

    from forecaster.domain.alerts.records import Snooze, WindowKey

LONGEST_D = 7
"""[d] Our own choice: a window may be over within two weeks."""


def in_force(snoozes: Iterable[Snooze], now: np.datetime64) -> list[Snooze]:
    """Those that are in force at ``now``.

    Parameters
    ----------
    snoozes : iterable of Snooze
        All of them, in the order they were asked for.
    now : datetime64
        One that was asked for later does not count yet.
    """
    newest: dict[tuple[str, str], Snooze] = {}
    for each in snoozes:
        if each.made <= now:
            newest[each.paddock, each.active] = each
    return [each for each in newest.values() if each.until > now]


def covers(snooze: Snooze, key: WindowKey) -> bool:
    """Whether a snooze is about a window."""
    return snooze.paddock == key.paddock and snooze.active in {"", key.active}
