"""The stages a head passes through, by their decimal code."""

from __future__ import annotations

from enum import IntEnum


class Stage(IntEnum):
    """Growth stage of a head; the number is its BBCH code.

    The BBCH scale (Lancashire et al. 1991, Annals of Applied Biology 119:561–601;
    for weeds Hess et al. 1997, Weed Research 37:433–441) grew out of Zadoks, Chang &
    Konzak 1974, Weed Research 14:415–421; on these stages the two agree. The
    wording below is ours (from memory of the scale).

    Capeweed is a daisy: the same codes stand for the nearest thing its first heads
    do, and its weed file gives the words.
    """

    HEADING = 55
    """Half of the head out of the sheath."""
    FLOWERING = 65
    """Half of the florets in flower (anthesis)."""
    WATERY = 71
    """Grain holds clear juice."""
    MILK = 75
    """White juice: medium milk."""
    LATE_MILK = 77
    """Thick cream: late, or milky-dough, stage."""
    SOFT_DOUGH = 85
    """Soft and dryish; a nail mark does not stay."""
    HARD_DOUGH = 87
    """Firm; a nail mark stays."""
