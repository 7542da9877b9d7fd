"""Why one paddock's outlook is what it is, and what would change it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from forecaster.domain.place import Place
    from forecaster.domain.quality.doubts import Doubt
    from forecaster.domain.sourced import Sourced
    from forecaster.domain.spraying.chance_basis import ChanceBasis
    from forecaster.domain.spraying.limits import Limit


@dataclass(frozen=True, slots=True)
class NumberLine:
    """One number of the model and its source."""

    what: str
    number: Sourced


@dataclass(frozen=True, slots=True)
class LimitLine:
    """One limit, and the good hours there would be more were it lifted alone."""

    limit: Limit
    hours_gained: int


@dataclass(frozen=True, slots=True)
class DateChange:
    """What moving one thing does to a likely date [d]; NaN if it cannot be told."""

    what: str
    heading: float
    close: float


@dataclass(frozen=True, slots=True)
class RefusedLine:
    """A value quality control refused, and the hours of the week that lack it."""

    value: Doubt
    hours: int


@dataclass(frozen=True, slots=True)
class Explanation:
    """Numbers, sources and sensitivities of one active on one weed."""

    paddock: str
    weed_name: str
    latin: str
    note: str
    active: str
    good_hours: int
    hours: int
    numbers: tuple[NumberLine, ...]
    limits: tuple[LimitLine, ...]
    changes: tuple[DateChange, ...]
    basis: ChanceBasis
    """What the chances of its hours are made from."""
    place: Place
    refused: tuple[RefusedLine, ...]
    trial_note: str = ""
    """What is published on the effect of the active on the weed."""
