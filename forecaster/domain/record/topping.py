"""Which recorded sprays are the season's topping: they alone close a window.

Autumn and winter see sprays too, which grazing or cleaning follow; heads come later and
have to be stopped all the same.
"""

from __future__ import annotations

YEAR = 12


def tops(month: int, *, heads_out: bool | None, first_month: int) -> bool:
    """Whether a spray can have met heads.

    Parameters
    ----------
    month : int
        Of its finish, 1 to 12, as in the south (:func:`southern_month`).
    heads_out : bool or None
        What the recorded stage says of heads; None: nothing. It goes before the month.
    first_month : int
        The first in which a spray whose stage is not told counts.
    """
    return month >= first_month if heads_out is None else heads_out


def southern_month(month: int, *, southern: bool) -> int:
    """The month of the same season south of the equator."""
    return month if southern else (month + YEAR // 2 - 1) % YEAR + 1
