"""What the user typed of a paddock for the choice; None: nobody has said."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from forecaster.domain.choice.facts import Sward

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np

    from forecaster.domain.choice.facts import Resists
    from forecaster.domain.choice.matters_most import Weighed


@dataclass(frozen=True, slots=True)
class Typed:
    """``[paddock.sward]`` and ``[paddock.choice]``."""

    sward: Sward = field(default_factory=Sward)
    sown: np.datetime64 | None = None
    """``datetime64[D]`` the perennials were sown."""
    feed_short: bool | None = None
    on_offer: float | None = None
    """[kg DM/ha] Feed on offer."""
    priority_stock: bool | None = None
    sheep: bool | None = None
    accepts_late: bool = False
    resists: Mapping[str, Resists] = field(default_factory=dict)
    """By active."""
    last_springs: tuple[str, ...] | None = None
    """What was done in the last springs, newest first."""
    weighed: tuple[Weighed, ...] = ()
    """The sum by which the weed that matters most was found, largest first."""
    picked: bool = False
    """Whether the user named that weed."""
