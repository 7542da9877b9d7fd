"""What a page on a spray's result, or on springs running, is drawn from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from forecaster.domain.result.expected import Expected, Found, Likely
    from forecaster.domain.result.reduction import Reduction
    from forecaster.domain.result.spring_clock import Candidate, Ticks


@dataclass(frozen=True, slots=True)
class ResultPage:
    """One paddock, weed and spring."""

    paddock: str
    weed_name: str
    year: int
    active: str | None
    stage: str | None
    side_cm: float
    found: Reduction
    wanted: Expected | None
    """At the best stage of the trials, or as typed; None: nothing published."""
    at_stage: Expected | None
    """At the stage of the spray, where it and a trial of it are known."""
    judged: Found
    causes: tuple[Likely, ...]
    """Only where it fell short."""
    run: int
    """Springs running with this active, typed or recorded; 0 without an active."""
    by_record: tuple[str, ...] = ()
    """Which of active and stage the spray record gave."""
    remarks: tuple[str, ...] = ()
    """Of the record: where it and what was typed differ, what could not be read."""
    demo: bool = False
    """Whether the farm is the demo."""


@dataclass(frozen=True, slots=True)
class ClockPage:
    """Springs running in every paddock, and where to look next spring."""

    farm: str
    latest: int
    """The last spring there was, or the present one."""
    ticks: tuple[Ticks, ...]
    untyped: tuple[str, ...]
    """Paddocks without any past spray, typed or recorded."""
    candidates: tuple[Candidate, ...]
    warnings: tuple[str, ...]
    demo: bool = False
    """Whether the farm is the demo."""
