"""What a hindcast found, day of lead by day of lead."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np

    from forecaster.domain.place import Place
    from forecaster.domain.spraying.limits import Quantity
    from forecaster.domain.verification.calls import Calls
    from forecaster.domain.verification.chances import BrierScore, ReliabilityTable
    from forecaster.domain.verification.errors import ErrorSummary


@dataclass(frozen=True, slots=True)
class LeadScore:
    """Forecasts of one age against what was observed."""

    lead: int
    """[d]"""
    hours: int
    """Hours that both tables cover, daylight only where that was asked."""
    errors: Mapping[Quantity, ErrorSummary]
    """Of each quantity in its own unit; fields are single numbers."""
    calls: Calls
    brier: BrierScore | None
    """None where no chance was given."""
    reliability: ReliabilityTable | None


@dataclass(frozen=True, slots=True)
class Hindcast:
    """How good past forecasts would have been for spraying at one place."""

    place: Place
    observed: str
    """Source of what was observed."""
    forecast: tuple[str, ...]
    """Sources of the forecasts, each once."""
    first: np.datetime64
    """Start of the first hour observed, UTC."""
    end: np.datetime64
    """End of the last hour observed, UTC."""
    limits: tuple[str, ...]
    """The label limits judged by, in words."""
    daylight: bool
    """Whether only hours that begin in daylight count."""
    leads: tuple[LeadScore, ...]
    """In order of lead."""
    notes: tuple[str, ...] = ()
    """What was passed over, and why."""
