"""Everything ``forecaster advise`` says of one paddock."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.choice.decide import Choice
    from forecaster.domain.choice.matters_most import Weighed
    from forecaster.domain.money.cost import Cost
    from forecaster.domain.outlook import ActiveOutlook
    from forecaster.domain.sourced import Sourced


@dataclass(frozen=True, slots=True)
class Advice:
    """The choice in one paddock, and what it stands on."""

    paddock: str
    hectares: float
    now: np.datetime64
    zone: str
    weed_name: str
    weighed: tuple[tuple[str, Weighed], ...]
    """Each weed by name, the one that matters most by the sum first."""
    picked: bool
    """Whether the user named the weed instead."""
    choice: Choice
    numbers: tuple[tuple[str, Sourced], ...]
    """Published numbers of the row that fired, with their words."""
    actives: tuple[ActiveOutlook, ...]
    """As in the outlook."""
    sprayed: np.datetime64 | None
    costs: tuple[Cost, ...]
    """By active, by the user's own prices; empty without."""
    currency: str
    cautions: tuple[str, ...]
    demo: bool


def block_bounds(chances: tuple[float, ...]) -> tuple[float, float]:
    """Bounds of the chance that one of some blocks at least can be used.

    Blocks hang on the same weather, so they are not taken as independent: the chance
    of one of them at least is that of the best at the lowest, their sum at the most
    (Boole's inequality; Fréchet bounds).

    Parameters
    ----------
    chances : tuple of float
        Of each block; NaN counts as anything from 0 to 1. [share]
    """
    low = max((each for each in chances if each == each), default=0.0)  # noqa: PLR0124 - NaN
    high = sum(1.0 if each != each else each for each in chances)  # noqa: PLR0124 - NaN
    return low, min(high, 1.0)
