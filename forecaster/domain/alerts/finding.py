"""What the program found out about itself, one thing at a time."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from forecaster.domain.alerts.success import gravest

if TYPE_CHECKING:
    from collections.abc import Iterable


class State(StrEnum):
    """How a thing is."""

    OK = "ok"
    WARN = "warn"
    """It works, and will not for long or not well."""
    FAIL = "fail"
    SKIPPED = "skipped"
    """It was not looked at, for the reason given."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was looked at."""

    state: State
    words: str
    remedy: str = ""
    """One command or one edit."""
    code: int = 0
    """Exit code of a failure."""
    more: tuple[str, ...] = ()
    """Every single fault, where there are several."""
    id: str = ""


def ok(words: str) -> Finding:
    """All is well."""
    return Finding(State.OK, words)


def warn(words: str, remedy: str) -> Finding:
    """Something to see to."""
    return Finding(State.WARN, words, remedy)


def fail(words: str, remedy: str, code: int, more: tuple[str, ...] = ()) -> Finding:
    """Something that keeps alerts from coming, or will."""
    return Finding(State.FAIL, words, remedy, code, more)


def skipped(why: str) -> Finding:
    """Not looked at."""
    return Finding(State.SKIPPED, why)


def exit_of(findings: Iterable[Finding]) -> int:
    """0 only if nothing failed, else the gravest code."""
    return gravest({each.code for each in findings if each.state is State.FAIL})
