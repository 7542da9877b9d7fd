"""What the program found out about itself, as text and as plain values."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from forecaster.domain.alerts.finding import State, exit_of
from forecaster.render.plain_values import iso
from forecaster.render.words import count

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np

    from forecaster.domain.alerts.finding import Finding

WIDTH = 16
"""Columns of an id."""
_WORDS = {
    State.OK: "ok",
    State.WARN: "warn",
    State.FAIL: "FAIL",
    State.SKIPPED: "skipped",
}


def render(findings: Sequence[Finding]) -> str:
    """One line each, its faults and its remedy under it, and a sum."""
    lines = [line for each in findings for line in _lines(each)]
    return "\n".join([*lines, "", _sum(findings)]) + "\n"


def _lines(found: Finding) -> list[str]:
    words = " ".join(found.words.split())
    lines = [f"{_WORDS[found.state]:<8}{found.id:<{WIDTH}} {words}"]
    lines += [f"{'':8}- {each}" for each in found.more]
    if found.remedy:
        lines.append(f"{'':8}-> {found.remedy}")
    return lines


def _sum(findings: Sequence[Finding]) -> str:
    numbers = {state: sum(each.state is state for each in findings) for state in State}
    return (
        f"{numbers[State.OK]} ok, {count(numbers[State.WARN], 'warning')}, "
        f"{numbers[State.FAIL]} failed, {numbers[State.SKIPPED]} skipped"
    )


def tree(
    findings: Sequence[Finding], farm: str, now: np.datetime64, version: str
) -> dict[str, Any]:
    """The same as plain dicts and lists."""
    return {
        "farm": farm,
        "asked_at": iso(now),
        "version": version,
        "exit": exit_of(findings),
        "findings": [
            {
                "id": each.id,
                "state": each.state.value,
                "words": " ".join(each.words.split()),
                "faults": list(each.more),
                "remedy": each.remedy,
                "code": each.code,
            }
            for each in findings
        ],
    }


def listing(names: Sequence[tuple[str, str]]) -> str:
    """Ids, and what each looks at."""
    return "".join(f"{name:<{WIDTH}} {about}\n" for name, about in names)
