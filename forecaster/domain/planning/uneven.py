"""What is left to do where heads come out too unevenly for one spray."""

from __future__ import annotations

from enum import StrEnum

HALF = 0.5
"""[share] of heads not out yet from which hard grazing still evens them. Assumed."""


class Choice(StrEnum):
    """One way out; none is to spray on the mean."""

    GRAZE_HARD = "graze hard again"
    EARLY_AND_AGAIN = "translocated early, and a second pass"
    SPLIT = "split the paddock"
    CUT = "silage or hay"
    LEAVE = "leave it this year"


def choices(not_out: float, *, translocated: bool) -> tuple[Choice, ...]:
    """What is left, best first.

    The order is that of common practice, no source; late tillers are better met by an
    active that moves in the plant.

    Parameters
    ----------
    not_out : float
        Share of heads not out yet; NaN counts as none.
    translocated : bool
        Whether such an active may be used on the weed here.
    """
    found = [Choice.GRAZE_HARD] if not_out >= HALF else []
    if translocated:
        found.append(Choice.EARLY_AND_AGAIN)
    return (*found, Choice.SPLIT, Choice.CUT, Choice.LEAVE)
