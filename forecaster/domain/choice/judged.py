"""Yes, no, or what has to be known first."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

from forecaster.domain.choice.facts import ActiveHere, Facts


@dataclass(frozen=True, slots=True)
class Judged:
    """Whether a condition holds, and what was seen."""

    holds: bool | None
    """None: unknown."""
    seen: str
    """What is so, or what has to be known."""


Condition: TypeAlias = Callable[[Facts, ActiveHere | None], Judged]
"""Of the paddock, and of one active where the row is about one."""


def known(holds: bool, seen: str) -> Judged:  # noqa: FBT001 - a verdict, not a switch
    """A condition that could be judged."""
    return Judged(holds, seen)


def yes(seen: str) -> Judged:
    """A condition that holds."""
    return Judged(holds=True, seen=seen)


def no(seen: str) -> Judged:
    """A condition that does not."""
    return Judged(holds=False, seen=seen)


def needs(what: str) -> Judged:
    """A condition that lacks a fact."""
    return Judged(None, what)
