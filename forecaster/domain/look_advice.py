"""What a look at one weed in one paddock would be worth, as a renderer receives it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from forecaster.domain.growth.weed import Mode
    from forecaster.domain.record.after_spray import AfterSpray


class SecondLook(NamedTuple):
    """A sprayed paddock in which nobody has counted what escaped, though it is time."""

    paddock: str
    after: AfterSpray


@dataclass(frozen=True, slots=True)
class LookAdvice:
    """What a look at one weed in one paddock would be worth."""

    paddock: str
    hectares: float
    weed: str
    weed_name: str
    mode: Mode
    """Whose window it would settle."""
    stage_words: str
    """Count the heads that are at this stage or past it."""
    chance_open: float
    """[share] that the window is open today."""
    heads_needed: int | None
    """To tell open from closed today; 0: known without; None: no count can."""
    range_now: float
    """[d] between the early and late date, from what the look can narrow."""
    range_after: float
    """[d] expected after a usual look."""
    hectares_spared: float
    """Hectares × share of wrong calls spared, on an average day of the week."""
