"""Whether a check did all it should: only then may the outside be told so."""

from __future__ import annotations

from dataclasses import dataclass

from forecaster.domain.alerts.records import Freshness

ORDER = (78, 77, 74, 71, 70, 76, 69, 73, 65, 75)
"""Exit codes, the gravest first."""
NO_WEATHER, QUEUED = 69, 75


@dataclass(frozen=True, slots=True)
class Findings:
    """What a check found out about itself."""

    freshness: Freshness
    windows: int
    answered: int
    """Windows that were judged, or said to be unknown with a reason."""
    committed: bool
    clock_ok: bool
    state_checked: bool
    """Whether what is kept was looked through within a day."""
    waiting: int = 0
    """Messages due and not yet accepted."""
    urgent_late: int = 0
    """Urgent ones among them that wait for too long."""
    dead: int = 0
    """Messages no channel took."""


def wanting(found: Findings, *, told: bool) -> tuple[str, ...]:
    """Why the check cannot be called a success; nothing where it can.

    ``told`` is whether want of weather was said to the people.
    """
    lacks = (
        (not found.committed, "nothing could be kept"),
        (found.answered < found.windows, "windows without an answer"),
        (not found.freshness.usable and not told, "no weather, and nobody told"),
        (not found.clock_ok, "the clock is wrong"),
        (not found.state_checked, "what is kept was not looked through for a day"),
        (found.urgent_late > 0, "an urgent message waits"),
        (found.dead > 0, "a message that no channel took"),
    )
    return tuple(words for wrong, words in lacks if wrong)


def exit_code(found: Findings, others: tuple[int, ...] = ()) -> int:
    """The gravest of what was found; 0 where all is well."""
    codes = set(others)
    if not found.committed:
        codes.add(74)
    if not found.freshness.usable:
        codes.add(NO_WEATHER)
    ageing = found.freshness is Freshness.AGEING
    if ageing or found.waiting or found.dead or not found.clock_ok:
        codes.add(QUEUED)
    return gravest(codes)


def gravest(codes: set[int]) -> int:
    """The one of several exit codes that is told; 0 where there is none."""
    known = [code for code in ORDER if code in codes]
    return known[0] if known else next(iter(sorted(codes - {0})), 0)
