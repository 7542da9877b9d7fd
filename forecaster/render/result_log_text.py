"""Kept results as text and as plain values."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from forecaster.render import words
from forecaster.render.plain_values import iso, taken_back
from forecaster.settings.stage_words import spoken

if TYPE_CHECKING:
    from forecaster.domain.result.result_log import Kept, ResultLog
    from forecaster.render.words import LocalClock


def listing(log: ResultLog, weeds: dict[str, str], clock: LocalClock) -> str:
    """The log, one result under another by its number, withdrawn ones marked.

    ``weeds`` gives the name of each weed id.
    """
    lines: list[str] = []
    for each in log.kept:
        lines += [*heading(each, weeds), *words.under(_facts(each, clock)), ""]
    count = len(log.kept)
    gone = count - len(log.standing)
    more = f", {gone} of them withdrawn" if gone else ""
    lines += [f"{words.count(count, 'result')}{more}." if count else "No results yet."]
    lines += [line for each in log.warnings for line in words.bullet(each)]
    return "\n".join(lines) + "\n"


def heading(kept: Kept, weeds: dict[str, str]) -> list[str]:
    """``3: Creek Flat, Silver grass, spray of spring 2025, paraquat at flowering``."""
    entry = kept.entry
    weed = weeds.get(entry.weed, entry.weed)
    title = f"{kept.number}: {entry.paddock}, {weed}, spray of spring {entry.year}"
    title += f", {entry.active or 'active not told'}"
    return words.wrapped(title + (f" at {spoken(entry.stage)}" if entry.stage else ""))


def _facts(kept: Kept, clock: LocalClock) -> list[str]:
    entry, gone = kept.entry, kept.withdrawn
    treated, untreated = (
        ", ".join(map(str, each)) for each in (entry.treated, entry.untreated)
    )
    counts = f"treated {treated}; untreated {untreated}"
    found = [
        f"{counts}: plants in squares of {entry.side_cm:g} cm",
        f"recorded {clock.full(entry.recorded)}",
    ]
    if gone is None:
        return found
    day = clock.full(gone.recorded)
    return [f"WITHDRAWN by {gone.author}, {day}: {gone.reason}", *found]


def tree(log: ResultLog) -> dict[str, Any]:
    """The log as plain dicts and lists."""
    return {
        "results": [_tree(each) for each in log.kept],
        "warnings": list(log.warnings),
    }


def _tree(kept: Kept) -> dict[str, Any]:
    entry = kept.entry
    return {
        "number": kept.number,
        "paddock": entry.paddock,
        "weed": entry.weed,
        "year": entry.year,
        "active": entry.active,
        "stage": entry.stage,
        "side_cm": entry.side_cm,
        "treated": list(entry.treated),
        "untreated": list(entry.untreated),
        "recorded": iso(entry.recorded),
        "withdrawn": taken_back(kept.withdrawn),
    }
