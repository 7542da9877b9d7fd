"""Stops of one stretch of work in the order of the shortest road."""

from __future__ import annotations

from itertools import permutations
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from forecaster.domain.weather import Floats

    Allowed = Callable[[Sequence[int]], bool]

EXACT = 7
"""Stops up to which every order is tried (5,040)."""
ROUNDING = 1e-9


def length(order: Sequence[int], distance: Floats) -> float:
    """Road along an open route, in the unit of ``distance`` (stops, stops)."""
    stops = np.asarray(order)
    return float(distance[stops[:-1], stops[1:]].sum())


def shortest(distance: Floats, allowed: Allowed) -> tuple[int, ...]:
    """The stops in the shortest order that ``allowed`` lets through.

    Every order of a few; of many what turning round pieces of the route finds. The
    order given, 0 … n − 1, stays where nothing shorter is allowed, or a distance is
    not known.
    """
    stops = tuple(range(len(distance)))
    if np.isnan(distance).any():
        return stops
    return (_exact if len(stops) <= EXACT else _two_opt)(stops, distance, allowed)


def _exact(
    stops: tuple[int, ...], distance: Floats, allowed: Allowed
) -> tuple[int, ...]:
    best, least = stops, length(stops, distance)
    for order in permutations(stops):
        road = length(order, distance)
        if road < least - ROUNDING and allowed(order):
            best, least = order, road
    return best


def _two_opt(
    stops: tuple[int, ...], distance: Floats, allowed: Allowed
) -> tuple[int, ...]:
    best, least = stops, length(stops, distance)
    better = True
    while better:
        better = False
        for first in range(len(stops) - 1):
            for last in range(first + 2, len(stops) + 1):
                turned = best[:first] + best[first:last][::-1] + best[last:]
                road = length(turned, distance)
                if road < least - ROUNDING and allowed(turned):
                    best, least, better = turned, road, True
    return best
