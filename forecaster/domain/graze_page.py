"""The order in which to graze the paddocks: what a renderer receives."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.outlook import WeatherView
    from forecaster.domain.place import Place
    from forecaster.domain.planning.graze_order import Turn
    from forecaster.domain.record.after import AfterNumbers
    from forecaster.domain.record.after_spray import AfterSpray


@dataclass(frozen=True, slots=True)
class PaddockTurn:
    """One paddock and where it stands."""

    paddock: str
    hectares: float
    turn: Turn
    after: AfterSpray | None
    """None: not sprayed."""
    fault: str = ""


@dataclass(frozen=True, slots=True)
class GrazePage:
    """Everything ``forecaster graze`` says; the paddock to graze first in front."""

    farm: str
    place: Place
    now: np.datetime64
    today: np.datetime64
    demo: bool
    weather: WeatherView
    numbers: AfterNumbers
    turns: tuple[PaddockTurn, ...]
